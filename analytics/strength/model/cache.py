"""Fits cached in the store beside the fingerprint of the sets they saw."""

import io
import json
import zipfile
from collections.abc import Callable
from contextlib import suppress
from dataclasses import fields
from functools import cache
from hashlib import sha256
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import scipy
from numpy.typing import NDArray

from analytics import store as stored
from analytics.errors import StoreError
from analytics.store import Store
from analytics.strength.model.fit import fit_strength
from analytics.strength.model.results import StrengthFit

WAIT_S = 2.0  # caching a fit only saves time
MOST_OF_SOME = 12
_OF_SOME: dict[tuple[str, ...], StrengthFit] = {}


@cache
def code_hash(stages: tuple[str, ...] = ("catalogue", "store", "strength")) -> str:
    """Fingerprint of all that makes a fit beside the sets.

    Parameters
    ----------
    stages : tuple of str
        Folders that count; ``.`` is the whole library.

    Returns
    -------
    fingerprint : str
        Of their program and data, and of the libraries that compute.
    """
    digest = sha256(f"{np.__version__} {scipy.__version__}".encode())
    root = Path(__file__).parents[2]
    for stage in stages:
        for path in sorted((root / stage).rglob("*")):
            if path.suffix in (".py", ".sql", ".toml", ".csv"):
                digest.update(path.relative_to(root).as_posix().encode())
                digest.update(path.read_bytes())
    return digest.hexdigest()


def fitted(
    store: Store,
    movement: str = "elbow_flexion",
    *,
    reference: str | None = None,
    on_progress: Callable[[int, int], None] | None = None,
) -> StrengthFit:
    """Fit of a movement's stored sets, made once and, where that is possible, cached.

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
        Of exactly the sets now stored; what was fitted before does not matter.
    """
    name, seen = _name(movement, reference), _seen(store, movement)
    known = _saved(store, name, seen)
    of_some = (name, *seen.values())  # the store keeps none of some lifters alone
    known = _OF_SOME.get(of_some) if known is None else known
    if known is not None:
        return known
    fit = fit_strength(
        stored.sets(store, movement=movement),
        reference=reference,
        on_progress=on_progress,
    )
    if not store.asking.everything:
        if len(_OF_SOME) >= MOST_OF_SOME:
            _OF_SOME.pop(next(iter(_OF_SOME)))
        _OF_SOME[of_some] = fit
    if store.exists:
        with suppress(StoreError):  # a store that cannot be written can still be read
            # One of other sets than the stored is not saved, whoever asked for it.
            brief = Store(store.path, wait_s=min(store.wait_s, WAIT_S))
            stored.save_fit(brief, name, movement, pack(fit), **seen)
    return fit


def saved_fit(
    store: Store, movement: str, *, reference: str | None = None
) -> StrengthFit | None:
    """Fit of a movement's stored sets where `fitted` has saved it.

    Parameters
    ----------
    store : Store
        Where the sets are.
    movement : str
        Movement id.
    reference : str, optional
        Variant or setup the ratios refer to; default that of the movement.

    Returns
    -------
    fit : StrengthFit or None
        None where there is none of exactly the sets now stored.
    """
    return _saved(store, _name(movement, reference), _seen(store, movement))


def _saved(store: Store, name: str, seen: dict[str, str]) -> StrengthFit | None:
    blob = stored.load_fit(store, name, **seen)
    return None if blob is None else unpack(blob)


def _name(movement: str, reference: str | None) -> str:
    return f"strength {movement} {reference or ''}".strip()


def _seen(store: Store, movement: str) -> dict[str, str]:
    return {"code": code_hash(), "content_hash": stored.sets_hash(store, movement)}


def pack(fit: StrengthFit) -> bytes:
    """Put a fit into one block of bytes: tables as Parquet, the rest as JSON."""
    out = io.BytesIO()
    plain: dict[str, Any] = {}
    with zipfile.ZipFile(out, "w", zipfile.ZIP_STORED) as archive:
        for field in fields(fit):
            value = getattr(fit, field.name)
            if isinstance(value, pd.DataFrame):
                name = zipfile.ZipInfo(f"{field.name}.parquet")  # without the time
                archive.writestr(name, value.to_parquet(index=False))
            else:
                plain[field.name] = value
        archive.writestr(
            zipfile.ZipInfo("plain.json"), json.dumps(plain, default=_plain)
        )
    return out.getvalue()


def _plain(value: object) -> object:
    if isinstance(value, np.ndarray):
        return value.tolist()
    if isinstance(value, np.generic):
        return value.item()
    raise TypeError(f"cannot cache a {type(value).__name__}")


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
