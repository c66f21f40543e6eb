"""Columns of the tables people work with, read from `data/columns.toml` alone."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import pandas as pd


@cache
def _declared() -> dict[str, dict[str, Any]]:
    text = (files("analytics") / "data" / "columns.toml").read_text("utf-8")
    return tomllib.loads(text)


def column_names(table: str) -> list[str]:
    """Names of the columns of a table, in order.

    Parameters
    ----------
    table : str
        As in `columns`.

    Returns
    -------
    names : list of str
        All of them.
    """
    return list(_declared()[table])


def defaults(table: str) -> dict[str, Any]:
    """Values of the columns that may be missing.

    Parameters
    ----------
    table : str
        As in `columns`.

    Returns
    -------
    defaults : dict of str to value
        What a missing column stands for.
    """
    entries = _declared()[table].items()
    return {name: it["default"] for name, it in entries if isinstance(it, dict)}


def columns() -> pd.DataFrame:
    """Say what every column of every table means.

    Returns
    -------
    columns : DataFrame
        ``table, column, needed, meaning``; ``table`` is ``sets`` for what `fit` takes,
        else an attribute of a fit or a test; ``needed`` False where it may be missing.
    """
    import pandas as pd

    rows = [
        (table, name, isinstance(it, str), it if isinstance(it, str) else it["about"])
        for table, entries in _declared().items()
        for name, it in entries.items()
    ]
    return pd.DataFrame(rows, columns=["table", "column", "needed", "meaning"])
