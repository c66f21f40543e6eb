"""The one way a CSV is written: its text is text in every spreadsheet."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Callable, Iterable, Sequence
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import pandas as pd

# Behind a start or a separator at which a spreadsheet may split the row: blanks (also
# those without width), then a sign that starts a formula, full width included, or a
# control character. Apostrophes count along, so that one more can be taken off again.
_AT = "(?:^|(?<=[;,|\t\r\n]))"
_RUNS = "(?='*(?:[^\\S\t\r\n]|[\u200b\u2060\ufeff])*[-=+@\t\r\n\0＝＋－＠﹢﹣﹦﹫−])"
_ADDED, _TAKEN_OFF = re.compile(_AT + _RUNS), re.compile(f"{_AT}'{_RUNS}")
_NUMBER = re.compile(r"[-+]?\d[\d.,]*(?:[eE][-+]?\d+)?")


def plain_text(text: str) -> str:
    """Return text that no spreadsheet runs as a formula.

    Parameters
    ----------
    text : str
        A cell or a header; a number written out stays as it is.

    Returns
    -------
    text : str
        With an apostrophe where it, or a part behind a separator, begins like a
        formula.

    References
    ----------
    CWE-1236; OWASP ASVS 1.2.10; OWASP, CSV injection (separators).
    """
    return text if _NUMBER.fullmatch(text) else _ADDED.sub("'", text)


def as_before(text: str) -> str:
    """Return the text that :func:`plain_text` made plain.

    Parameters
    ----------
    text : str
        Its result, come back from a spreadsheet.

    Returns
    -------
    text : str
        What it was given.
    """
    return _TAKEN_OFF.sub("", text)


def csv_text(
    columns: Sequence[str], rows: Iterable[Sequence[object]], *, line_end: str = "\n"
) -> str:
    """Write rows as CSV for people, programs and spreadsheets.

    Parameters
    ----------
    columns : sequence of str
        Headers.
    rows : iterable of sequence
        Cells; None is an empty one, numbers stay numbers.
    line_end : str
        Behind each line.

    Returns
    -------
    text : str
        The whole file.
    """
    return _written(columns, rows, line_end, _plain_cell)


def exact_csv_text(columns: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    """Write rows as CSV that this program reads back and nobody else sees.

    Parameters
    ----------
    columns : sequence of str
        Headers.
    rows : iterable of sequence
        Cells.

    Returns
    -------
    text : str
        The whole file.
    """
    return _written(columns, rows, "\n", lambda cell: cell)


def frame_csv(frame: pd.DataFrame, *, line_end: str = "\n") -> str:
    """Write a table as CSV, see :func:`csv_text`.

    Parameters
    ----------
    frame : DataFrame
        Its index is left out; days are written without a time of day.
    line_end : str
        Behind each line.

    Returns
    -------
    text : str
        The whole file.
    """
    for name in frame.select_dtypes("datetime").columns:
        known = frame[name].dropna()
        days = known.eq(known.dt.normalize()).all()
        form = "%Y-%m-%d" if days else "%Y-%m-%d %H:%M:%S"
        frame = frame.assign(**{name: frame[name].dt.strftime(form)})
    cells = frame.astype(object).where(frame.notna(), None)
    rows = cells.itertuples(index=False, name=None)
    return csv_text(list(frame.columns), rows, line_end=line_end)


def _plain_cell(cell: object) -> object:
    if cell is None or isinstance(cell, int | float):
        return cell
    return plain_text(str(cell))


def _written(
    columns: Sequence[str],
    rows: Iterable[Sequence[object]],
    line_end: str,
    cell: Callable[[Any], object],
) -> str:
    out = io.StringIO()
    writer = csv.writer(out, lineterminator=line_end)
    writer.writerow([cell(name) for name in columns])
    writer.writerows([cell(value) for value in row] for row in rows)
    return out.getvalue()
