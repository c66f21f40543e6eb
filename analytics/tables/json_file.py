"""JSON as a table: a list or lines of records, read one after another."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from functools import partial
from pathlib import Path
from typing import Any

from analytics.errors import FileRefusedError
from analytics.tables import bounds
from analytics.tables.bounds import too_much
from analytics.tables.scan import Scan, is_json
from analytics.tables.sheets import Row, Sheet, cell_text, made_sheet


def is_json_file(path: Path, scanned: Scan) -> bool:
    """Whether a text file begins as JSON does.

    Parameters
    ----------
    path : Path
        File.
    scanned : Scan
        What its bytes say.

    Returns
    -------
    found : bool
        By its first sign.
    """
    with path.open(encoding=scanned.encoding, errors="replace") as file:
        return is_json(file.read(256))


def json_sheet(path: Path, scanned: Scan) -> Sheet:
    """Open JSON as a sheet.

    Parameters
    ----------
    path : Path
        File.
    scanned : Scan
        What its bytes say.

    Returns
    -------
    sheet : Sheet
        A row per record, or per object of its one list of objects.

    Raises
    ------
    FileRefusedError
        If it is too large or no sound JSON.
    """
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
            (number, _texts(path, row if isinstance(row, list) else [row]))
            for number, row in enumerate(records(), start=1)
        ))  # fmt: skip
    headers = _names(path, records())

    def rows() -> Iterator[Row]:
        yield 0, headers
        for number, record in enumerate(records(), start=1):
            for flat in _flattened(path, record):
                yield number, [flat.get(header, "") for header in headers]

    return made_sheet(path, rows, header_at=0)


def _names(path: Path, records: Iterator[Any]) -> list[str]:
    names: dict[str, None] = {}
    for record in records:
        for flat in _flattened(path, record):
            names.update(dict.fromkeys(flat))
        if len(names) > bounds.MOST_COLUMNS:
            raise too_much(path.name, f"{len(names)} names", bounds.MOST_COLUMNS)
    return list(names)


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
    except RecursionError as error:
        raise _too_deep(path) from error
    except ValueError as error:
        raise _unsound(path, str(error).split(";")[0], text, at) from error


def _unsound(path: Path, problem: str, text: str, at: int) -> FileRefusedError:
    line = text.count("\n", 0, at) + 1
    return FileRefusedError(
        f"`{path.name}` line {line} is no sound JSON: {problem} at character "
        f"{at - text.rfind(chr(10), 0, at)}"
    )


def _too_deep(path: Path) -> FileRefusedError:
    return FileRefusedError(
        f"`{path.name}` is JSON nested too deep for any log; bring a list of records"
    )


def _texts(path: Path, values: list[Any]) -> list[str]:
    try:
        return [cell_text(value) for value in values]
    except RecursionError as error:
        raise _too_deep(path) from error


def _flattened(path: Path, record: Any) -> list[dict[str, str]]:
    if not isinstance(record, dict):
        return [{"value": _texts(path, [record])[0]}]
    try:
        return _flat(record)
    except RecursionError as error:
        raise _too_deep(path) from error


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
            flat[name] = ", ".join(cell_text(v) for v in value)
        else:
            flat[name] = cell_text(value)
    return [{**flat, **row} for row in inner] or [flat]
