"""Tables, arrays and results as one block of bytes that depends on nothing else."""

import io
import json
import zipfile
from dataclasses import fields, is_dataclass
from importlib import import_module
from typing import Any

import numpy as np
import pandas as pd

from analytics.errors import FileRefusedError

PLAIN = "plain.json"


def packed(value: object) -> bytes:
    """Return the bytes: tables as Parquet, arrays as NumPy's own, the rest as JSON.

    Parameters
    ----------
    value : object
        Plain values, arrays, tables, dataclasses of this library, and dictionaries,
        lists and tuples of them.

    Returns
    -------
    content : bytes
        A ZIP archive without times, its entries named by where they are in ``value``.
    """
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_STORED) as archive:
        tree = _put(archive, "", value)
        archive.writestr(zipfile.ZipInfo(PLAIN), json.dumps(tree))
    return out.getvalue()


def _put(archive: zipfile.ZipFile, at: str, value: Any) -> object:
    """Put what is large into the archive, and return the rest for JSON."""
    if isinstance(value, pd.DataFrame):
        name = _entry(archive, f"{at}.parquet")
        archive.writestr(zipfile.ZipInfo(name), value.to_parquet(index=False))
        return {"table": name}
    if isinstance(value, np.ndarray):
        name, content = _entry(archive, f"{at}.npy"), io.BytesIO()
        np.save(content, value, allow_pickle=False)
        archive.writestr(zipfile.ZipInfo(name), content.getvalue())
        return {"array": name}
    if isinstance(value, np.generic):
        return value.item()
    if is_dataclass(value):
        kind = type(value)
        held = {field.name: getattr(value, field.name) for field in fields(value)}
        name = f"{kind.__module__}:{kind.__qualname__}"
        return {"result": [name, _put(archive, at, held)]}
    if isinstance(value, dict):
        pairs = [[k, _put(archive, f"{at} {k}", v)] for k, v in value.items()]
        return {"dict": pairs}
    if isinstance(value, list | tuple):
        items = [_put(archive, f"{at} {n}", v) for n, v in enumerate(value)]
        return {"tuple": items} if isinstance(value, tuple) else items
    return value


def _entry(archive: zipfile.ZipFile, at: str) -> str:
    return f"{len(archive.filelist):03d}{at.replace('/', ' ')}"  # each another


def unpacked(content: bytes) -> Any:
    """Return what :func:`packed` put away."""
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        return _get(archive, json.loads(archive.read(PLAIN)))


def _get(archive: zipfile.ZipFile, tree: Any) -> Any:
    if isinstance(tree, list):
        return [_get(archive, item) for item in tree]
    if not isinstance(tree, dict):
        return tree
    ((kind, held),) = tree.items()
    if kind == "table":
        return pd.read_parquet(io.BytesIO(archive.read(held)))
    if kind == "array":
        return np.load(io.BytesIO(archive.read(held)), allow_pickle=False)
    if kind == "dict":
        return {key: _get(archive, item) for key, item in held}
    if kind == "tuple":
        return tuple(_get(archive, item) for item in held)
    name, values = held
    module, _, kind = name.partition(":")
    ours = module.startswith("analytics.")  # a file may not say what else is run
    known = getattr(import_module(module), kind, None) if ours else None
    if not (isinstance(known, type) and is_dataclass(known)):
        raise FileRefusedError(f"`{name}` in {PLAIN} is no result of this library")
    return known(**_get(archive, values))
