"""One lifter at a glance: every lift as it stands now, and the last session."""

from collections.abc import Iterable

import pandas as pd

from analytics.strength import StrengthFit, gain_words

LIFTS = [
    *("movement", "setup", "strength_kg", "low_kg", "high_kg"),
    *("trend", "last_on", "sets", "basis"),
]
SESSION = ["setup", "sets", "load_kg", "reps", "rir", "rir_half", "performed_on"]


def lifts(fits: Iterable[StrengthFit], lifter: str) -> pd.DataFrame:
    """Latest 1RM and trend of every lift of one lifter.

    Parameters
    ----------
    fits : iterable of StrengthFit
        One per movement.
    lifter : str
        Code.

    Returns
    -------
    lifts : DataFrame
        One row per setup, those with most sets first: ``movement, setup,
        strength_kg, low_kg, high_kg, trend, last_on, sets, basis``; ``trend`` is
        words.
    """
    parts = []
    for fit in fits:
        mine = fit.trend[fit.trend["lifter"] == lifter].sort_values("date")
        if mine.empty:
            continue
        last = mine.groupby("setup").last().rename(columns={"date": "last_on"})
        last["sets"] = mine.groupby("setup")["sets"].sum()
        gains = fit.slopes[fit.slopes["lifter"] == lifter].set_index("setup")
        said = gains.apply(gain_words, axis=1) if len(gains) else pd.Series(dtype=str)
        last["trend"] = said.reindex(last.index).fillna(gain_words(None))
        parts.append(last.reset_index().assign(movement=fit.movement))
    if not parts:
        return pd.DataFrame(columns=LIFTS)
    rows = pd.concat(parts).sort_values("sets", ascending=False, kind="stable")
    return rows[LIFTS].reset_index(drop=True)


def last_session(
    fits: Iterable[StrengthFit], sets: pd.DataFrame, lifter: str
) -> pd.DataFrame:
    """Return the last logged day of one lifter, the best set of each exercise.

    Parameters
    ----------
    fits : iterable of StrengthFit
        One per movement.
    sets : DataFrame
        Stored sets of all movements.
    lifter : str
        Code.

    Returns
    -------
    session : DataFrame
        One row per setup in the order done: ``setup, sets`` (how many that day),
        ``load_kg, reps, rir, rir_half`` of the heaviest set, the one with most
        repetitions among equals, and ``performed_on``.
    """
    own = sets[(sets["lifter"] == lifter) & (sets["movement"] != "")]
    day = own[own["performed_on"] == own["performed_on"].max()]
    setups = pd.concat(
        [fit.set_points.set_index("set_id")["setup"] for fit in fits]
        or [pd.Series(dtype=str)]
    )
    day = day.assign(setup=day["set_id"].map(setups).fillna(day["variant"]))
    order = day["setup"].drop_duplicates()
    # One whole set: `last` of a group would fill its gaps from another.
    best = day.sort_values(["load_kg", "reps"]).drop_duplicates("setup", keep="last")
    best = (
        best.set_index("setup").assign(sets=day.groupby("setup").size()).reindex(order)
    )
    return best.reset_index()[SESSION]
