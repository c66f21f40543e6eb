"""Strength as it is shown: a series with its sets, everyone's latest, their spread."""

from dataclasses import replace

import numpy as np
import pandas as pd

from analytics.store.reserve import reserve_text
from analytics.strength.model.relation import log_gain
from analytics.strength.model.results import StrengthFit, strength_kg


def trend_for(
    fit: StrengthFit, trend: pd.DataFrame, *, reps: float = 1
) -> pd.DataFrame:
    """Rows of the trend as loads that can be lifted a number of times.

    Parameters
    ----------
    fit : StrengthFit
        Whose trend it is.
    trend : DataFrame
        Rows of ``fit.trend``.
    reps : float
        Repetitions the strength is for. [1]

    Returns
    -------
    trend : DataFrame
        The same with ``reps`` and strength for them.
    """
    loads = fit.loads.merge(trend[["lifter", "setup"]].drop_duplicates())
    kg = strength_kg(replace(fit, loads=loads), trend, reps=reps) if reps != 1 else {}
    return trend.assign(reps=reps, **kg)


def one_series(
    fit: StrengthFit, lifter: str, setup: str, *, reps: float = 1
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Strength over time of one lifter in one setup, and the sets behind it.

    Parameters
    ----------
    fit : StrengthFit
        That knows both.
    lifter, setup : str
        Whose, and in what.
    reps : float
        Repetitions both are for. [1]

    Returns
    -------
    trend : DataFrame
        Of :func:`trend_for`, oldest first.
    points : DataFrame
        Rows of ``fit.set_points``, oldest first, ``implied_kg, expected_kg`` for as
        many repetitions.
    """
    trend, points, relation = (
        rows[(rows["lifter"] == lifter) & (rows["setup"] == setup)]
        for rows in (fit.trend, fit.set_points, fit.relation)
    )
    known = relation.iloc[0]
    share = np.exp(-log_gain(reps, known["ln_k"], known["shape"]))
    body_kg = points["date"].map(trend.set_index("date")["body_kg"])
    for name in ("implied_kg", "expected_kg"):
        points = points.assign(**{name: (points[name] + body_kg) * share - body_kg})
    trend = trend_for(fit, trend, reps=reps)
    return trend.sort_values("date"), points.sort_values("date")


def beside_sets(points: pd.DataFrame, sets: pd.DataFrame) -> pd.DataFrame:
    """Put beside the sets behind a strength how they were logged.

    Parameters
    ----------
    points : DataFrame
        Of :func:`one_series`.
    sets : DataFrame
        Stored sets, these among them.

    Returns
    -------
    points : DataFrame
        The same with ``load_kg`` and ``done``: repetitions and effort in words, such
        as ``10, 2 in reserve``.
    """
    logged = sets.set_index("set_id").loc[points["set_id"]]
    failed = logged["failed"].astype("boolean").fillna(False).to_numpy(bool)
    columns = (logged[name] for name in ("reps", "hold_s", "rir", "rir_half"))
    rows = zip(*columns, failed, strict=True)
    return points.assign(
        load_kg=logged["load_kg"].to_numpy(), done=[_done(*row) for row in rows]
    )


def _done(reps: float, hold_s: float, rir: float, half: float, failed: bool) -> str:
    much = f"{hold_s:g} s held" if pd.notna(hold_s) else f"{reps:g}"
    if failed:
        return f"{much}, to failure"
    return much if pd.isna(rir) else f"{much}, {reserve_text(rir, half)} in reserve"


def latest(trend: pd.DataFrame) -> pd.DataFrame:
    """Last row of each lifter.

    Parameters
    ----------
    trend : DataFrame
        ``lifter, date`` and any others, of one setup.

    Returns
    -------
    rows : DataFrame
        One a lifter.
    """
    return trend.sort_values("date").groupby("lifter", as_index=False).last()


def spread(rows: pd.DataFrame, *, bins: int = 30) -> pd.DataFrame:
    """How many lifters have which strength.

    Parameters
    ----------
    rows : DataFrame
        ``strength_kg``, one row a lifter.
    bins : int
        How many steps of strength.

    Returns
    -------
    counts : DataFrame
        ``from_kg, to_kg, lifters``.
    """
    counts, edges = np.histogram(rows["strength_kg"], bins=bins)
    columns = {"from_kg": edges[:-1], "to_kg": edges[1:], "lifters": counts}
    return pd.DataFrame(columns)
