"""A copy of delimited text in which every line is one row of the same width.

DuckDB numbers rows and not lines, and refuses rows of another width. In the copy a
blank line, and every line but the first of a row of several, is a row of empty cells,
and short rows are filled up, so that the number of a row is the number of its line.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from analytics.tables.bounds import SMALL
from analytics.tables.sheets import Row

BLOCK = 8 << 20
MOST_WIDE = 100_000
_NEWLINE, _RETURN, _QUOTE = b'\n\r"'


class _Rows(NamedTuple):
    """Whole rows of a block: their bytes, line ends, counts of cells and of lines."""

    block: bytes
    ends: NDArray[np.int64]
    cells: NDArray[np.int64]
    lines: NDArray[np.int64]


def even_copy(
    source: Path, target: Path, *, encoding: str, delimiter: str, width: int, skip: int
) -> list[Row] | None:
    """Write the lines below the header with equally many cells, in UTF-8.

    Parameters
    ----------
    source, target : Path
        File to read and file to write.
    encoding : str
        Of the source.
    delimiter : str
        One character.
    width : int
        Cells in a row.
    skip : int
        Line of the header.

    Returns
    -------
    wide : list of (int, list of str) or None
        Rows with more cells; they are blank in the copy. None if a quote inside a cell
        leaves open where rows end, or too many rows are wide: then the copy is unfit.
    """
    mark = delimiter.encode()
    if len(mark) != 1 or width < 2:
        return None
    blank = mark * (width - 1) + b"\n"
    wide: list[Row] = []
    line, copied = 1, skip
    with target.open("wb") as out:
        for rows in _blocks(source, encoding, mark[0]):
            if rows is None or len(wide) > MOST_WIDE:
                return None
            block, ends, cells, lines = rows
            numbers = line + np.cumsum(lines) - lines
            line += int(lines.sum())
            starts = np.concatenate([[0], ends[:-1] + 1])
            first = int(np.searchsorted(numbers, skip, side="right"))
            if first == len(ends):
                continue
            out.write(blank * (int(numbers[first]) - 1 - copied))
            written = starts[first]
            for at in np.flatnonzero((cells != width) | (lines > 1)):
                if at < first:
                    continue
                out.write(block[written : starts[at]])
                row = block[starts[at] : ends[at]].rstrip(b"\r")
                if cells[at] > width:
                    text = io.StringIO(row.decode(), newline="")
                    wide += [
                        (int(numbers[at]), c)
                        for c in csv.reader(text, delimiter=delimiter)
                    ]
                if cells[at] > width or not row.strip():
                    out.write(blank)
                else:
                    out.write(row + mark * (width - int(cells[at])) + b"\n")
                out.write(blank * (int(lines[at]) - 1))
                written = ends[at] + 1
            out.write(block[written : ends[-1] + 1])
            copied = line - 1
            # Short rows of a wide table would fill the disk.
            if out.tell() > 4 * source.stat().st_size + SMALL:
                return None
    return wide


def _blocks(source: Path, encoding: str, mark: int) -> Iterator[_Rows | None]:
    """Rows of one block of text after another; None where they cannot be told."""
    rest = b""
    with source.open(encoding=encoding, newline="", errors="replace") as file:
        while True:
            text = file.read(BLOCK).encode()
            block = rest + (text or b"\n" * (not rest.endswith(b"\n")))
            if not text and not rest:
                return
            rows = _rows(block, mark)
            if rows is None or (not text and not len(rows.ends)):
                yield None
                return
            if len(rows.ends):
                rest = block[rows.ends[-1] + 1 :]
                yield rows
            elif len(block) > 4 * BLOCK:
                yield None
                return
            else:
                rest = block


def _rows(block: bytes, mark: int) -> _Rows | None:
    """Rows that end in a block; None if a quote or line end is not that of a table."""
    at = np.frombuffer(block, np.uint8)
    newline, split = at == _NEWLINE, at == mark
    returns = np.flatnonzero(at == _RETURN)
    lines_at = np.flatnonzero(newline)
    quotes = np.flatnonzero(at == _QUOTE)
    if len(quotes):
        outside = np.cumsum(at == _QUOTE, dtype=np.uint8) % 2 == 0
        opening, closing = quotes[::2], quotes[1::2]
        before, after = (
            at[opening[opening > 0] - 1],
            at[closing[closing + 1 < len(at)] + 1],
        )
        edges = (mark, _NEWLINE, _QUOTE)
        if not (
            np.isin(before, edges).all() and np.isin(after, (*edges, _RETURN)).all()
        ):
            return None
        newline, split = newline & outside, split & outside
        returns = returns[outside[returns]]
    inner = returns[returns + 1 < len(at)] + 1
    if (at[inner] != _NEWLINE).any():
        return None
    ends = np.flatnonzero(newline)
    cells = np.diff(np.searchsorted(np.flatnonzero(split), ends), prepend=0) + 1
    lines = np.diff(np.searchsorted(lines_at, ends, side="right"), prepend=0)
    return _Rows(block, ends, cells, lines)
