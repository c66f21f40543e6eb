"""Opening a file as tables of text cells with the file's own row numbers.

Whatever the format, what comes out is the same: sheets, each a stream of
``(row number, cells)`` whose cells are text as a person would have typed it.
"""

from __future__ import annotations

import csv
import json
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date, datetime, time
from functools import partial
from itertools import islice
from pathlib import Path
from typing import Any

from analytics.errors import FileRefusedError
from analytics.tables import bounds
from analytics.tables.bounds import bounded, check_unpacked, too_much
from analytics.tables.scan import ACCEPTED, Scan, is_json

Row = tuple[int, list[str]]
EMPTY = ("", "NA", "N/A", "n/a", "NaN", "nan", "NULL", "null", "None", "none", "-",
         "–", "—", "<NA>")  # fmt: skip
LEAD = 60
_DELIMITERS = ",;\t|"
csv.field_size_limit(bounds.MOST_LETTERS)


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
        from analytics.tables.workbook import workbook_sheets

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
    return sheets


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
        return bounded(rows(), path.name)

    return Sheet(lead=list(islice(within(), LEAD)), rows=within, **known)


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


# JSON


def _is_json(path: Path, scanned: Scan) -> bool:
    with path.open(encoding=scanned.encoding, errors="replace") as file:
        return is_json(file.read(256))


def _json(path: Path, scanned: Scan) -> Sheet:
    size = path.stat().st_size
    if size > bounds.MOST_JSON_BYTES:
        raise FileRefusedError(
            f"`{path.name}` is JSON of {size >> 20} MB, which is held in memory; at "
            f"most {bounds.MOST_JSON_BYTES >> 20} MB are read; bring CSV or Parquet"
        )
    text = path.read_text(encoding=scanned.encoding, errors="replace").lstrip(_BLANK)
    if _is_lines(path, text):
        records = partial(_json_lines, path, text)
    elif text.startswith("{"):
        records = partial(iter, _json_object(path, text))
    else:
        records = partial(_json_list, path, text)
    first = next(records(), None)
    if isinstance(first, list):
        return made_sheet(path, lambda: (
            (number, [_text(cell) for cell in row] if isinstance(row, list) else
             [_text(row)])
            for number, row in enumerate(records(), start=1)
        ))  # fmt: skip
    found = (key for record in records() for flat in _flattened(record) for key in flat)
    headers = list(dict.fromkeys(found))

    def rows() -> Iterator[Row]:
        yield 0, headers
        for number, record in enumerate(records(), start=1):
            for flat in _flattened(record):
                yield number, [flat.get(header, "") for header in headers]

    return made_sheet(path, rows, header_at=0)


def _is_lines(path: Path, text: str) -> bool:
    """Whether the first of several lines is a value of its own."""
    first, _, rest = text.partition("\n")
    if not rest.strip() or len(first) > bounds.MOST_LETTERS:
        return False
    try:
        return not first[_decoded(path, first, 0)[1] :].strip()
    except FileRefusedError:
        return False


def _json_object(path: Path, text: str) -> list[Any]:
    """List the records of an object that holds the whole file."""
    if len(text) > bounds.MOST_JSON_OBJECT_BYTES:
        raise too_much(path.name, f"one JSON object of {len(text):,} letters",
                       bounds.MOST_JSON_OBJECT_BYTES, " letters")  # fmt: skip
    data, end = _decoded(path, text, 0)
    if text[end:].strip():
        raise _unsound(path, "more after its end", text, end)
    lists = [
        v for v in data.values() if isinstance(v, list) and v and isinstance(v[0], dict)
    ]
    return lists[0] if len(lists) == 1 else [data]


def _json_list(path: Path, text: str) -> Iterator[Any]:
    """Give the records of a list one by one, so that never all are in memory."""
    at, mark = text.index("[") + 1, "["
    while True:
        at = _SPACE.match(text, at).end()  # type: ignore[union-attr]
        sign = text[at : at + 1]
        if sign == "]" and (mark == "[" or mark == "v"):
            if rest := text[at + 1 :].strip():
                raise _unsound(path, f"`{rest[:20]}` after the list", text, at + 1)
            return
        if mark == "v":
            if sign != ",":
                raise _unsound(path, "a `,` or `]` is missing", text, at)
            at, mark = _SPACE.match(text, at + 1).end(), ","  # type: ignore[union-attr]
        record, at = _decoded(path, text, at)
        mark = "v"
        yield record


def _json_lines(path: Path, text: str) -> Iterator[Any]:
    at = 0
    while at < len(text):
        end = text.find("\n", at)
        end = len(text) if end < 0 else end
        line = text[at:end].strip(_BLANK)
        if line:
            start = text.index(line, at)
            record, stop = _decoded(path, text, start)
            if stop != start + len(line):
                raise _unsound(path, "more than one value in a line", text, stop)
            yield record
        at = end + 1


_BLANK = "\ufeff \t\r\n"
_SPACE = re.compile(r"[ \t\r\n]*")
_DECODER = json.JSONDecoder()


def _decoded(path: Path, text: str, at: int) -> tuple[Any, int]:
    try:
        return _DECODER.raw_decode(text, at)
    except json.JSONDecodeError as error:
        raise _unsound(path, error.msg, text, error.pos) from error
    except (RecursionError, ValueError) as error:
        raise _unsound(path, str(error).split(";")[0], text, at) from error


def _unsound(path: Path, problem: str, text: str, at: int) -> FileRefusedError:
    line = text.count("\n", 0, at) + 1
    return FileRefusedError(
        f"`{path.name}` line {line} is no sound JSON: {problem} at character "
        f"{at - text.rfind(chr(10), 0, at)}"
    )


def _flattened(record: Any) -> list[dict[str, str]]:
    return _flat(record) if isinstance(record, dict) else [{"value": _text(record)}]


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
    import pyarrow.compute as pc
    import pyarrow.parquet as pq

    size = path.stat().st_size
    try:
        with path.open("rb") as file:  # a path would be read as an address too
            opened = pq.ParquetFile(file)
            _check_parquet(path.name, opened.metadata, size)
            headers = list(opened.schema_arrow.names)
            texts = [f.name for f in opened.schema_arrow if pa.types.is_string(f.type)]
    except (pa.ArrowException, OSError) as error:
        raise FileRefusedError(
            f"`{path.name}` is no sound Parquet file: {error}"
        ) from error

    def rows() -> Iterator[Row]:
        yield 0, headers
        number = letters = 0
        try:
            with path.open("rb") as file:
                opened = pq.ParquetFile(file, read_dictionary=texts)
                for batch in opened.iter_batches(batch_size=10_000):
                    # How long texts are is known before each is repeated.
                    for column in batch.columns:
                        if pa.types.is_dictionary(column.type):
                            lengths = pc.binary_length(column.dictionary)
                            letters += pc.sum(lengths.take(column.indices)).as_py() or 0
                            check_unpacked(path.name, letters, size)
                    for values in zip(
                        *(c.to_pylist() for c in batch.columns), strict=True
                    ):
                        number += 1
                        yield number, [_text(value) for value in values]
        except (pa.ArrowException, OSError) as error:
            raise FileRefusedError(f"`{path.name}` is damaged: {error}") from error

    return made_sheet(path, rows, header_at=0)


def _check_parquet(name: str, metadata: Any, size: int) -> None:
    """Refuse by its declared sizes what would unpack to too much."""
    groups = [metadata.row_group(n) for n in range(metadata.num_row_groups)]
    columns = [g.column(n) for g in groups for n in range(g.num_columns)]
    cells = max(sum(column.num_values for column in columns), metadata.num_rows)
    if cells > bounds.MOST_CELLS:
        raise too_much(name, f"{metadata.num_rows:,} rows with {cells:,} cells",
                       bounds.MOST_CELLS, " cells")  # fmt: skip
    stored = sum(column.total_uncompressed_size for column in columns)
    check_unpacked(name, max(stored, 8 * cells), size)  # a cell takes 8 bytes or more
