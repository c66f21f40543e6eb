"""Telling a column that numbers the sets from one that counts them.

A set number read as a count would multiply the sets, and a count read as a number
would lose them; so what the whole column shows decides, and a person where it does not.
"""

from __future__ import annotations

from dataclasses import replace

from analytics.errors import FileRefusedError
from analytics.intake.plan import SHEET_STEP
from analytics.intake.staging import entries
from analytics.intake.steps import Rows, statement
from analytics.store.engine import first_row

NEARLY_ALL = 0.9
BOTH = ("sets", "set_no")


def settle_set_numbers(rows: Rows) -> Rows:
    """Find whether the one column of `BOTH` numbers the sets.

    Parameters
    ----------
    rows : Rows
        Cells, with the macro ``plain``.

    Returns
    -------
    rows : Rows
        With the column under the field it is.

    Raises
    ------
    FileRefusedError
        If a person has to say, or said what the column contradicts.
    """
    columns = rows.columns
    (field,) = [f for f in BOTH if f in columns] if _one(rows) else [""]
    if not field or (field == "set_no" and not rows.plan.suggested):
        return rows
    seen, shown = _seen(rows, field)
    where = f"{rows.file} column {rows.header(field)}{shown}"
    header = columns[field][0]
    if seen == "either" and rows.plan.suggested:
        raise FileRefusedError(
            f"{where}, which can be the numbers of sets or counts of them; say "
            f'which with `set_no = "{header}"` or `sets = "{header}"` under [columns]'
        )
    if field == "sets" and seen == "number" and not rows.plan.suggested:
        raise FileRefusedError(
            f"{where}, so it numbers the sets and does not count them; map it as "
            f'`set_no = "{header}"` in place of `sets` under [columns]; if it does '
            "count, write one row per set"
        )
    meant = {"number": "set_no", "count": "sets"}.get(seen, field)
    if meant == field:
        return rows
    moved = {(meant if f == field else f): names for f, names in columns.items()}
    column_map = replace(rows.plan.column_map, columns=moved)
    return entries(rows.con, replace(rows.plan, column_map=column_map))


def set_number_note(rows: Rows) -> str:
    """Say that a column is not read as a count.

    Parameters
    ----------
    rows : Rows
        Settled.

    Returns
    -------
    note : str
        Empty without such a column.
    """
    if "set_no" not in rows.columns:
        return ""
    seen, shown = _seen(rows, "set_no")
    return (
        f"column {rows.header('set_no')}{shown}: taken as the number of each set, so "
        "every row is one set"
        + ("; if it counts sets, map it as `sets`" if seen == "either" else "")
    )


def _one(rows: Rows) -> bool:
    found = [f for f in BOTH if f in rows.columns]
    return len(found) == 1 and not rows.bodies and len(rows.columns[found[0]]) == 1


def _seen(rows: Rows, field: str) -> tuple[str, str]:
    """Tell ``number``, ``count``, ``either`` or nothing, and what shows it."""
    day = "coalesce(performed_on, day)"
    down = ", ".join(
        f"last_value({it} IGNORE NULLS) OVER (ORDER BY row_no) AS {name}"
        for it, name in (("lifter", "lifter"), (day, "day"), ("exercise", "exercise"))
    )
    rows.con.execute(
        "CREATE OR REPLACE TEMP VIEW counted AS SELECT * FROM (SELECT DISTINCT row_no, "
        f"{down}, equipment, side, plain({field}) AS value FROM entry) "
        "WHERE value IS NOT NULL"
    )
    found = first_row(rows.con, statement("counting")) or (0,) * 7
    several, counting, longest, valued, fitting, first, values = found
    if not valued:
        return "", ""
    shown = f" says {values} from row {first % SHEET_STEP} on" if counting else ""
    if counting >= max(NEARLY_ALL * several, 1) and fitting >= NEARLY_ALL * valued:
        return ("number" if counting > 1 or longest > 2 else "either"), shown
    ones = first_row(rows.con, "SELECT bool_and(value = 1) FROM counted") or (True,)
    if field == "set_no" and not ones[0]:
        return "either", _not_counting(rows)
    return ("" if field == "set_no" else "count"), ""


def _not_counting(rows: Rows) -> str:
    row, value = first_row(rows.con, statement("not_counting")) or (0, 0)
    return f" says {value:g} in row {row % SHEET_STEP} and does not count on"
