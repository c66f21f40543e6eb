"""What is written once and holds for the rows below: lifter, date and exercise."""

from __future__ import annotations

import duckdb

from analytics.errors import FileRefusedError
from analytics.intake.plan import SHEET_STEP, Plan
from analytics.store.engine import first_row

_FILLED = ("lifter", "performed_on", "day", "exercise")
FEWEST, OFTEN = 3, 0.1  # blank cells from which they are no slip: rows, and their share


def fill_down(con: duckdb.DuckDBPyConnection, plan: Plan) -> None:
    """Fill ``cell_row`` down where the map says so, or ask where it does not say.

    An exercise is not filled below another date or lifter than it was written beside.

    Parameters
    ----------
    con : DuckDBPyConnection
        With ``cell_row``.
    plan : Plan
        File.

    Raises
    ------
    FileRefusedError
        If cells below a written one are often blank and the map does not say why.
    """
    given = plan.column_map.read.get("fill_down")
    cells = _cells(plan)
    if plan.column_map.kind == "bodies" or given is False or not cells:
        return
    if given is None and not _often_blank(con, cells):
        return
    others = [cell for field, cell in cells.items() if field != "exercise"]
    sheet = f"row_no // {SHEET_STEP}"
    down = ", ".join(
        f"last_value({cell} IGNORE NULLS) OVER (PARTITION BY {sheet} ORDER BY row_no) "
        f"AS {cell}"
        for cell in others
    )
    replaced = f"REPLACE ({down})" if down else ""
    beside = f"concat_ws(chr(31), '', {', '.join(others)})" if others else "''"
    query = (
        f"WITH led AS (SELECT * {replaced} FROM cell_row), "
        f"turned AS (SELECT *, {beside} IS DISTINCT FROM lag({beside}) OVER "
        f"(PARTITION BY {sheet} ORDER BY row_no) AS turn FROM led), "
        f"block AS (SELECT *, sum(CAST(turn AS INTEGER)) OVER (PARTITION BY {sheet} "
        "ORDER BY row_no) AS part FROM turned) SELECT * EXCLUDE (turn, part) "
    )
    if exercise := cells.get("exercise"):
        query += (
            f"REPLACE (last_value({exercise} IGNORE NULLS) OVER (PARTITION BY {sheet}, "
            f"part ORDER BY row_no) AS {exercise}) "
        )
    con.execute(f"CREATE TEMP TABLE filled_row AS {query} FROM block ORDER BY row_no")
    if given is None:
        _ask(con, plan, cells)
        con.execute("DROP TABLE filled_row")
        return
    kind = first_row(con, "SELECT 1 FROM duckdb_views() WHERE view_name = 'cell_row'")
    con.execute(f"DROP {'VIEW' if kind else 'TABLE'} cell_row")
    con.execute("ALTER TABLE filled_row RENAME TO cell_row")


def _cells(plan: Plan) -> dict[str, str]:
    """Column of ``cell_row`` of each field that may be written once."""
    columns = plan.column_map.columns
    return {
        field: f"c{plan.headers.index(columns[field][0])}"
        for field in _FILLED
        if len(columns.get(field, ())) == 1
        and not (field == "lifter" and plan.column_map.settings.get("lifter"))
    }


def _often_blank(con: duckdb.DuckDBPyConnection, cells: dict[str, str]) -> bool:
    """Whether enough cells are blank to look what stands above them."""
    blank = ", ".join(f"count(*) - count({cell})" for cell in cells.values())
    rows, *found = first_row(con, f"SELECT count(*), {blank} FROM cell_row") or (0, 0)
    return max(found) >= FEWEST and max(found) > OFTEN * rows


def _ask(con: duckdb.DuckDBPyConnection, plan: Plan, cells: dict[str, str]) -> None:
    """Refuse the file if what could be filled is often blank."""
    for field, cell in cells.items():
        rows, blank, first, text = first_row(
            con,
            "WITH held AS (SELECT row_no FROM cell_row "
            f"WHERE {cell} IS NULL) SELECT (SELECT count(*) FROM cell_row), count(*), "
            f"min(f.row_no), arg_min(f.{cell}, f.row_no) FROM filled_row AS f "
            f"SEMI JOIN held AS h ON h.row_no = f.row_no WHERE f.{cell} IS NOT NULL",
        ) or (0, 0, 0, "")
        if blank >= FEWEST and blank > OFTEN * rows:
            raise FileRefusedError(
                f"`{plan.path.name}` column `{plan.column_map.columns[field][0]}`: "
                f"{blank} of {rows} rows are blank there below a written cell, first "
                f"row {first % SHEET_STEP} below `{text[:40]}`; say whether what is "
                "written once holds for the rows below it, with `fill_down = true` or "
                "`fill_down = false` under [read] in the column map"
            )
