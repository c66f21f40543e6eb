"""What each failed check means in words, and where in the file it stands."""

from __future__ import annotations

import duckdb

from analytics.intake.plan import Plan, Slot, slots
from analytics.intake.steps import statement
from analytics.store.engine import first_row
from analytics.store.fields import FIELDS as REGISTRY

_NEEDED = {
    "lifter": "a code for the lifter",
    "performed_on": "the date of the set",
    "measured_on": "the date of measuring",
    "exercise": "the name of the exercise",
    "load": "a load; BW for body mass only, 0 for none",
    "reps": "repetitions done, or seconds held",
    "body_mass": "at least one measurement",
}
_SPECIAL = {
    "load:negative": ("load", "a negative load",
                      "0 or more; BW-20 for help with body mass"),
    "day:unread": ("day", "not a number of days", "whole days since day_zero"),
    "day:range": ("day", "a day in the future or too long ago",
                  "days since day_zero, up to today"),
    "failed:contradiction": ("failed", "failed here and not there, or failed with "
                             "repetitions left in reserve",
                             "failed with RIR 0 or none, or not failed"),
    "rpe:contradiction": ("rpe", "RPE and RIR contradict each other",
                          "RPE = 10 - RIR, or one of the two"),
    "range_to_deg:contradiction": ("range_to_deg", "a range that ends before it begins",
                                   "a last angle above the first"),
    "sets:unfold": ("sets", "", ""),
    "row:surplus": ("row", "", "one cell for each header; quote a cell that holds "
                    "the delimiter"),
}  # fmt: skip
# Where to look for a field that has no column of its own.
_ELSEWHERE = {
    "performed_on": ("day",),
    "sets": ("shorthand", "reps", "load"),
    "reps": ("shorthand", "sets", "hold_s", "load"),
    "load": ("shorthand", "sets", "reps"),
    **dict.fromkeys(("rir", "rpe", "failed"), ("shorthand", "sets", "reps", "load")),
}


def place(slot: Slot, field: str) -> str | None:
    """Field whose column of the file holds another's cells.

    Parameters
    ----------
    slot : Slot
        Set of a row.
    field : str
        For example ``rir``, which shorthand may hold.

    Returns
    -------
    place : str or None
        None if no column does.
    """
    return next(
        (f for f in (field, *_ELSEWHERE.get(field, ())) if f in slot.headers), None
    )


def _words() -> list[tuple[str, str, str, str]]:
    """Fault, field, problem and what is accepted; the cell's own words where empty."""
    rows = [(f"{field}:missing", field, "nothing in it", needed)
            for field, needed in _NEEDED.items()]  # fmt: skip
    for name, field in REGISTRY.items():
        if most := field.letters:
            told = f"longer than {most} letters", f"at most {most}"
            rows.append((f"{name}:long", name, *told))
        if field.limits:
            rows.append((f"{name}:range", name, "impossible", field.accepted))
        if f"{name}:unread" not in _SPECIAL:
            rows.append((f"{name}:unread", name, "", ""))
    return rows + [(fault, *words) for fault, words in _SPECIAL.items()]


def word_faults(con: duckdb.DuckDBPyConnection, plan: Plan) -> None:
    """Make ``rejected`` from the rows in ``bad_row``.

    Parameters
    ----------
    con : DuckDBPyConnection
        After the checks.
    plan : Plan
        File.
    """
    if first_row(con, "SELECT 1 FROM bad_row LIMIT 1") is None:
        con.execute(statement("nothing_rejected"))
        return
    con.execute(statement("fault_word"))
    con.executemany("INSERT INTO fault_word VALUES (?, ?, ?, ?)", _words())
    con.execute(statement("field_header"))
    headers = plan.headers
    rows = []
    for number, slot in enumerate(slots(plan)):
        for field in REGISTRY:
            if at := place(slot, field):
                header = slot.headers[at]
                rows.append((field, number, header, headers.index(header) + 1))
    con.executemany("INSERT INTO field_header VALUES (?, ?, ?, ?)", rows)
    cells = ", ".join(f"c{number}" for number in range(len(headers)))
    con.execute(
        f"CREATE TEMP TABLE row_cells AS SELECT row_no, [{cells}] AS cells "
        "FROM cell_row WHERE row_no IN (SELECT row_no FROM bad_row)"
    )
    con.execute(statement("bad_entry"))
    con.execute(statement("rejected"))
