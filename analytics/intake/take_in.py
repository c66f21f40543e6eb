"""One file into the store: stage, read, check, compare, store; all or nothing."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime
from pathlib import Path

import duckdb
import pandas as pd

from analytics.catalogue import normalise_name
from analytics.errors import FileRefusedError, InputError
from analytics.intake.column_map import ColumnMap
from analytics.intake.dates import ORDERS
from analytics.intake.faults import word_faults
from analytics.intake.fields import DETAIL
from analytics.intake.planning import make_plan
from analytics.intake.reading import read_cells, resolved
from analytics.intake.results import IntakeResult, RowIssue
from analytics.intake.staged import Staged, statement
from analytics.intake.staging import SHEET_STEP, Plan, Progress, stage
from analytics.intake.values import details
from analytics.store import Store
from analytics.store.engine import first_row, in_memory
from analytics.store.names import enter_names, teach
from analytics.units import KG_PER_UNIT

PREVIEW = 50
MOST_ISSUES = 1000
STEPS = 5
FAR_APART, MANY = 20, 5  # that many equal sets that many rows apart look pasted
_UNREADABLE = (
    duckdb.DataError, duckdb.InvalidInputException, duckdb.OutOfMemoryException,
)  # fmt: skip
MEMORY = "2400MB"


def take_in(
    store: Store,
    path: str | Path,
    *,
    column_map: ColumnMap | None = None,
    lifter: str | None = None,
    unit: str | None = None,
    dates: str | None = None,
    trial: bool = False,
    on_progress: Progress = None,
    mends: tuple[int, ...] = (),
) -> IntakeResult:
    """Take one file into the store, wholly or not at all.

    Parameters
    ----------
    store : Store
        The store.
    path : str or Path
        CSV, TSV, XLSX, JSON or Parquet file.
    column_map : ColumnMap, optional
        How to read it; without columns, the layout remembered for its header is used,
        else the known words of its header.
    lifter : str, optional
        Code for rows without one.
    unit : str, optional
        ``kg``, ``lb`` or ``stone`` for loads without one.
    dates : str, optional
        ``dmy``, ``mdy`` or ``iso``.
    trial : bool
        Count and check, but store nothing.
    on_progress : callable, optional
        Called with steps done and steps in all.

    mends : tuple of int
        Keys of waiting rows whose place this file takes; see `repair_aside`.

    Returns
    -------
    result : IntakeResult
        Counts and what was set aside.

    Raises
    ------
    FileRefusedError
        If it is no table, lacks a required column, or leaves its units or the order
        of day and month open.
    StoreError
        If the store is busy, damaged or cannot be written.
    """
    _check("unit", unit, KG_PER_UNIT)
    _check("dates", dates, ORDERS)
    path = Path(path)
    settings = {"lifter": lifter, "unit": unit, "dates": dates}
    report = on_progress or (lambda done, steps: None)
    plan = make_plan(store, path, column_map, settings)
    before = _taken_before(store, plan) if store.exists and not trial else None
    if before is not None:
        return before
    with in_memory() as con:
        con.execute("SET memory_limit = $most", {"most": MEMORY})
        report(1, STEPS)
        try:
            stage(con, plan)
            report(2, STEPS)
            staged = Staged(con, plan)
            read_cells(staged)
            report(3, STEPS)
            _judge(staged)
        except _UNREADABLE as error:
            raise FileRefusedError(f"`{path.name}` cannot be read: {error}") from error
        report(4, STEPS)
        result = _store(store, staged, mends=mends, trial=trial)
        report(STEPS, STEPS)
        return result


def _judge(staged: Staged) -> None:
    """Type every cell, find what is wrong, and give what is right its identity."""
    con, plan = staged.con, staged.plan
    kind = plan.column_map.kind
    if kind == "bodies":
        con.execute(statement("metres"))
    con.execute(statement(f"checked_{kind}"))
    con.execute(statement(f"typed_{kind}"))
    con.execute(statement("bad_rows"))
    word_faults(con, plan)
    # The cells are not needed any more, and are half of the memory of a long log.
    con.execute("DROP VIEW checked; DROP VIEW valued; DROP TABLE IF EXISTS plain_row")
    if kind == "sets":
        con.execute(statement("repeats"))
        _note_repeats(staged)
    con.execute(statement(f"numbered_{kind}"))


def _note_repeats(staged: Staged) -> None:
    """Say when a stretch of rows stands in the file twice; its sets do count."""
    found = first_row(
        staged.con,
        "SELECT count(*), min(row_no), max(row_no) FROM repeat WHERE gap > $far",
        {"far": FAR_APART},
    )
    if found and found[0] >= MANY:
        first, last = (row % SHEET_STEP for row in found[1:])
        staged.notes.append(
            f"{found[0]} sets in rows {first} to {last} equal sets of the same days "
            f"more than {FAR_APART} rows before; they count, so if rows were pasted "
            "twice, undo this intake and mend the file"
        )


def _store(
    store: Store,
    staged: Staged,
    *,
    mends: tuple[int, ...],
    trial: bool,
) -> IntakeResult:
    """Compare with the store, count, and unless it is a trial, add what is new."""
    con, plan = staged.con, staged.plan
    kind = plan.column_map.kind
    with store.attached(con, read_only=trial):
        con.execute(statement(f"known_{kind}"))
        con.execute(statement("still_aside"))
        counts = _counts(con, flat=staged.flat)
        intake_id = None if trial else _add(staged, counts)
        if mends:
            con.execute(
                "UPDATE aside_row SET mended_by = $id WHERE intake_id <> $id "
                "AND list_contains($keys, row_key)",
                {"id": intake_id, "keys": list(mends)},
            )
        elif not trial:
            _remember(con, plan)
        preview = con.execute(statement("preview"), {"most": PREVIEW}).df()
        issues = _issues(con, plan)
    return IntakeResult(
        file=plan.path.name, intake_id=intake_id, **counts, issues=issues,
        preview=preview, notes=(*plan.notes, *staged.notes), column_map=plan.column_map,
    )  # fmt: skip


def _counts(con: duckdb.DuckDBPyConnection, *, flat: bool) -> dict[str, int]:
    rows = "count(*)" if flat else "count(DISTINCT row_no)"
    sizes = first_row(
        con,
        f"SELECT (SELECT {rows} FROM typed), "
        "(SELECT count(*) FROM numbered), (SELECT count(*) FROM known), "
        "(SELECT count(*) FROM still_aside), (SELECT count(*) FROM set_aside)",
    )
    assert sizes is not None
    rows_read, good, known, aside, faulty = sizes
    added = good - known
    rows_added = added
    if not flat:
        found = first_row(con, statement("rows_added"))
        rows_added = found[0] if found else 0
    return {
        "rows_read": rows_read, "rows_added": rows_added,
        "rows_known": rows_read - rows_added - aside, "sets_added": added,
        "already_known": known + faulty - aside, "set_aside": aside,
    }  # fmt: skip


def _add(staged: Staged, counts: dict[str, int]) -> int:
    """Write the intake inside the open transaction."""
    con, plan = staged.con, staged.plan
    found = first_row(con, "SELECT coalesce(max(intake_id), 0) + 1 FROM intake")
    intake_id = int(found[0]) if found else 1
    _teach(con, plan)
    con.execute(statement(f"add_{plan.column_map.kind}"), {"intake_id": intake_id})
    if plan.column_map.kind == "sets":
        _add_details(staged)
    con.execute(statement("add_aside"), {"intake_id": intake_id})
    enter_names(con, [row[0] for row in con.execute(
        "SELECT any_value(text) FROM name_cell WHERE name_key IN "
        "(SELECT DISTINCT name_key FROM logged_set WHERE intake_id = $id) "
        "GROUP BY name_key", {"id": intake_id},
    ).fetchall()])  # fmt: skip
    con.execute(statement("add_intake"), {
        "intake_id": intake_id, "file": plan.path.name, "kind": plan.column_map.kind,
        "file_hash": plan.scanned.file_hash, "reading_hash": plan.column_map.digest(),
        "now": datetime.now(), "column_map": resolved(staged).to_toml(),
        "headers": json.dumps(plan.headers, ensure_ascii=False), **counts,
    })  # fmt: skip
    return intake_id


def _remember(con: duckdb.DuckDBPyConnection, plan: Plan) -> None:
    """Keep the confirmed layout, but not whose log it was."""
    settings = {k: v for k, v in plan.column_map.settings.items() if k != "lifter"}
    confirmed = replace(plan.column_map, settings=settings, names={})
    con.execute(
        "INSERT OR REPLACE INTO layout VALUES ($signature, $map, $now)",
        {"signature": plan.sheets[0][1].signature(), "map": confirmed.to_toml(),
         "now": datetime.now()},
    )  # fmt: skip


def _add_details(staged: Staged) -> None:
    """Store what few logs hold, for the new sets that have any of it."""
    filled = details(staged)
    several = len(staged.plan.sheets) > 1
    if not filled and not several:
        return
    value = {name: f"nullif(n.{name}, {DETAIL[name]})" for name in filled}
    columns = [f"{value[name]} AS {name}" for name in filled]
    columns += ["s.name AS source_sheet"] if several else []
    held = " OR ".join(f"{value[name]} IS NOT NULL" for name in filled)
    staged.con.execute(
        f"INSERT INTO set_detail BY NAME SELECT n.set_key, {', '.join(columns)} "
        "FROM numbered AS n JOIN sheet AS s ON s.sheet_no = n.row_no // 4294967296 "
        "ANTI JOIN known AS k ON k.set_key = n.set_key "
        f"WHERE {'true' if several else held}"
    )


def _teach(con: duckdb.DuckDBPyConnection, plan: Plan) -> None:
    """Names of the column map; they may not contradict what a person said before."""
    said = dict(con.execute(
        "SELECT name_key, variant FROM exercise_name WHERE decided_by = 'person'"
    ).fetchall())  # fmt: skip
    for text, variant in plan.column_map.names.items():
        before = said.get(normalise_name(text), variant)
        if before != variant:
            raise FileRefusedError(
                f"the column map names `{text}` {variant}, but it was named {before} "
                "before; change that with `lacertus name`, or the map"
            )
        teach(con, text, variant)


def _issues(con: duckdb.DuckDBPyConnection, plan: Plan) -> tuple[RowIssue, ...]:
    found = con.execute(
        "SELECT s.name, a.row_no % 4294967296, a.column_name, a.value, a.problem, "
        "a.accepted FROM still_aside AS a JOIN sheet AS s "
        "ON s.sheet_no = a.row_no // 4294967296 ORDER BY a.row_no "
        f"LIMIT {MOST_ISSUES}"
    ).fetchall()
    return tuple(
        RowIssue(file=_labelled(plan, sheet), row=row, column=column, value=value,
                 problem=problem, accepted=accepted)
        for sheet, row, column, value, problem, accepted in found
    )  # fmt: skip


def _check(name: str, value: str | None, accepted: Iterable[str]) -> None:
    if value is not None and value not in accepted:
        raise InputError(f"`{value}` is no {name}; use {', '.join(accepted)}")


def _taken_before(store: Store, plan: Plan) -> IntakeResult | None:
    """Answer for a file whose every byte was taken in the same way before."""
    with store.read() as con:
        found = first_row(
            con,
            "SELECT intake_id, rows_read, sets_added + already_known, rows_aside, "
            "(SELECT count(*) FROM aside_row AS a WHERE a.intake_id = i.intake_id "
            "AND mended_by IS NOT NULL) FROM intake AS i WHERE whole "
            "AND file_hash = $file AND reading_hash = $reading "
            "ORDER BY intake_id DESC LIMIT 1",
            {"file": plan.scanned.file_hash, "reading": plan.column_map.digest()},
        )
        if found is None:
            return None
        intake_id, rows_read, known, rows_aside, mended = found
        aside = con.execute(
            "SELECT source_sheet, source_row, column_name, value, problem, accepted "
            "FROM aside_row WHERE intake_id = $id AND mended_by IS NULL "
            "ORDER BY source_sheet, source_row "
            f"LIMIT {MOST_ISSUES}",
            {"id": intake_id},
        ).fetchall()
    return IntakeResult(
        file=plan.path.name, intake_id=intake_id, rows_read=rows_read, rows_added=0,
        rows_known=rows_read - rows_aside + mended, sets_added=0,
        already_known=known + mended, set_aside=rows_aside - mended,
        issues=tuple(
            RowIssue(file=_labelled(plan, sheet), row=row, column=column, value=value,
                     problem=problem, accepted=accepted)
            for sheet, row, column, value, problem, accepted in aside
        ),
        preview=pd.DataFrame(), column_map=plan.column_map,
        notes=(*plan.notes, f"the same file was taken in before as intake {intake_id}"),
    )  # fmt: skip


def _labelled(plan: Plan, sheet: str) -> str:
    return f"{plan.path.name}#{sheet}" if sheet else plan.path.name
