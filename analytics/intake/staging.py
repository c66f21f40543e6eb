"""Every format ends here: one table of text cells with the file's row numbers.

`stage` fills ``cell_row (row_no, c0, c1, ...)`` with the mapped columns of all
sheets and defines the view ``entry``, one row per set with one column per field.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import islice
from pathlib import Path

import duckdb
import pyarrow as pa

from analytics.intake.column_map import ColumnMap
from analytics.intake.fields import BODY_FIELDS, FIELDS, SET_FIELDS, SIDED
from analytics.intake.headers import Header, positions
from analytics.intake.scan import Scan
from analytics.intake.tables import Sheet
from analytics.store.connection import first_row

EMPTY = ("", "NA", "N/A", "n/a", "NaN", "nan", "NULL", "null", "None", "none", "-",
         "–", "—", "<NA>")  # fmt: skip
_EMPTY_CELLS = frozenset(EMPTY)
SHEET_STEP = 1 << 32  # row_no = number of the sheet * SHEET_STEP + row in the sheet
BATCH = 20_000
Progress = Callable[[int, int], None] | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """A file about to be read.

    Attributes
    ----------
    path : Path
        File.
    scanned : Scan
        What its bytes say.
    sheets : tuple of (Sheet, Header)
        Those to be read.
    column_map : ColumnMap
        Complete: nothing of it is open any more but units and dates.
    notes : tuple of str
        What the person should know, in sentences.
    """

    path: Path
    scanned: Scan
    sheets: tuple[tuple[Sheet, Header], ...]
    column_map: ColumnMap
    notes: tuple[str, ...] = ()

    @property
    def headers(self) -> list[str]:
        """Mapped headers in the order of the fields, which is that of ``cell_row``."""
        columns = self.column_map.columns
        return list(
            dict.fromkeys(name for field in FIELDS for name in columns.get(field, ()))
        )


def stage(con: duckdb.DuckDBPyConnection, plan: Plan) -> None:
    """Fill ``cell_row`` and define ``entry``.

    Parameters
    ----------
    con : DuckDBPyConnection
        In-memory connection.
    plan : Plan
        File.
    """
    con.execute("CREATE TEMP TABLE sheet (sheet_no INTEGER, name TEXT)")
    con.executemany(
        "INSERT INTO sheet VALUES (?, ?)",
        [(number, sheet.name) for number, (sheet, _) in enumerate(plan.sheets)],
    )
    if not _stage_fast(con, plan):
        _stage_rows(con, plan)
    con.execute(_entry_view(plan))


def _columns(plan: Plan, header: Header) -> list[int]:
    """Position in the file of each column of ``cell_row``."""
    at: dict[str, int] = {}
    found = positions(header, plan.column_map, f"`{plan.path.name}`")
    for field, names in plan.column_map.columns.items():
        at.update(zip(names, found[field], strict=True))
    return [at[name] for name in plan.headers]


def _stage_fast(con: duckdb.DuckDBPyConnection, plan: Plan) -> bool:
    """Read plain CSV with DuckDB; False if a row would not get its line number.

    That is so with blank lines and rows, line ends inside quotes, rows of another
    width and encodings other than UTF-8.
    """
    (sheet, header), *others = plan.sheets
    plain = plan.scanned.encoding in ("utf-8", "utf-8-sig", "ascii")
    if others or not sheet.delimiter or not plain or header.row == 0:
        return False
    names = [f"f{number}" for number in range(len(header.names))]
    wanted = ", ".join(
        f"f{position} AS c{number}"
        for number, position in enumerate(_columns(plan, header))
    )
    options = {
        "path": str(plan.path), "delimiter": sheet.delimiter, "skip": header.row,
        "columns": dict.fromkeys(names, "VARCHAR"), "empty": list(EMPTY),
    }  # fmt: skip
    try:
        con.execute(
            f"CREATE TEMP TABLE plain_row AS SELECT {wanted} FROM read_csv($path, "
            "delim = $delimiter, skip = $skip, columns = $columns, nullstr = $empty, "
            "header = false, auto_detect = false, quote = '\"', escape = '\"', "
            "allow_quoted_nulls = true, strict_mode = true, max_line_size = 2097152)",
            options,
        )
    except duckdb.Error:
        return False
    # A row without any mapped cell may be blank, or hold something elsewhere.
    bare = " AND ".join(f"c{number} IS NULL" for number in range(len(plan.headers)))
    rows = first_row(con, f"SELECT count(*), count_if({bare}) FROM plain_row")
    if rows is None or rows != (plan.scanned.lines + 1 - header.row, 0):
        con.execute("DROP TABLE plain_row")
        return False
    con.execute(
        f"CREATE TEMP VIEW cell_row AS SELECT rowid + {header.row + 1} AS row_no, "
        "CAST(NULL AS TEXT) AS surplus, * FROM plain_row"
    )
    return True


def _stage_rows(con: duckdb.DuckDBPyConnection, plan: Plan) -> None:
    width = len(plan.headers)
    names = ["row_no", "surplus", *(f"c{number}" for number in range(width))]
    texts = ", ".join(f"{name} TEXT" for name in names[1:])
    con.execute(f"CREATE TEMP TABLE cell_row (row_no BIGINT, {texts})")
    for number, (sheet, header) in enumerate(plan.sheets):
        wanted = _columns(plan, header)
        rows = _below(sheet, header, wanted, number * SHEET_STEP)
        while batch := list(islice(rows, BATCH)):
            kinds = [pa.int64(), *[pa.string()] * (width + 1)]
            columns = zip(*batch, strict=True)
            arrays = [pa.array(c, kind) for c, kind in zip(columns, kinds, strict=True)]
            con.register("batch", pa.table(arrays, names=names))
            con.execute("INSERT INTO cell_row SELECT * FROM batch")
            con.unregister("batch")


def _below(
    sheet: Sheet, header: Header, wanted: Sequence[int], base: int
) -> Iterator[tuple[int | str | None, ...]]:
    """Rows below the header that hold anything: number, surplus, mapped cells."""
    width, last = len(header.names), max(wanted)
    for number, cells in sheet.rows():
        if number <= header.row or not any(cells) or not "".join(cells).strip():
            continue
        surplus = None
        # In delimited text more cells than headers mean that a cell was cut in two.
        if len(cells) > width and sheet.delimiter and "".join(cells[width:]).strip():
            surplus = f"{len(cells)} cells where the header has {width}"
        if len(cells) <= last:
            cells = [*cells, *[""] * (last + 1 - len(cells))]
        yield base + number, surplus, *[_cell(cells[at].strip()) for at in wanted]


def _cell(cell: str) -> str | None:
    """Text that the store can hold, or None where there is no value."""
    if cell in _EMPTY_CELLS:
        return None
    if cell.isascii() and "\0" not in cell:
        return cell
    return cell.replace("\0", "�").encode("utf-8", "replace").decode()


@dataclass(frozen=True, slots=True)
class Slot:
    """One of the sets that a row of wide columns holds.

    Attributes
    ----------
    headers : dict of str to str
        Field to header.
    own : tuple of str
        Headers of this slot alone; without a value in any, there is no set.
    side : str
        Side of the body that the columns are for, empty if they do not say.
    """

    headers: dict[str, str]
    own: tuple[str, ...]
    side: str


def slots(plan: Plan) -> list[Slot]:
    """List the sets that a row can hold; one unless the file has wide columns.

    Parameters
    ----------
    plan : Plan
        File.

    Returns
    -------
    slots : list of Slot
        In the order of the columns.
    """
    mapped = plan.column_map.columns
    sides = ("left", "right") if any(field in SIDED for field in mapped) else ("",)
    found = []
    for number in range(plan.column_map.slots):
        for side in sides:
            headers, own = {}, []
            for field, names in mapped.items():
                name, _, its_side = field.rpartition("_")
                if field in SIDED and its_side != side:
                    continue
                header = names[number if len(names) > 1 else 0]
                headers[name if field in SIDED else field] = header
                if field in SIDED or len(names) > 1:
                    own.append(header)
            found.append(Slot(headers, tuple(own), side))
    return found


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
        # An empty slot is no set; a row without any keeps its first, to be set aside.
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
    return "CREATE TEMP VIEW entry AS " + " UNION ALL ".join(selects)
