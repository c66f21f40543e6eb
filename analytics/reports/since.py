"""What changed since a day: every lift then and now, and the work between."""

from datetime import date

import numpy as np
import pandas as pd

from analytics.intervals import Z90
from analytics.strength import StrengthFit

DAYS_BEFORE = 21  # a strength of longer ago is not that of the day
DAYS_OFF = 4  # from four or eight weeks, for the fit's own change over them
CHANGES = ["change_kg", "change_low_kg", "change_high_kg"]


def lifts_since(fit: StrengthFit, lifter: str, since: date) -> pd.DataFrame:
    """Latest strength of every lift of one lifter, and how it differs from a day's.

    Parameters
    ----------
    fit : StrengthFit
        Of one movement, as the lifter may see it.
    lifter : str
        Code.
    since : date
        The day compared with.

    Returns
    -------
    lifts : DataFrame
        One row per setup, the most logged first: ``setup, sets, strength_kg, low_kg,
        high_kg, change_kg, change_low_kg, change_high_kg, said``. Changes are NaN
        where nothing was done in the three weeks up to that day, or since.

    Notes
    -----
    Where the day lies four or eight weeks before the lift's last, within days, the
    change is the fit's own. Elsewhere the two strengths are taken as estimated apart;
    they share sets, so that interval is too wide and a change is said too seldom.
    """
    mine = fit.trend[fit.trend["lifter"] == lifter].sort_values("date")
    day = pd.Timestamp(since)
    near = mine["date"].between(day - pd.Timedelta(days=DAYS_BEFORE), day)
    then = mine[near].groupby("setup").last()
    now = mine.groupby("setup").last()
    now["first_on"] = mine.groupby("setup")["date"].min()
    now["sets"] = mine.groupby("setup")["sets"].sum()
    then = then.reindex(now.index)
    half = np.hypot(*(Z90 * _sd_kg(rows) for rows in (now, then)))
    change = (now["strength_kg"] - then["strength_kg"]).where(now["date"] > day)
    table = now.assign(
        **dict(zip(CHANGES, (change, change - half, change + half), strict=True))
    )
    slopes = fit.slopes[fit.slopes["lifter"] == lifter].set_index("setup")
    whole_kg = table["strength_kg"] + table["body_kg"]
    for weeks in (4, 8):
        off = (table["date"] - day).dt.days - 7 * weeks
        told = off.abs() <= DAYS_OFF
        for kg, end in zip(CHANGES, ("", "_low", "_high"), strict=True):
            log = slopes[f"change_{weeks}w{end}"].astype(float).reindex(table.index)
            own_kg = whole_kg * -np.expm1(-log)
            table[kg] = table[kg].mask(told & log.notna(), own_kg)
    table["said"] = [_said(row, day) for _, row in table.iterrows()]
    columns = ["setup", "sets", "strength_kg", "low_kg", "high_kg", *CHANGES, "said"]
    rows = table.reset_index().sort_values("sets", ascending=False, kind="stable")
    return rows[columns].reset_index(drop=True)


def _sd_kg(rows: pd.DataFrame) -> pd.Series:
    return (rows["high_kg"] - rows["low_kg"]).astype(float) / (2 * Z90)


def _said(row: pd.Series, day: pd.Timestamp) -> str:
    if row["first_on"] > day:
        return f"new, first done {row['first_on']:%Y-%m-%d}"
    if row["date"] <= day:
        return f"not done since, last {row['date']:%Y-%m-%d}"
    if pd.isna(row["change_kg"]):
        return "not done in the three weeks before"
    change, low, high = row[CHANGES]
    told = f"{change:+z.1f} kg ({low:+z.1f} to {high:+z.1f} kg)"
    if low > 0:
        return f"stronger: {told}"
    return f"less: {told}" if high < 0 else f"cannot be told yet: {told}"


def work_since(own: pd.DataFrame, since: date) -> str:
    """Say how much was done since a day.

    Parameters
    ----------
    own : DataFrame
        ``performed_on, pain`` of one lifter's sets.
    since : date
        The day; what was done on it does not count.

    Returns
    -------
    sentence : str
    """
    rows = own[own["performed_on"] > pd.Timestamp(since)]
    days = rows["performed_on"].nunique()
    sore = rows.loc[rows["pain"] > 0, "performed_on"].nunique()
    return (
        f"{len(rows)} set{'s' * (len(rows) != 1)} on {days} day{'s' * (days != 1)}"
        + f", with pain noted on {sore}" * bool(sore)
        + "."
    )
