"""What no file exceeds: the one place of limits on rows, cells, seconds and memory.

Common practice, no source: some ten times the longest log of a large gym, and small
enough that a file made to hurt is refused within seconds and about 2.5 GB.
"""

from __future__ import annotations

import time
from collections.abc import Iterator
from pathlib import Path

from analytics.errors import FileRefusedError

MOST_BYTES = 4 << 30  # of a file
MOST_JSON_BYTES = 128 << 20  # is held in memory as text
MOST_JSON_OBJECT_BYTES = 32 << 20  # is held in memory as objects
MOST_ROWS = 20_000_000
MOST_CELLS = 60_000_000  # are read one by one: some two minutes
MOST_COLUMNS = 2000
MOST_LETTERS = 1 << 21  # in one cell
MOST_SECONDS = 900
MEMORY = "2400MB"  # of the database that checks the rows
SPILL = "20GB"

# What is packed: sizes are as the file declares them, before anything is unpacked.
MOST_UNPACKED = 1 << 30
MOST_TIMES = 300  # logs pack 5 to 30 times
SMALL = 16 << 20  # any ratio is fine below

MOST_SHEETS = 100
MOST_MERGED = 200_000
MOST_ROW_BYTES = 16 << 20  # of a row of a workbook, as XML
MOST_PART_BYTES = 4 << 20  # of styles, names and the like
MOST_STRING_BYTES = 64 << 20  # of the table of texts of a workbook

MOST_TEXTS = 300_000  # different ones in a column
MOST_NAMES = 20_000  # of exercises
MOST_SETS = 50  # in a row
LONGEST = 200  # letters of a cell that is read
MOST_TRACE_ROWS = 2_000_000  # five hours at 100 a second; 0.8 GB of memory


def bounded(
    rows: Iterator[tuple[int, list[str]]], path: Path
) -> Iterator[tuple[int, list[str]]]:
    """Pass rows on until they are too many, too large or take too long.

    Parameters
    ----------
    rows : iterator of (int, list of str)
        Numbered rows.
    path : Path
        File.

    Yields
    ------
    row : (int, list of str)
        As given.

    Raises
    ------
    FileRefusedError
        With the bound that was met.
    """
    name, ends = path.name, time.monotonic() + MOST_SECONDS
    # A text can stand in many cells and once in the file.
    n_cells, letters, most_letters = 0, 0, max(MOST_UNPACKED, path.stat().st_size)
    for number, cells in rows:
        n_cells += len(cells) + 1
        if len(cells) > MOST_COLUMNS:
            raise too_much(name, f"{len(cells)} columns in row {number}", MOST_COLUMNS)
        in_row = len("".join(cells))
        letters += in_row
        if in_row > MOST_LETTERS and len(max(cells, key=len)) > MOST_LETTERS:
            raise too_much(name, f"a longer cell in row {number}", MOST_LETTERS)
        if n_cells > MOST_CELLS:
            raise too_much(name, f"more cells by row {number}", MOST_CELLS)
        if letters > most_letters:
            raise too_much(name, f"more letters by row {number}", most_letters)
        if time.monotonic() > ends:
            raise too_much(name, f"not read to its end by row {number}", MOST_SECONDS)
        yield number, cells


def too_much(name: str, found: str, most: int, unit: str = "") -> FileRefusedError:
    """Make the error that says which bound was met.

    Parameters
    ----------
    name : str
        File.
    found : str
        What it has.
    most : int
        The bound.
    unit : str
        Of the bound, with a space before it.

    Returns
    -------
    error : FileRefusedError
        To be raised.
    """
    return FileRefusedError(
        f"`{name}` has {found}; at most {most:,}{unit} are read from one file; "
        "split it, or look for what made it so large"
    )


def check_unpacked(name: str, unpacked: int, packed: int) -> None:
    """Refuse what would unpack to more than any log.

    Parameters
    ----------
    name : str
        File.
    unpacked, packed : int
        Bytes.

    Raises
    ------
    FileRefusedError
        If it is large, or large for what it is packed in.
    """
    times = unpacked // max(packed, 1)
    if unpacked > MOST_UNPACKED or (unpacked > SMALL and times > MOST_TIMES):
        raise FileRefusedError(
            f"`{name}` would unpack to {unpacked >> 20:,} MB ({times:,} times its "
            f"size); at most {MOST_UNPACKED >> 20:,} MB and {MOST_TIMES} times are "
            "read; save the log as CSV"
        )
