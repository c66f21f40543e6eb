"""Every format ends here: one table of text cells with the file's row numbers.

`stage` fills ``cell_row (row_no, c0, c1, ...)`` with the mapped columns of all
sheets and defines the view ``entry``, one row per set with one column per field.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator
from itertools import chain, islice
from pathlib import Path
from typing import Any

import duckdb
import pyarrow as pa

from analytics.intake.fields import BODY_FIELDS, SET_FIELDS, unsided
from analytics.intake.filling import fill_down
from analytics.intake.headers import SHEET_AT, Header, positions
from analytics.intake.plan import SHEET_STEP, Plan, slots
from analytics.intake.steps import Rows, statement
from analytics.store.engine import first_row
from analytics.store.private import scratch_folder
from analytics.tables import EMPTY, Row
from analytics.tables.even_lines import even_copy

_EMPTY_CELLS = frozenset(EMPTY)
BATCH, BATCH_LETTERS = 20_000, 32 << 20
_KEPT = ("lifter", "equipment", "stance", "tempo")
_SPACE = "".join(filter(str.isspace, map(chr, range(0x3001))))
_READ_CSV = (
    "read_csv($path, delim = $delimiter, skip = $skip, columns = $columns, "
    "nullstr = $empty, allow_quoted_nulls = true, header = false, auto_detect = false, "
    "quote = '\"', escape = '\"', strict_mode = true, max_line_size = 2097152, "
    "compression = 'none', hive_partitioning = false)"
)
_Cells = tuple[int | str | None, ...]
Progress = Callable[[int, int], None] | None


def stage(con: duckdb.DuckDBPyConnection, plan: Plan) -> Rows:
    """Fill ``cell_row`` and define ``entry``.

    Parameters
    ----------
    con : DuckDBPyConnection
        In-memory connection.
    plan : Plan
        File.

    Returns
    -------
    rows : Rows
        Relations ``sheet``, ``cell_row`` and ``entry``.
    """
    con.execute(statement("sheet"))
    con.executemany(
        "INSERT INTO sheet VALUES (?, ?)",
        [(number, sheet.name) for number, (sheet, _) in enumerate(plan.sheets)],
    )
    (sheet, header), *others = plan.sheets
    with_duckdb = not others and sheet.delimiter and header.row > 0
    if not (with_duckdb and (_stage_plain(con, plan) or _stage_even(con, plan))):
        _fill(con, "cell_row", plan, chain.from_iterable(
            _below(sheet.rows(), plan, number)
            for number, (sheet, _) in enumerate(plan.sheets)
        ))  # fmt: skip
    fill_down(con, plan)
    return entries(con, plan)


def entries(con: duckdb.DuckDBPyConnection, plan: Plan) -> Rows:
    """Define ``entry`` on ``cell_row``; again if a column turns out to mean another.

    Parameters
    ----------
    con : DuckDBPyConnection
        With ``cell_row``.
    plan : Plan
        File; its headers in the order of ``cell_row``.

    Returns
    -------
    rows : Rows
        Relations ``sheet``, ``cell_row`` and ``entry``.
    """
    con.execute(_entry_view(plan))
    mapped = frozenset(map(unsided, plan.column_map.columns))
    return Rows(con=con, plan=plan, mapped=mapped, flat=len(slots(plan)) == 1)


def _columns(plan: Plan, header: Header) -> list[int]:
    """Position in the file of each column of ``cell_row``."""
    at: dict[str, int] = {}
    found = positions(header, plan.column_map, f"`{plan.path.name}`")
    for field, names in plan.column_map.columns.items():
        at.update(zip(names, found[field], strict=True))
    return [at[name] for name in plan.headers]


def _stage_plain(con: duckdb.DuckDBPyConnection, plan: Plan) -> bool:
    """Read UTF-8 text with DuckDB; False if a row would not get its line number.

    That is so with blank lines and rows, line ends inside quotes and rows of another
    width.
    """
    sheet, header = plan.sheets[0]
    below = [cells for number, cells in sheet.lead if number > header.row]
    if plan.scanned.encoding not in ("utf-8", "utf-8-sig", "ascii") or any(
        len(cells) != len(header.names) or any(cell != cell.strip() for cell in cells)
        for cells in below
    ):
        return False
    wanted = ", ".join(
        f"f{position} AS c{number}"
        for number, position in enumerate(_columns(plan, header))
    )
    try:
        con.execute(
            f"CREATE TEMP TABLE plain_row AS SELECT {wanted} FROM {_READ_CSV}",
            _read_options(plan, plan.path, len(header.names))
            | {"skip": header.row, "empty": list(EMPTY)},
        )
    except duckdb.Error:
        return False
    # A row without any mapped cell may be blank, or hold something elsewhere; spaces
    # around a cell matter only where its text itself is stored.
    bare = " AND ".join(f"c{number} IS NULL" for number in range(len(plan.headers)))
    padded = " OR ".join(
        f"c{plan.headers.index(name)} <> trim(c{plan.headers.index(name)})"
        for field in _KEPT
        for name in plan.column_map.columns.get(field, ())
    )
    rows = first_row(con, statement("read_rows")) or (0, 0)
    odd = f"{padded or 'false'} OR {bare if rows[1] < rows[0] else 'false'}"
    if rows[0] != plan.scanned.lines + 1 - header.row or first_row(
        con, f"SELECT 1 FROM plain_row WHERE {odd} LIMIT 1"
    ):
        con.execute("DROP TABLE plain_row")
        return False
    con.execute(
        f"CREATE TEMP VIEW cell_row AS SELECT rowid + {header.row + 1} AS row_no, "
        "CAST(NULL AS TEXT) AS surplus, * FROM plain_row"
    )
    return True


def _stage_even(con: duckdb.DuckDBPyConnection, plan: Plan) -> bool:
    """Read other text with DuckDB from an even copy; False if there can be none."""
    sheet, header = plan.sheets[0]
    width = max(len(cells) for number, cells in sheet.lead if number >= header.row)
    # Trimming all kinds of spaces is slow, so only where there may be one.
    trimmed = ", ".join(
        f"CASE WHEN unicode(f{n}) BETWEEN 33 AND 126 AND unicode(right(f{n}, 1)) "
        f"BETWEEN 33 AND 126 THEN f{n} ELSE trim(f{n}, $space) END AS f{n}"
        for n in range(width)
    )
    joined = ", ".join(f"f{n}" for n in range(width))
    # No list_contains() here: DuckDB makes it a join, which loses the order of rows.
    wanted = ", ".join(
        f"CASE WHEN length(f{position}) > {max(map(len, EMPTY))} "
        f"OR NOT regexp_full_match(f{position}, $none) "
        f"THEN f{position} END AS c{number}"
        for number, position in enumerate(_columns(plan, header))
    )
    beyond = " ".join(
        f"WHEN f{n} <> '' THEN '{_surplus(n + 1, header)}'"
        for n in reversed(range(len(header.names), width))
    )
    with scratch_folder() as folder:
        path = folder / "even.csv"
        wide = even_copy(
            plan.path, path, encoding=plan.scanned.encoding, width=width,
            delimiter=sheet.delimiter, skip=header.row,
        )  # fmt: skip
        if wide is None:
            return False
        try:
            con.execute(
                "CREATE TEMP TABLE plain_row AS "
                f"SELECT concat({joined}) = '' AS blank, "
                f"CASE {beyond or 'WHEN false THEN NULL'} END AS surplus, {wanted} "
                f"FROM (SELECT {trimmed} FROM {_READ_CSV})",
                _read_options(plan, path, width)
                | {"skip": 0, "empty": [""], "none": "|".join(EMPTY), "space": _SPACE},
            )
        except duckdb.Error:
            return False
    _fill(con, "wide_row", plan, _below(wide, plan, 0))
    con.execute(
        f"CREATE TEMP VIEW cell_row AS SELECT rowid + {header.row + 1} AS row_no, "
        "* EXCLUDE (blank) FROM plain_row WHERE NOT blank "
        "UNION ALL SELECT * FROM wide_row"
    )
    return True


def _read_options(plan: Plan, path: Path, width: int) -> dict[str, Any]:
    # DuckDB takes `[ * ?` in a path for a pattern; in brackets each is itself.
    return {
        "path": re.sub(r"[\[*?]", r"[\g<0>]", str(path.absolute())),
        "delimiter": plan.sheets[0][0].delimiter,
        "columns": {f"f{number}": "VARCHAR" for number in range(width)},
    }  # fmt: skip


def _fill(
    con: duckdb.DuckDBPyConnection, table: str, plan: Plan, rows: Iterator[_Cells]
) -> None:
    """Make a table like ``cell_row`` of rows."""
    names = ["row_no", "surplus", *(f"c{n}" for n in range(len(plan.headers)))]
    texts = ", ".join(f"{name} TEXT" for name in names[1:])
    con.execute(f"CREATE TEMP TABLE {table} (row_no BIGINT, {texts})")
    kinds = [pa.int64(), *[pa.string()] * (len(names) - 1)]
    while batch := _batch(rows):
        columns = zip(*batch, strict=True)
        arrays = [pa.array(c, kind) for c, kind in zip(columns, kinds, strict=True)]
        con.register("batch", pa.table(arrays, names=names))
        con.execute(f"INSERT INTO {table} SELECT * FROM batch")
        con.unregister("batch")


def _batch(rows: Iterator[_Cells]) -> list[_Cells]:
    """Take the next rows, as many as memory holds whatever is in them."""
    batch: list[_Cells] = []
    letters = 0
    for row in islice(rows, BATCH):
        batch.append(row)
        letters += len("".join(filter(None, row[1:])))  # type: ignore[arg-type]
        if letters > BATCH_LETTERS:
            break
    return batch


def _below(rows: Iterable[Row], plan: Plan, number: int) -> Iterator[_Cells]:
    """Rows of a sheet below its header that hold anything."""
    sheet, header = plan.sheets[number]
    wanted, width = _columns(plan, header), len(header.names)
    last = max(wanted)
    for row_no, cells in rows:
        if row_no <= header.row or not any(cells) or not "".join(cells).strip():
            continue
        surplus = None
        # In delimited text more cells than headers mean that a cell was cut in two.
        if len(cells) > width and sheet.delimiter:
            filled = [n for n, cell in enumerate(cells, start=1) if cell.strip()]
            surplus = _surplus(filled[-1], header) if filled[-1] > width else None
        if len(cells) <= last:
            cells = [*cells, *[""] * (last + 1 - len(cells))]
        values = [
            _cell((sheet.title if at == SHEET_AT else cells[at]).strip())
            for at in wanted
        ]
        yield number * SHEET_STEP + row_no, surplus, *values


def _surplus(cells: int, header: Header) -> str:
    return f"{cells} cells where the header has {len(header.names)}"


def _cell(cell: str) -> str | None:
    """Text that the store can hold, or None where there is no value."""
    if cell in _EMPTY_CELLS:
        return None
    if cell.isascii() and "\0" not in cell:
        return cell
    return cell.replace("\0", "�").encode("utf-8", "replace").decode()


def _entry_view(plan: Plan) -> str:
    """View with one column per field; wide columns become one row per set."""
    column = {name: f"c{number}" for number, name in enumerate(plan.headers)}
    fields = BODY_FIELDS if plan.column_map.kind == "bodies" else SET_FIELDS
    found = slots(plan)
    selects = []
    for number, slot in enumerate(found):
        cells = ", ".join(
            f"'{slot.side}' AS side" if field == "side" and slot.side
            else f"{column[slot.headers[field]]} AS {field}" if field in slot.headers
            else f"CAST(NULL AS TEXT) AS {field}"
            for field in fields
        )  # fmt: skip
        # An empty slot is no set; a row without any keeps its first, to be rejected.
        filled = (
            " OR ".join(f"{column[name]} IS NOT NULL" for name in slot.own) or "true"
        )
        if number == 0 and slot.own:
            others = sorted({column[name] for other in found[1:] for name in other.own})
            filled += " OR (" + " AND ".join(f"{name} IS NULL" for name in others) + ")"
        selects.append(
            f"SELECT row_no, {number * 1000} AS slot, surplus, {cells} FROM cell_row "
            f"WHERE {filled}"
        )
    return "CREATE OR REPLACE TEMP VIEW entry AS " + " UNION ALL ".join(selects)
