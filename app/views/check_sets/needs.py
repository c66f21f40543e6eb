"""What the page of doubtful sets asks of the store."""

from datetime import date

import pandas as pd

from analytics import store as stored
from app.correcting import COLUMNS, rows_of
from app.figure import counted
from app.state import Choice, read, store

DOUBTFUL = "doubtful"


def doubtful(choice: Choice) -> pd.DataFrame:
    """Return sets that look like a slip, of everyone or of the chosen lifter."""
    return _of(read(stored.doubtful_sets), choice)


def exercises(choice: Choice) -> dict[str, str]:
    """Return exercise names by how many sets each has, for the choice of sets."""
    count = _logged(choice)["exercise"].value_counts()
    return {name: f"{name}, {counted(sets, 'set')}" for name, sets in count.items()}


def rows(choice: Choice, which: str) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Return sets to be corrected, newest first, and what is read only beside them."""
    logged = _logged(choice)
    if which == DOUBTFUL:
        found = doubtful(choice).set_index("set_id")
        logged = logged[logged["set_id"].isin(found.index)]
        about = found[["lifter", "doubt"]]
    else:
        logged = logged[logged["exercise"] == which]
        about = logged.set_index("set_id")[["lifter"]]
    table = rows_of(logged.iloc[::-1])
    return table, about.loc[table.index]


def mend(set_id: str, load_kg: float) -> str:
    """Move the decimal sign of one load; what it was stays in its history."""
    stored.edit_set(store(), set_id, load_kg=load_kg)
    return f"The load is {load_kg:.4g} kg now."


def right(set_id: str, doubt: str) -> str:
    """Say that a set is right that looks like a slip."""
    stored.accept_set(store(), set_id, doubt)
    return "Kept as logged; not asked about again until it changes."


def pains(choice: Choice) -> pd.DataFrame:
    """Return notes that speak of pain and wait for a word, newest first."""
    return read(stored.pain_in_notes, lifter=choice.lifter)


def accept(set_id: str, size: float) -> str:
    """Mark one set with the pain its note speaks of."""
    stored.edit_set(store(), set_id, pain=size)
    return f"Marked as pain {size:g} of 10: no load is suggested while it is recent."


def dismiss(set_id: str) -> str:
    """Say that a note speaks of no pain of the lifter."""
    stored.edit_set(store(), set_id, pain=0.0)
    return "Marked as no pain; the note is not asked about again."


def standing_pains(choice: Choice) -> pd.DataFrame:
    """Return lifters with pain that stops loads: how much at most, and last when."""
    sore = _of(read(stored.sets_and_pains), choice)
    sore = sore[sore["pain"] > 0]
    return (
        sore.groupby("lifter")
        .agg(pain=("pain", "max"), last_on=("performed_on", "max"))
        .reset_index()
    )


def over(choice: Choice) -> dict[str, date]:
    """Return lifters whose pain a person said is over, and until when it was."""
    ended = read(stored.ended_pains)
    wanted = [choice.lifter] if choice.lifter else list(ended)
    return {lifter: ended[lifter] for lifter in wanted if lifter in ended}


def end(lifter: str, until: date | None) -> str:
    """Say that a lifter's pain is over, or take that back."""
    stored.end_pain(store(), lifter, until)
    if until is None:
        return f"{lifter}: the pain counts again."
    return f"{lifter}: pain up to {until} is over and stops no load any more."


def _logged(choice: Choice) -> pd.DataFrame:
    rows = read(stored.logged_kg, lifter=choice.lifter)
    text = [name for name in COLUMNS if rows[name].dtype == object]
    return rows.fillna(dict.fromkeys([n for n in text if n == "note"], ""))


def _of(rows: pd.DataFrame, choice: Choice) -> pd.DataFrame:
    return rows if choice.lifter is None else rows[rows["lifter"] == choice.lifter]
