"""Opening a file as tables of text cells with the file's own row numbers.

Whatever the format, what comes out is the same: sheets, each a stream of
``(row number, cells)`` whose cells are text as a person would have typed it.
"""

from __future__ import annotations

import csv
import json
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date, datetime, time
from itertools import islice
from pathlib import Path
from typing import Any

from analytics.errors import FileRefusedError
from analytics.intake.scan import ACCEPTED, Scan

Row = tuple[int, list[str]]
LEAD = 60
MOST_COLUMNS = 2000
MOST_JSON_BYTES = 128 << 20
_DELIMITERS = ",;\t|"
csv.field_size_limit(1 << 21)


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """One table of a file.

    Attributes
    ----------
    name : str
        Sheet of a workbook, else empty.
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
    lead: list[Row]
    rows: Callable[[], Iterator[Row]]
    delimiter: str = ""
    header_at: int | None = None
    epoch: date = date(1899, 12, 30)


def open_sheets(path: Path, scanned: Scan, read: dict[str, Any]) -> list[Sheet]:
    """Open a file.

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
    sheets : list of Sheet
        Those that hold anything.

    Raises
    ------
    FileRefusedError
        If it is damaged, hostile, or holds no table.
    """
    if scanned.kind == "zip":
        from analytics.intake.workbook import workbook_sheets

        sheets = workbook_sheets(path, read.get("sheet"))
    elif scanned.kind == "parquet":
        sheets = [_parquet(path)]
    elif _is_json(path, scanned):
        sheets = [_json(path, scanned)]
    else:
        sheets = [_delimited(path, scanned, read)]
    sheets = [sheet for sheet in sheets if any(any(cells) for _, cells in sheet.lead)]
    if not sheets:
        raise FileRefusedError(f"`{path.name}` holds no rows; {ACCEPTED} is accepted")
    for sheet in sheets:
        widest = max(len(cells) for _, cells in sheet.lead)
        if widest > MOST_COLUMNS:
            raise FileRefusedError(
                f"`{path.name}` has {widest} columns; at most {MOST_COLUMNS} are read"
            )
    return sheets


def _lead(rows: Callable[[], Iterator[Row]], most: int = LEAD) -> list[Row]:
    return list(islice(rows(), most))


# Delimited text


def _delimited(path: Path, scanned: Scan, read: dict[str, Any]) -> Sheet:
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

    return Sheet(lead=_lead(rows), rows=rows, delimiter=delimiter)


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


# JSON


def _is_json(path: Path, scanned: Scan) -> bool:
    with path.open(encoding=scanned.encoding, errors="replace") as file:
        return file.read(256).lstrip("\ufeff \t\r\n")[:1] in ("{", "[")


def _json(path: Path, scanned: Scan) -> Sheet:
    if path.stat().st_size > MOST_JSON_BYTES:
        raise FileRefusedError(
            f"`{path.name}` is JSON of more than {MOST_JSON_BYTES >> 20} MB; "
            "bring CSV or Parquet"
        )
    text = path.read_text(encoding=scanned.encoding, errors="replace")
    try:
        try:
            data = json.loads(text)
        except json.JSONDecodeError:
            data = _json_lines(path, text)
    except (RecursionError, ValueError) as error:
        raise FileRefusedError(
            f"`{path.name}` is no sound JSON: {str(error).split(';')[0]}"
        ) from error
    if isinstance(data, dict):
        lists = [
            v
            for v in data.values()
            if isinstance(v, list) and v and isinstance(v[0], dict)
        ]
        data = lists[0] if len(lists) == 1 else [data]
    if isinstance(data, list) and data and all(isinstance(row, list) for row in data):
        table = [[_text(cell) for cell in row] for row in data]

        def table_rows() -> Iterator[Row]:
            yield from enumerate(table, start=1)

        return Sheet(lead=_lead(table_rows), rows=table_rows)
    records = []
    for number, record in enumerate(data, start=1):
        rows_of = (
            _flat(record) if isinstance(record, dict) else [{"value": _text(record)}]
        )
        records += [(number, flat) for flat in rows_of]
    headers = list(dict.fromkeys(key for _, flat in records for key in flat))

    def rows() -> Iterator[Row]:
        yield 0, headers
        for number, flat in records:
            yield number, [flat.get(header, "") for header in headers]

    return Sheet(lead=_lead(rows), rows=rows, header_at=0)


def _json_lines(path: Path, text: str) -> list[Any]:
    data = []
    for number, line in enumerate(text.splitlines(), start=1):
        try:
            data += [json.loads(line)] if line.strip() else []
        except json.JSONDecodeError as error:
            raise FileRefusedError(
                f"`{path.name}` line {number} is no sound JSON: {error.msg} at "
                f"character {error.pos + 1}"
            ) from error
    return data


def _flat(
    record: dict[str, Any], prefix: str = "", depth: int = 0
) -> list[dict[str, str]]:
    """Record as flat rows: inner objects joined by a dot, one list of sets unrolled."""
    flat: dict[str, str] = {}
    inner: list[dict[str, str]] = []
    for key, value in record.items():
        name = prefix + str(key)
        if isinstance(value, dict) and depth < 5:
            flat.update(_flat(value, f"{name}.", depth + 1)[0])
        elif (
            isinstance(value, list)
            and value
            and all(isinstance(v, dict) for v in value)
            and not inner
            and depth < 5
        ):
            inner = [row for v in value for row in _flat(v, "", depth + 1)]
        elif isinstance(value, list):
            flat[name] = ", ".join(_text(v) for v in value)
        else:
            flat[name] = _text(value)
    return [{**flat, **row} for row in inner] or [flat]


def _text(value: Any) -> str:
    """Cell as a person would have typed it."""
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


cell_text = _text


# Parquet


def _parquet(path: Path) -> Sheet:
    import pyarrow as pa
    import pyarrow.parquet as pq

    try:
        with path.open("rb") as file:  # a path would be read as an address too
            headers = list(pq.ParquetFile(file).schema_arrow.names)
    except (pa.ArrowException, OSError) as error:
        raise FileRefusedError(
            f"`{path.name}` is no sound Parquet file: {error}"
        ) from error

    def rows() -> Iterator[Row]:
        yield 0, headers
        number = 0
        try:
            with path.open("rb") as file:
                for batch in pq.ParquetFile(file).iter_batches(batch_size=10_000):
                    for values in zip(
                        *(c.to_pylist() for c in batch.columns), strict=True
                    ):
                        number += 1
                        yield number, [_text(value) for value in values]
        except (pa.ArrowException, OSError) as error:
            raise FileRefusedError(f"`{path.name}` is damaged: {error}") from error

    return Sheet(lead=_lead(rows), rows=rows, header_at=0)
