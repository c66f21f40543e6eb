"""Opening a file as tables of text cells with the file's own row numbers.

Whatever the format, what comes out is the same: sheets, each a stream of
``(row number, cells)`` whose cells are text as a person would have typed it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date, datetime, time
from itertools import islice
from pathlib import Path
from typing import Any

from analytics.tables.bounds import bounded

Row = tuple[int, list[str]]
EMPTY = ("", "NA", "N/A", "n/a", "NaN", "nan", "NULL", "null", "None", "none", "-",
         "–", "—", "<NA>")  # fmt: skip
LEAD = 60


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """One table of a file.

    Attributes
    ----------
    name : str
        Sheet of a workbook of several, else empty.
    title : str
        Name of the sheet in any workbook, else empty.
    lead : list of (int, list of str)
        First rows, to find the header in.
    rows : callable
        Starts a stream of all rows.
    delimiter : str
        Of delimited text, else empty.
    header_at : int or None
        Row number of the header where the format fixes it (0: it has none of its
        own), None where it has to be found.
    epoch : date
        Day 0 of spreadsheet serial numbers.
    """

    name: str = ""
    title: str = ""
    lead: list[Row]
    rows: Callable[[], Iterator[Row]]
    delimiter: str = ""
    header_at: int | None = None
    epoch: date = date(1899, 12, 30)


def made_sheet(path: Path, rows: Callable[[], Iterator[Row]], **known: Any) -> Sheet:
    """Make a sheet whose rows stay within bounds.

    Parameters
    ----------
    path : Path
        File.
    rows : callable
        Starts a stream of all rows.
    **known : Any
        Further attributes.

    Returns
    -------
    sheet : Sheet
        With its first rows read.
    """

    def within() -> Iterator[Row]:
        return bounded(rows(), path)

    return Sheet(lead=list(islice(within(), LEAD)), rows=within, **known)


def cell_text(value: Any) -> str:
    """Text of a cell as a person would have typed it.

    Parameters
    ----------
    value : Any
        As a format gives it.

    Returns
    -------
    text : str
        Empty for nothing.
    """
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return (
            repr(int(value))
            if value.is_integer() and abs(value) < 1e15
            else repr(value)
        )
    if isinstance(value, datetime):
        return (
            value.date().isoformat() if value.time() == time() else value.isoformat(" ")
        )
    if isinstance(value, date | time):
        return value.isoformat()
    return str(value)
