"""A trace file into the store: the one place where traces and store meet."""

from hashlib import sha256
from pathlib import Path

import pandas as pd

from analytics import store as storage
from analytics import traces
from analytics.store import Store


def keep_trace(store: Store, path: Path) -> pd.DataFrame:
    """Find the repetitions of one trace file and keep them.

    Parameters
    ----------
    store : Store
        Bodies known to it give each lifter's stature.
    path : Path
        The trace file; bringing it again replaces its repetitions.

    Returns
    -------
    reps : DataFrame
        As from `traces.analyse`.

    Raises
    ------
    FileRefusedError
        If the file is no usable trace; nothing is stored.
    """
    trace = traces.read_trace(path)
    known = storage.bodies(store).dropna(subset="stature_m")
    stature_m = known.groupby("lifter")["stature_m"].last().to_dict()
    details = traces.rep_details(trace, stature_m=stature_m)
    storage.save_reps(store, details, sha256(path.read_bytes()).hexdigest())
    return traces.analyse(trace, stature_m=stature_m)
