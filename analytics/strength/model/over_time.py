"""Strength over time as one table, or carried to one day."""

from collections.abc import Iterable
from datetime import date

import pandas as pd
from numpy.typing import ArrayLike

from analytics.strength.model.results import StrengthFit, carried, strength_kg

COLUMNS = [
    *("lifter", "variant", "date", "reps", "strength_kg", "low_kg", "high_kg"),
    *("sets", "basis"),
]


def over_time(
    fits: Iterable[StrengthFit],
    *,
    lifter: str | None = None,
    variant: str | None = None,
    on: date | None = None,
    reps: ArrayLike = 1,
) -> pd.DataFrame:
    """Strength of every lifter and setup, day by day or on one day.

    Parameters
    ----------
    fits : iterable of StrengthFit
        One per movement.
    lifter, variant : str, optional
        Only these.
    on : date, optional
        One day; after the last session the state is carried forward.
    reps : array_like, broadcastable to the rows
        Repetitions the strength is for, 1 to 30. [1]

    Returns
    -------
    table : DataFrame
        ``lifter, variant, date, reps, strength_kg, low_kg, high_kg, sets, basis``;
        ``variant`` is the setup, strength is in the logged convention with 90 %
        intervals; ``basis`` as in the fit's ``trend``.
    """
    parts = []
    for fit in fits:
        trend = fit.trend
        if lifter is not None:
            trend = trend[trend["lifter"] == lifter]
        if variant is not None:
            trend = trend[trend["variant"] == variant]
        state = trend if on is None else _on_day(fit, trend, on)
        kg = strength_kg(fit, state, reps=reps)
        parts.append(state.assign(reps=reps, **kg))
    table = pd.concat(parts) if parts else pd.DataFrame(columns=["setup", *COLUMNS])
    return (
        table.drop(columns="variant", errors="ignore")
        .rename(columns={"setup": "variant"})[COLUMNS]
        .reset_index(drop=True)
    )


def _on_day(fit: StrengthFit, trend: pd.DataFrame, on: date) -> pd.DataFrame:
    pair = ["lifter", "setup"]
    rows = trend.sort_values("date").groupby(pair, as_index=False).tail(1)
    rows = rows.reset_index(drop=True).assign(date=pd.Timestamp(on).normalize())
    return rows.assign(**carried(fit, rows, on).drop(columns=pair))
