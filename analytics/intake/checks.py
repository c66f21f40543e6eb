"""Judging values: what is wrong with each row, and which sets the others are."""

from __future__ import annotations

from dataclasses import dataclass

from analytics.intake.effort import EFFORTS
from analytics.intake.faults import word_faults
from analytics.intake.plan import SHEET_STEP
from analytics.intake.steps import Values, statement
from analytics.store.engine import first_row

FAR_APART, MANY = 20, 5  # that many equal sets that many rows apart look pasted


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Judged:
    """Relations ``typed`` (all rows), ``rejected`` and ``numbered`` (sets, with keys).

    Attributes
    ----------
    values : Values
        What was judged.
    notes : tuple of str
        Sentences so far.
    efforts : bool
        There is ``effort_unread``, with efforts that cost no set.
    """

    values: Values
    notes: tuple[str, ...]
    efforts: bool


def judge(values: Values) -> Judged:
    """Type every cell, find what is wrong, and give what is right its identity.

    Parameters
    ----------
    values : Values
        Cells that were read.

    Returns
    -------
    judged : Judged
        Sets and rejected rows.
    """
    con, plan = values.rows.con, values.rows.plan
    kind = plan.column_map.kind
    params = dict(values.params)
    if kind == "bodies":
        con.execute(statement("metres"))
    else:
        params["filled"] = values.filled
    con.execute(statement(f"typed_{kind}"), params)
    con.execute(statement("bad_rows"))
    efforts = bool(values.rows.mapped & set(EFFORTS)) and kind == "sets"
    if efforts:
        limits = {name: params[name] for name in ("low", "high")}
        con.execute(statement("effort_unread"), limits)
    word_faults(con, plan)
    # The cells are not needed any more, and are half of the memory of a long log.
    con.execute("DROP VIEW valued; DROP TABLE IF EXISTS plain_row")
    notes = values.notes
    if kind == "sets":
        con.execute(statement("repeats"))
        notes += _repeated(values)
    con.execute(statement(f"numbered_{kind}"))
    return Judged(values=values, notes=notes, efforts=efforts)


def _repeated(values: Values) -> tuple[str, ...]:
    """Say when a stretch of rows stands in the file twice; its sets do count."""
    found = first_row(
        values.rows.con,
        statement("far_repeats"),
        {"far": FAR_APART},
    )
    if not found or found[0] < MANY:
        return ()
    first, last = (row % SHEET_STEP for row in found[1:])
    return (
        f"{found[0]} sets in rows {first} to {last} equal sets of the same days "
        f"more than {FAR_APART} rows before; they count, so if rows were pasted "
        "twice, undo this import and fix the file",
    )
