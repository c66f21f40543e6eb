"""Fits kept in the store beside the fingerprint of the sets they saw."""

import io
import json
import zipfile
from collections.abc import Callable
from dataclasses import fields
from importlib.metadata import version
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analytics import store as stored
from analytics.store import Store
from analytics.strength.model.fit import fit_strength
from analytics.strength.model.results import StrengthFit

MODEL_VERSION = "10"  # change it when the same sets would give other numbers


def fitted(
    store: Store,
    movement: str = "elbow_flexion",
    *,
    reference: str | None = None,
    on_progress: Callable[[int, int], None] | None = None,
) -> StrengthFit:
    """Fit of a movement's stored sets, made once and kept with them.

    Parameters
    ----------
    store : Store
        Where the sets are.
    movement : str
        Movement id.
    reference : str, optional
        Variant or setup the ratios refer to; default that of the movement.
    on_progress : callable, optional
        Called with steps done and expected while fitting.

    Returns
    -------
    fit : StrengthFit
        Of exactly the sets now stored.
    """
    key = f"strength {movement} {reference or ''}".strip()
    seen = f"{MODEL_VERSION}/{version('lacertus')}/{stored.sets_hash(store, movement)}"
    blob = stored.load_fit(store, key, seen)
    if blob is not None:
        return unpack(blob)
    fit = fit_strength(
        stored.sets(store, movement=movement),
        reference=reference,
        on_progress=on_progress,
    )
    if store.exists:
        stored.save_fit(store, key, seen, pack(fit))
    return fit


def pack(fit: StrengthFit) -> bytes:
    """Put a fit into one block of bytes: tables as Parquet, the rest as JSON."""
    out = io.BytesIO()
    plain: dict[str, Any] = {}
    with zipfile.ZipFile(out, "w", zipfile.ZIP_STORED) as archive:
        for field in fields(fit):
            value = getattr(fit, field.name)
            if isinstance(value, pd.DataFrame):
                archive.writestr(f"{field.name}.parquet", value.to_parquet(index=False))
            else:
                plain[field.name] = value
        archive.writestr("plain.json", json.dumps(plain, default=_plain))
    return out.getvalue()


def _plain(value: object) -> object:
    if isinstance(value, np.ndarray):
        return value.tolist()
    if isinstance(value, np.generic):
        return value.item()
    raise TypeError(f"cannot keep a {type(value).__name__}")


def unpack(blob: bytes) -> StrengthFit:
    """Return the fit that :func:`pack` put away."""
    with zipfile.ZipFile(io.BytesIO(blob)) as archive:
        values: dict[str, Any] = json.loads(archive.read("plain.json"))
        for name in archive.namelist():
            if name.endswith(".parquet"):
                table = pd.read_parquet(io.BytesIO(archive.read(name)))
                values[name.removesuffix(".parquet")] = table
    n = len(values["ratio_setups"])
    values["ratio_setups"] = tuple(values["ratio_setups"])
    values["log_ratio"] = _array(values["log_ratio"], (n,))
    values["log_ratio_cov"] = _array(values["log_ratio_cov"], (n, n))
    values["personal_cov"] = {
        lifter: (tuple(setups), np.array(mean), np.array(cov))
        for lifter, (setups, mean, cov) in values["personal_cov"].items()
    }
    return StrengthFit(**values)


def _array(value: object, shape: tuple[int, ...]) -> NDArray[np.float64]:
    return np.array(value, dtype=float).reshape(shape)
