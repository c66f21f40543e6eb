"""Sets typed by hand, checked and stored like a file of their own."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

from analytics.errors import InputError
from analytics.intake.column_map import ColumnMap
from analytics.intake.results import IntakeResult
from analytics.intake.take_in import take_in
from analytics.outgoing import exact_csv_text
from analytics.store import Store
from analytics.store.private import scratch_folder

FIELDS = (
    "exercise", "load", "reps", "rir", "failed", "failed_at_deg", "hold_s", "pain",
    "note",
)  # fmt: skip
MOST_SETS = 50


def take_in_by_hand(
    store: Store,
    lifter: str,
    performed_on: date,
    said: Mapping[str, object],
    *,
    sets: int = 1,
) -> IntakeResult:
    """Store equal sets that a person types, beside equal ones typed before.

    Parameters
    ----------
    store : Store
        The store.
    lifter : str
        Code.
    performed_on : date
        Day.
    said : mapping of str to object
        Some of `FIELDS`, as a cell of a log has them: ``load`` with its unit, such as
        ``22.5 kg``. None is an empty cell.
    sets : int
        How many of them, 1 to 50.

    Returns
    -------
    result : IntakeResult
        Of the import.

    Raises
    ------
    InputError
        If a value would be rejected in a file, with what is accepted; nothing is
        stored.
    """
    if not 1 <= sets <= MOST_SETS:
        raise InputError(f"`sets` must be 1 to {MOST_SETS}, got {sets}")
    if unknown := [name for name in said if name not in FIELDS]:
        raise InputError(f"no field `{unknown[0]}`; there are {', '.join(FIELDS)}")
    given = {name: value for name, value in said.items() if value not in (None, "")}
    row = {"lifter": lifter, "performed_on": performed_on.isoformat(), **given}
    names = list(row)
    cells = ["yes" if cell is True else str(cell) for cell in row.values()]
    column_map = ColumnMap(columns={name: (name,) for name in names})
    with scratch_folder() as folder:
        path = folder / f"by hand, {performed_on.isoformat()}.csv"
        known = 0
        while True:
            # Equal sets of a day are told apart by their number in the file, so those
            # that are known stand before the new ones.
            text = exact_csv_text(names, [cells] * (known + sets))
            path.write_text(text, "utf-8", newline="")
            tried = take_in(store, path, column_map=column_map, trial=True)
            for issue in (*tried.issues, *tried.efforts_not_read):
                raise InputError(
                    f"{issue.column} `{issue.value}`: {issue.problem}; accepted is "
                    f"{issue.accepted}"
                )
            if tried.sets_added == sets:
                return take_in(store, path, column_map=column_map)
            known += sets - tried.sets_added
