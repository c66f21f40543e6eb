"""Reading XLSX: guarded against bombs, merged cells filled, several sheets."""

from __future__ import annotations

import re
import struct
import zipfile
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from typing import IO, Any
from xml.etree.ElementTree import ParseError

from openpyxl.reader.excel import ExcelReader
from openpyxl.utils import range_boundaries
from openpyxl.worksheet._reader import WorkSheetParser

from analytics.errors import FileRefusedError
from analytics.tables import bounds
from analytics.tables.bounds import check_unpacked, too_much
from analytics.tables.sheets import Row, Sheet, cell_text, made_sheet

_MOST_OF_PART = (
    ("xl/sharedStrings", bounds.MOST_STRING_BYTES),
    # Sheets are read row by row, the others not at all.
    *((f"xl/{name}", bounds.MOST_UNPACKED) for name in (
        "worksheets/", "pivotCache/", "externalLinks/", "drawings/", "charts/",
        "comments", "media/", "calcChain",
    )),
)  # fmt: skip
Cells = dict[tuple[int, int], tuple[int, int]]
_MERGE = re.compile(rb'<(?:\w+:)?mergeCell\s+ref="([A-Z0-9:]{3,20})"')
_DAMAGED = (
    zipfile.BadZipFile, ParseError, KeyError, ValueError, TypeError, OSError, EOFError,
    IndexError, zlib.error, struct.error, OverflowError, AttributeError,
    NotImplementedError, RuntimeError,
)  # fmt: skip


def workbook_sheets(path: Path, chosen: str | list[str] | None) -> list[Sheet]:
    """Sheets of a workbook.

    Parameters
    ----------
    path : Path
        XLSX file.
    chosen : str or list of str, optional
        Only these sheets.

    Returns
    -------
    sheets : list of Sheet
        In the order of the workbook.

    Raises
    ------
    FileRefusedError
        If it is no workbook, a bomb, damaged, or lacks a chosen sheet.
    """
    _guard(path)
    with _opened(path, data_only=True) as book:
        names = list(book.sheetnames)
        epoch = book.epoch.date()
        parts = {sheet.title: sheet._worksheet_path for sheet in book.worksheets}
    wanted = [chosen] if isinstance(chosen, str) else chosen or names
    if missing := [name for name in wanted if name not in names]:
        raise FileRefusedError(
            f"`{path.name}` has no sheet `{missing[0]}`; it has {', '.join(names)}"
        )
    if len(wanted) > bounds.MOST_SHEETS:
        raise too_much(path.name, f"{len(wanted)} sheets", bounds.MOST_SHEETS)
    only = len(parts) == 1
    return [
        _sheet(path, name, parts[name], "" if only else name, epoch)
        for name in wanted
        if name in parts
    ]


@contextmanager
def _opened(path: Path, *, data_only: bool) -> Iterator[Any]:
    """Open a workbook; as a file, since by its name only `.xlsx` would be taken."""
    try:
        with path.open("rb") as file:
            reader = ExcelReader(
                file, read_only=True, data_only=data_only, keep_links=False
            )
            reader.archive = _Guarded(file, path.name)
            reader.read()
            book = reader.wb
            try:
                yield book
            finally:
                book.close()
    except FileRefusedError:
        raise
    except _DAMAGED as error:
        raise _damaged(path, error) from error


def _damaged(path: Path, error: Exception) -> FileRefusedError:
    cause = str(error.__cause__ or error).splitlines() or [type(error).__name__]
    return FileRefusedError(
        f"`{path.name}` is no sound XLSX workbook ({cause[0]}); "
        "open it in a spreadsheet program and save it anew as .xlsx or CSV"
    )


def _guard(path: Path) -> None:
    """Refuse archives that are no workbook or unpack to too much."""
    try:
        with zipfile.ZipFile(path) as archive:
            members = archive.infolist()
    except _DAMAGED as error:
        raise _damaged(path, error) from error
    if "xl/workbook.xml" not in {member.filename for member in members}:
        raise FileRefusedError(
            f"`{path.name}` is an archive and no XLSX workbook; "
            "unpack it, or save it as .xlsx"
        )
    size = sum(member.file_size for member in members)
    check_unpacked(path.name, size, path.stat().st_size)
    for member in members:
        found = f"a part `{member.filename[:60]}` of {member.file_size:,} bytes"
        most = next(
            (most for part, most in _MOST_OF_PART if member.filename.startswith(part)),
            bounds.MOST_PART_BYTES,
        )
        if member.filename.endswith((".xml", ".rels")) and member.file_size > most:
            raise too_much(path.name, found, most, " bytes of it")


class _Guarded(zipfile.ZipFile):
    """An archive that is bounded where it is read, whatever its parts are called.

    A relationship may name any part as a sheet or as the table of texts, so that sizes
    by name alone do not bound what is held in memory.
    """

    def __init__(self, content: IO[bytes], file: str) -> None:
        super().__init__(content)
        self.file = file

    def open(self, name: Any, *mode: Any, **more: Any) -> Any:
        """Open a part, unless more of it would be held at once than can be."""
        size, most = self.getinfo(name).file_size, bounds.MOST_ROW_BYTES
        if str(name).startswith("xl/sharedStrings"):
            most = bounds.MOST_STRING_BYTES
        if mode and size > bounds.MOST_PART_BYTES:  # so is asked for what is read whole
            found = f"a part `{name[:60]}` of {size:,} bytes"
            raise too_much(self.file, found, bounds.MOST_PART_BYTES, " bytes of it")
        if size > most:
            with super().open(name) as part:
                self._check_rows(part, name, most)
        return super().open(name, *mode, **more)

    def _check_rows(self, part: IO[bytes], name: str, most: int) -> None:
        since, tail = 0, b""
        while chunk := part.read(1 << 20):
            end = (tail + chunk).rfind(b"row>")
            since = since + len(chunk) if end < 0 else len(tail + chunk) - end
            tail = chunk[-4:]
            if since > most:
                found = f"a row of more than {most:,} bytes in {name[:60]}"
                raise too_much(self.file, found, most, " bytes of it")


def _look_ahead(path: Path, part: str) -> tuple[Cells, bool]:
    """Cells covered by a merge, to the one with the value; whether formulas occur."""
    covered: Cells = {}
    formulas, tail = False, b""
    with zipfile.ZipFile(path) as archive, archive.open(part) as file:
        while chunk := file.read(1 << 20):
            text = tail + chunk
            formulas = formulas or b"<f" in text
            for merge in _MERGE.finditer(text):
                left, top, right, bottom = range_boundaries(merge[1].decode())
                if (right - left + 1) * (bottom - top + 1) + len(covered) > (
                    bounds.MOST_MERGED
                ):
                    raise FileRefusedError(
                        f"`{path.name}` merges more than {bounds.MOST_MERGED} cells; "
                        "save the log as CSV"
                    )
                covered.update({
                    (row, column): (top, left)
                    for row in range(top, bottom + 1)
                    for column in range(left, right + 1)
                })  # fmt: skip
            tail = text[-64:]
    return covered, formulas


def _sheet(path: Path, name: str, part: str, label: str, epoch: date) -> Sheet:
    try:
        merged, formulas = _look_ahead(path, part.lstrip("/"))
    except _DAMAGED as error:
        raise _damaged(path, error) from error

    widest: dict[int, int] = {}
    for row, column in merged:
        widest[row] = max(column, widest.get(row, 0))

    def rows() -> Iterator[Row]:
        held: dict[tuple[int, int], str] = {}
        values = _values(path, name, data_only=True)
        # A formula whose result was never saved is shown as formula, not as nothing.
        written = _values(path, name, data_only=False) if formulas else values
        pairs = (
            zip(values, written, strict=False) if formulas else ((v, v) for v in values)
        )
        for (number, row), (_, as_written) in pairs:
            cells = [
                cell_text(as_written[at] if value is None else value)
                for at, value in enumerate(row)
            ]
            if number in widest:
                _fill(cells, number, widest[number], merged, held)
            yield number, cells

    return made_sheet(path, rows, name=label, title=name, epoch=epoch)


def _values(
    path: Path, name: str, *, data_only: bool
) -> Iterator[tuple[int, list[Any]]]:
    """Rows that are there; openpyxl itself would make up all those between them."""
    before = 0
    with _opened(path, data_only=data_only) as book, book[name]._get_source() as part:
        parser = WorkSheetParser(
            part, book[name]._shared_strings, data_only=data_only, epoch=book.epoch,
            date_formats=book._date_formats,
            timedelta_formats=book._timedelta_formats,
        )  # fmt: skip
        for number, cells in parser.parse():
            if number <= before:
                raise FileRefusedError(
                    f"`{path.name}` is no sound XLSX workbook: row {number} comes "
                    f"after row {before}; save it anew"
                )
            before = number
            width = max((cell["column"] for cell in cells), default=0)
            if width > bounds.MOST_COLUMNS:
                found = f"{width} columns in row {number}"
                raise too_much(path.name, found, bounds.MOST_COLUMNS)
            values: list[Any] = [None] * width
            for cell in cells:
                values[cell["column"] - 1] = cell["value"]
            yield number, values


def _fill(
    cells: list[str],
    number: int,
    widest: int,
    merged: Cells,
    held: dict[tuple[int, int], str],
) -> None:
    """Give covered cells the value of their merge."""
    cells += [""] * (widest - len(cells))
    for column in range(1, len(cells) + 1):
        anchor = merged.get((number, column))
        if anchor == (number, column):
            held[anchor] = cells[column - 1]
        elif anchor:
            cells[column - 1] = held.get(anchor, "")
