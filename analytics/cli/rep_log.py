"""A trace file into the store: the one place where traces and store meet."""

from hashlib import sha256
from pathlib import Path

import pandas as pd

from analytics import store as storage
from analytics import traces
from analytics.errors import FileRefusedError, InputError
from analytics.store import Store


def store_trace(
    store: Store, path: Path, *, lifter: str | None = None, variant: str | None = None
) -> tuple[pd.DataFrame, int]:
    """Find the repetitions of one trace file and store them.

    Parameters
    ----------
    store : Store
        Bodies known to it give each lifter's stature.
    path : Path
        The trace file; bringing it again replaces its repetitions.
    lifter, variant : str, optional
        For a file without the columns ``lifter`` and ``exercise``.

    Returns
    -------
    details : DataFrame
        As from `traces.rep_details`.
    intake_id : int
        Number to undo them by; the same again for the same file.

    Raises
    ------
    FileRefusedError
        If the file is no usable trace; nothing is stored.
    """
    trace = traces.read_trace(path, lifter=lifter, exercise=variant)
    try:
        details = traces.rep_details(trace, stature_m=statures(store))
    except InputError as error:
        raise FileRefusedError(f"{path.name}: {error}") from error
    file_hash = sha256(path.read_bytes()).hexdigest()
    return details, storage.save_reps(
        store, details, file=path.name, file_hash=file_hash
    )


def statures(store: Store) -> dict[str, float]:
    """Stature of each lifter as last measured, in metres; heights become angles by it.

    Parameters
    ----------
    store : Store
        The store.

    Returns
    -------
    stature_m : dict of str to float
        By lifter; empty without bodies. [m]
    """
    known = storage.bodies(store).dropna(subset="stature_m")
    return known.groupby("lifter")["stature_m"].last().to_dict()
