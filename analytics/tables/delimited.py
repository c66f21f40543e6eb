"""Delimited text as a table, with the lines' own numbers."""

from __future__ import annotations

import csv
from collections.abc import Iterator
from itertools import islice
from pathlib import Path
from typing import Any

from analytics.errors import FileRefusedError
from analytics.tables import bounds
from analytics.tables.scan import Scan
from analytics.tables.sheets import Row, Sheet, made_sheet

_DELIMITERS = ",;\t|"
csv.field_size_limit(bounds.MOST_LETTERS)


def delimited_sheet(path: Path, scanned: Scan, read: dict[str, Any]) -> Sheet:
    """Open delimited text as a sheet.

    Parameters
    ----------
    path : Path
        File.
    scanned : Scan
        What its bytes say.
    read : dict
        ``[read]`` of a column map.

    Returns
    -------
    sheet : Sheet
        With its delimiter.
    """
    delimiter = read.get("delimiter") or _sniff(path, scanned.encoding)

    def rows() -> Iterator[Row]:
        # strict=False: a stray quote is a character, not a reason to stop
        with path.open(encoding=scanned.encoding, newline="", errors="replace") as file:
            reader, start, before = csv.reader(file, delimiter=delimiter), 1, 1
            try:
                for cells in reader:
                    yield start, cells
                    start, before = reader.line_num + 1, start
            except csv.Error as error:
                raise FileRefusedError(
                    f"`{path.name}` line {start} cannot be read: {error}; "
                    "look for a quote that is never closed"
                ) from error
        if start - before > 1 and _unclosed(path, scanned.encoding, before):
            raise FileRefusedError(
                f"`{path.name}` line {before}: a quote is opened and never closed, so "
                "the rest of the file would be one cell; close or remove it"
            )

    return made_sheet(path, rows, delimiter=delimiter)


def _unclosed(path: Path, encoding: str, line: int) -> bool:
    """Whether the quotes from a line to the end of the file do not pair."""
    with path.open(encoding=encoding, newline=None, errors="replace") as file:
        return sum(text.count('"') for text in islice(file, line - 1, None)) % 2 == 1


def _sniff(path: Path, encoding: str) -> str:
    """Delimiter that cuts the first lines into most equally many cells."""
    with path.open(encoding=encoding, newline="", errors="replace") as file:
        lines = [
            line
            for line in islice(iter(lambda: file.readline(1 << 16), ""), 40)
            if line.strip()
        ]

    def score(delimiter: str) -> tuple[int, int]:
        widths = [len(cells) for cells in csv.reader(lines, delimiter=delimiter)]
        width = max(set(widths), key=lambda w: (widths.count(w) if w > 1 else 0, w))
        return (widths.count(width) if width > 1 else 0, width)

    try:
        found = max(_DELIMITERS, key=score)
        if score(found)[0] >= 0.5 * len(lines):
            return found
        others = {c for c in "".join(lines[:5]) if c in "~^:&#!*"}
        other = max(others, key=score, default=found)
        return other if score(other) > score(found) else found
    except csv.Error:
        return ","
