"""Strength over time as one table, or carried to one day."""

from collections.abc import Iterable
from datetime import date

import numpy as np
import pandas as pd

from analytics.strength.results import Z90, StrengthFit, carried

COLUMNS = ["lifter", "variant", "date", "strength_kg", "low_kg", "high_kg", "sets"]


def over_time(
    fits: Iterable[StrengthFit],
    *,
    lifter: str | None = None,
    variant: str | None = None,
    on: date | None = None,
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

    Returns
    -------
    table : DataFrame
        ``lifter, variant, date, strength_kg, low_kg, high_kg, sets``; ``variant``
        is the setup, strength is in the logged convention with 90 % intervals.
    """
    parts = []
    for fit in fits:
        trend = fit.trend
        if lifter is not None:
            trend = trend[trend["lifter"] == lifter]
        if variant is not None:
            trend = trend[trend["variant"] == variant]
        parts.append(trend if on is None else _on_day(fit, trend, on))
    table = pd.concat(parts) if parts else pd.DataFrame(columns=["setup", *COLUMNS])
    return (
        table.drop(columns="variant")
        .rename(columns={"setup": "variant"})[COLUMNS]
        .reset_index(drop=True)
    )


def _on_day(fit: StrengthFit, trend: pd.DataFrame, on: date) -> pd.DataFrame:
    rows = trend.sort_values("date").groupby(["lifter", "setup"], as_index=False).last()
    if rows.empty:
        return rows
    mean, sd = carried(fit, rows, on)
    # What the body adds to the logged load of this setup, 0 for most.
    body_kg = np.exp(rows["log_strength"]) - rows["strength_kg"]
    return rows.assign(
        date=pd.Timestamp(on).normalize(),
        strength_kg=np.exp(mean) - body_kg,
        low_kg=np.exp(mean - Z90 * sd) - body_kg,
        high_kg=np.exp(mean + Z90 * sd) - body_kg,
    )
