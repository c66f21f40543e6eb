"""What goes with the research tables: how to read them, what is withheld, citation."""

import tomllib
from collections.abc import Mapping, Sequence
from functools import cache
from importlib import metadata
from importlib.resources import files
from typing import Any

import jinja2
import pandas as pd

from analytics.reports.counting import SUPPRESSED

README, CODEBOOK = "README.md", "codebook.md"
# Estimates that may be missing beside published counts, and what they lack.
MISSING = {
    "ratios": ("ratio", "did both it and the reference, or one or two most sets"),
    "strength_by_week": ("change_frac", "have an estimate in that week"),
}


@cache
def words() -> dict[str, Any]:
    """Title, description and key of each table, and what each column is."""
    text = (
        files("analytics.reports").joinpath("data", "columns.toml").read_text("utf-8")
    )
    return tomllib.loads(text)


def withheld_cells(
    found: Mapping[str, pd.DataFrame], *, smallest_cell: int
) -> pd.DataFrame:
    """Count what is withheld in each table, and say why.

    Parameters
    ----------
    found : mapping of str to DataFrame
        The tables by name, as made or as read back.
    smallest_cell : int
        Lifters a published cell holds at least.

    Returns
    -------
    withheld : DataFrame
        ``table, cells, withheld, why``: a row per table and reason, and one of 0 for a
        table with nothing withheld. A cell is a row of the table.

    Notes
    -----
    Which cells are too small and which only hide those is not told apart: it would
    narrow what a withheld cell may hold. All of this can be counted in the tables.
    """
    rows = []
    for name, table in found.items():
        told = []
        hidden = table["status"] == SUPPRESSED if "status" in table else table.index < 0
        if hidden.any():
            why = (
                f"fewer than {smallest_cell} lifters, or one or two with most of the "
                "sets, or needed to hide such a cell"
            )
            told.append((int(hidden.sum()), why))
        column, lacking = MISSING.get(name, ("", ""))
        if column and (empty := table[column].isna() & ~hidden).any():
            why = f"no estimate: fewer than {smallest_cell} lifters {lacking}"
            told.append((int(empty.sum()), why))
        rows += [(name, len(table), *part) for part in told or [(0, "")]]
    return pd.DataFrame(rows, columns=["table", "cells", "withheld", "why"])


def citation(title: str, *, created: str, smallest_cell: int) -> str:
    """Say how to cite a data package.

    Parameters
    ----------
    title : str
        Of the package.
    created : str
        Day it was made, ISO 8601.
    smallest_cell : int
        As it was made with.

    Returns
    -------
    text : str
    """
    return (
        f"{title}: aggregate tables of training logs [data package, {created}, cells "
        f"of {smallest_cell} or more lifters]. Made with Lacertus "
        f"{metadata.version('lacertus')}; published sources in datapackage.json."
    )


def guide(
    found: Mapping[str, pd.DataFrame],
    described: Mapping[str, Any],
    *,
    smallest_cell: int,
) -> dict[str, str]:
    """Write what a person reads beside the tables.

    Parameters
    ----------
    found : mapping of str to DataFrame
        The tables by name.
    described : mapping
        ``datapackage.json``.
    smallest_cell : int
        As the tables were made with.

    Returns
    -------
    texts : dict of str to str
        README and codebook, by file name.
    """
    known = words()
    context = {
        "described": described,
        "tables": {name: known["table"][name] for name in found},
        "columns": {name: _columns(table.columns) for name, table in found.items()},
        "withheld": withheld_cells(found, smallest_cell=smallest_cell).to_dict(
            "records"
        ),
    }
    environment = jinja2.Environment(
        loader=jinja2.PackageLoader("analytics.reports", "templates"),
        autoescape=False,
        undefined=jinja2.StrictUndefined,
        keep_trailing_newline=True,
        trim_blocks=True,
    )
    return {
        name: environment.get_template(f"package_{name}").render(context)
        for name in (README, CODEBOOK)
    }


def _columns(names: Sequence[str]) -> list[dict[str, str]]:
    return [{"name": name, "unit": "", **words()["column"][name]} for name in names]
