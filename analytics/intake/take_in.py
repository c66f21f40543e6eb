"""One file into the store: stage, read, check, compare, store; all or nothing."""

from __future__ import annotations

import threading
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path

import duckdb
import pandas as pd

from analytics.errors import FileRefusedError, InputError
from analytics.intake.checks import Judged, judge
from analytics.intake.column_map import OF_ONE_FILE, ColumnMap
from analytics.intake.dates import ORDERS
from analytics.intake.effort import effort_note, efforts_not_read
from analytics.intake.plan import Plan, slots
from analytics.intake.planning import make_plan
from analytics.intake.reading import read_values, resolved
from analytics.intake.results import IntakeResult, RowIssue
from analytics.intake.staging import Progress, stage
from analytics.intake.steps import statement
from analytics.labels import label_problem
from analytics.store import Store
from analytics.store.append import Batch, append
from analytics.store.engine import first_row, in_memory
from analytics.store.people import note
from analytics.tables import bounds
from analytics.units import KG_PER_UNIT

PREVIEW = 50
MOST_ISSUES = 1000
STEPS = 5
MANY_REJECTED = 0.1  # share of the rows from which it is said beside the counts
_UNREADABLE = (
    duckdb.DataError, duckdb.InvalidInputException, duckdb.OutOfMemoryException,
)  # fmt: skip


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
    fixes: tuple[int, ...] = (),
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
        Code for rows without one; of a lifter who asks, the own one without.
    unit : str, optional
        ``kg``, ``lb`` or ``stone`` for loads without one.
    dates : str, optional
        ``dmy``, ``mdy`` or ``iso``.
    trial : bool
        Count and check, but store nothing.
    on_progress : callable, optional
        Called with steps done and steps in all.

    fixes : tuple of int
        Keys of waiting rows whose place this file takes; see `fix_rejected`.

    Returns
    -------
    result : IntakeResult
        Counts and what was rejected.

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
    if lifter is not None and (problem := label_problem(lifter)):
        raise InputError(f"lifter {lifter!r} holds {problem}; give the code without it")
    path = Path(path)
    lifter = lifter or store.asking.own
    settings = {"lifter": lifter, "unit": unit, "dates": dates}
    report = on_progress or (lambda done, steps: None)
    plan = make_plan(store, path, column_map, settings)
    before = _taken_before(store, plan) if store.exists and not trial else None
    if before is not None:
        return before
    with in_memory() as con, _in_time(con):
        con.execute("SET memory_limit = $most", {"most": bounds.MEMORY})
        con.execute("SET max_temp_directory_size = $most", {"most": bounds.SPILL})
        report(1, STEPS)
        try:
            rows = stage(con, plan)
            report(2, STEPS)
            values = read_values(rows)
            report(3, STEPS)
            judged = judge(values)
        except duckdb.InterruptException as error:
            raise bounds.too_much(
                path.name, "not been read", bounds.MOST_SECONDS, " seconds"
            ) from error
        except _UNREADABLE as error:
            raise FileRefusedError(f"`{path.name}` cannot be read: {error}") from error
        report(4, STEPS)
        result = _stored(store, judged, fixes=fixes, trial=trial)
        report(STEPS, STEPS)
        return result


@contextmanager
def _in_time(con: duckdb.DuckDBPyConnection) -> Iterator[None]:
    """Stop what the connection does when the time for one file is over."""
    timer = threading.Timer(bounds.MOST_SECONDS, con.interrupt)
    timer.daemon = True
    timer.start()
    try:
        yield
    finally:
        timer.cancel()


def _stored(
    store: Store, judged: Judged, *, fixes: tuple[int, ...], trial: bool
) -> IntakeResult:
    """Hand sets and rejected rows to the store, in one transaction."""
    rows = judged.values.rows
    con, plan = rows.con, rows.plan
    batch = _batch(judged, fixes, store.asking.mark)
    with store.attached(con, read_only=trial):
        for (code,) in _lifters(con) if not store.asking.everything else ():
            store.asking.must_see(code)
        intake_id, counts = append(con, batch, trial=trial)
        if not trial:
            note(con, store.asking, "brought in", intake_id=intake_id)
        preview = con.execute(statement("preview"), {"most": PREVIEW}).df()
        issues = _issues(con, plan)
        unread: tuple[tuple[RowIssue, ...], dict[str, int]] = ((), {})
        if judged.efforts:
            unread = efforts_not_read(con, plan, most=MOST_ISSUES)
    warnings = _warnings(plan, counts)
    notes = (
        *warnings, effort_note(*unread), *plan.notes, *judged.notes,
        _read_otherwise(store, plan) if counts["sets_added"] else "",
    )  # fmt: skip
    return IntakeResult(
        file=plan.path.name, intake_id=intake_id, **counts, issues=issues,
        preview=preview, notes=tuple(filter(None, notes)), column_map=plan.column_map,
        efforts_not_read=unread[0], effort_words=unread[1],
        warnings=tuple(warnings),
    )  # fmt: skip


def _lifters(con: duckdb.DuckDBPyConnection) -> list[tuple[str]]:
    return con.execute(statement("lifters")).fetchall()


def _warnings(plan: Plan, counts: Mapping[str, int]) -> list[str]:
    """Say when there are more sets than rows, and when many rows are rejected."""
    read, rejected = counts["rows_read"], counts["rejected"]
    good = counts["rows_added"] + counts["rows_known"]
    sets = counts["sets_added"] + counts["already_known"]
    said = []
    if sets != good:
        columns = plan.column_map.columns
        why = (
            f"column `{columns['sets'][0]}` counts sets" if "sets" in columns
            else "sets stand side by side" if len(slots(plan)) > 1
            else "a cell can hold several sets"
        )  # fmt: skip
        said.append(f"{good:,} rows gave {sets:,} sets, because {why}")
    if rejected > MANY_REJECTED * read:
        said.append(
            f"{rejected:,} of {read:,} rows ({rejected / read:.0%}) are rejected; look "
            "at the reasons first, since most often one column is read wrongly"
        )
    return said


def _batch(judged: Judged, fixes: tuple[int, ...], mark: str) -> Batch:
    rows = judged.values.rows
    plan, given = rows.plan, rows.plan.column_map
    # The layout is kept, but not what was said of this one file.
    settings = {
        name: given.settings[name] for name in given.settings if name not in OF_ONE_FILE
    }
    if given.settings.get("keep_lifter") and "lifter" in given.settings:
        settings["lifter"] = given.settings["lifter"]
    layout = replace(given, settings=settings, names={}).to_toml()
    return Batch(
        file=plan.path.name, file_hash=plan.scanned.file_hash, kind=given.kind,
        reading_hash=given.digest(), column_map=resolved(judged.values).to_toml(),
        headers=plan.headers, filled=judged.values.filled, flat=rows.flat,
        sheets=len(plan.sheets), names=given.names, where=given.where,
        layout=(mark + plan.sheets[0][1].signature(), layout), fixes=fixes,
    )  # fmt: skip


def _issues(con: duckdb.DuckDBPyConnection, plan: Plan) -> tuple[RowIssue, ...]:
    found = con.execute(statement("issues"), {"most": MOST_ISSUES}).fetchall()
    return tuple(
        RowIssue(file=plan.named(sheet), row=row, column=column, value=value,
                 problem=problem, accepted=accepted)
        for sheet, row, column, value, problem, accepted in found
    )  # fmt: skip


def _check(name: str, value: str | None, accepted: Iterable[str]) -> None:
    if value is not None and value not in accepted:
        raise InputError(f"`{value}` is no {name}; use {', '.join(accepted)}")


def _read_otherwise(store: Store, plan: Plan) -> str:
    """Say that a file was stored before, read in another way."""
    if not store.exists:
        return ""
    with store.read() as con:
        found = first_row(
            con,
            statement("read_otherwise"),
            {"file": plan.scanned.file_hash, "reading": plan.column_map.digest()},
        )
    if not found or found[0] is None:
        return ""
    return (
        f"the same file was taken in as import {found[0]}, read otherwise; a set that "
        f"is read otherwise is another set, so undo import {found[0]} first"
    )


def _taken_before(store: Store, plan: Plan) -> IntakeResult | None:
    """Answer for a file whose every byte was taken in the same way before."""
    with store.read() as con:
        found = first_row(
            con,
            statement("taken_before"),
            {"file": plan.scanned.file_hash, "reading": plan.column_map.digest()},
        )
        if found is None:
            return None
        intake_id, rows_read, known, rows_rejected, fixed = found
        rejected = con.execute(
            statement("issues_before"), {"id": intake_id, "most": MOST_ISSUES}
        ).fetchall()
    return IntakeResult(
        file=plan.path.name, intake_id=intake_id, rows_read=rows_read, rows_added=0,
        rows_known=rows_read - rows_rejected + fixed, sets_added=0,
        already_known=known + fixed, rejected=rows_rejected - fixed,
        issues=tuple(
            RowIssue(file=plan.named(sheet), row=row, column=column, value=value,
                     problem=problem, accepted=accepted)
            for sheet, row, column, value, problem, accepted in rejected
        ),
        preview=pd.DataFrame(), column_map=plan.column_map,
        notes=(*plan.notes, f"the same file was taken in before as import {intake_id}"),
    )  # fmt: skip
