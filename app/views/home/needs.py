"""What stands on the first page: one lifter at a glance, or who needs attention."""

from collections.abc import Sequence

import pandas as pd

from analytics import advice
from analytics import store as stored
from analytics.charts import sparkline
from analytics.store.reserve import reserve_told
from analytics.strength import StrengthFit, one_series
from app.figure import counted
from app.fits import absent_until, every, every_key, session_loads
from app.state import Choice, cached, in_words, read, stamp

TRENDS = {  # beginnings of the words of a trend, and how several are told
    "still gaining": "still gaining",
    "no gain": "without gain",
    "doubtful": "doubtful",
    "cannot": "with no trend to be told yet",
}


def attention(choice: Choice) -> pd.DataFrame:
    """Return all lifters in all movements, who needs attention first."""
    found, sets = every(choice), read(stored.sets_and_pains)

    def make() -> pd.DataFrame:
        rows = advice.attention(found, sets, on=absent_until())
        rows = advice.flag_notes(rows, read(stored.pain_in_notes))
        return rows.round(dict.fromkeys(["change_4w", "change_8w"], 3))

    return cached("attention", (stamp(), *every_key(choice), absent_until()), make)


def lifts(choice: Choice, found: Sequence[StrengthFit]) -> pd.DataFrame:
    """Return every lift of the lifter with a picture of how it went."""

    def make() -> pd.DataFrame:
        rows = advice.lifts(found, choice.lifter)
        trends = {
            setup: rows
            for fit in found
            for (lifter, setup), rows in fit.trend.groupby(["lifter", "setup"])
            if lifter == choice.lifter
        }
        course = [
            sparkline.trend(trends[setup].sort_values("date"))
            for setup in rows["setup"]
        ]
        return rows.assign(course=course)

    return cached("lifts", (stamp(), *every_key(choice)), make)


def lifts_sentence(lifter: str, rows: pd.DataFrame) -> str:
    """Say how many lifts still gain, and of how many that cannot be told."""
    said = [
        f"{number} {words}"
        for start, words in TRENDS.items()
        if (number := int(rows["trend"].str.startswith(start).sum()))
    ]
    return f"{lifter}, {counted(len(rows), 'lift')}: {', '.join(said)}"


def alerts(choice: Choice, found: Sequence[StrengthFit]) -> list[str]:
    """Return what of the lifter needs attention, exercises by their titles."""
    # Absence is counted to the last day anybody logged, which is no secret of anyone.
    until = absent_until() or read(stored.lifters)["last_on"].max()

    def make() -> list[str]:
        return advice.alerts(found, _sets(choice), choice.lifter, on=until)

    flags = cached("alerts", (stamp(), *every_key(choice), until), make)
    return [in_words(flag) for flag in flags]


def last_session(choice: Choice, found: Sequence[StrengthFit]) -> pd.DataFrame:
    """Return the best set of each exercise of the last logged day."""
    session = advice.last_session(found, _sets(choice), choice.lifter)
    return session.assign(rir=reserve_told(session)).drop(columns="rir_half")


def session_sentence(rows: pd.DataFrame) -> str:
    """Say when the last session was, and how large."""
    return (
        f"Last session on {rows['performed_on'].max():%Y-%m-%d}: "
        f"{counted(len(rows), 'exercise')}, {counted(rows['sets'].sum(), 'set')}."
    )


def next_loads(
    choice: Choice, found: Sequence[StrengthFit], session: pd.DataFrame
) -> pd.DataFrame:
    """Return the next loads of the exercises of the last session."""
    fits = {setup: fit for fit in found for setup in fit.setups["setup"]}
    exercises = {name: fits[name] for name in session["setup"] if name in fits}
    return session_loads(choice, exercises, reps=advice.REPS, rir=advice.RIR)


def main_series(
    choice: Choice, found: Sequence[StrengthFit], rows: pd.DataFrame
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Return trend and sets of the lift done most, in the chosen movement if any."""
    of_choice = rows[rows["movement"] == choice.movement]
    first = (of_choice if len(of_choice) else rows).iloc[0]
    fit = next(fit for fit in found if fit.movement == first["movement"])
    return one_series(fit, choice.lifter, first["setup"])


def _sets(choice: Choice) -> pd.DataFrame:
    return read(stored.sets_and_pains, lifter=choice.lifter)
