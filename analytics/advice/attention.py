"""Who needs a coach's attention first, and why, in a few words each."""

from collections.abc import Iterable
from datetime import date

import pandas as pd

from analytics.advice.clients import clients
from analytics.advice.doubts import ASSUMED
from analytics.advice.rules import rule
from analytics.intervals import week_of
from analytics.strength import WIDE_FRAC, StrengthFit

COLUMNS = ["lifter", "variant", "strength_kg", "low_kg", "high_kg", "change_4w",
           "change_8w", "chance_no_gain", "flags"]  # fmt: skip
WEEKS = 8  # looked back over, as for the change of strength
OF_LIFT = ("no gain", "implausible", "reserve", "no strength", "1RM")


def attention(
    fits: Iterable[StrengthFit],
    sets: pd.DataFrame,
    *,
    variant: str | None = None,
    on: date | None = None,
) -> pd.DataFrame:
    """Set lifters side by side, who needs attention first.

    Parameters
    ----------
    fits : iterable of StrengthFit
        One per movement.
    sets : DataFrame
        Stored sets of all movements.
    variant : str, optional
        Only who did it, and strength in it; else in what each did most.
    on : date, optional
        Day to which absence is counted; the last day anybody logged if not given.

    Returns
    -------
    table : DataFrame
        ``lifter, variant, strength_kg, low_kg, high_kg, change_4w, change_8w,
        chance_no_gain, flags``; ``variant`` is the setup, ``flags`` the reasons in
        words, empty without any. First those with pain, then those who no longer
        gain, then by number of flags and chance of no gain.
    """
    table = _table(fits, sets, variant=variant)
    if table.empty:
        return pd.DataFrame(columns=COLUMNS)
    table = table.sort_values("sets", kind="stable").drop_duplicates(
        "lifter", keep="last"
    )
    flags = _all_flags(table, sets, on)
    table = table.assign(
        flags=["; ".join(said) for said in flags], many=[len(said) for said in flags],
        sore=table["pain"].fillna(0), stalled=table["stalled_since"].notna(),
    )  # fmt: skip
    first = ["sore", "stalled", "many", "chance_no_gain"]
    table = table.sort_values([*first, "lifter"], ascending=[*[False] * 4, True])
    return table.rename(columns={"setup": "variant"})[COLUMNS].reset_index(drop=True)


def alerts(
    fits: Iterable[StrengthFit],
    sets: pd.DataFrame,
    lifter: str,
    *,
    on: date | None = None,
) -> list[str]:
    """Say what of one lifter needs attention, over all movements.

    Parameters
    ----------
    fits, sets, on :
        As in :func:`attention`.
    lifter : str
        Code.

    Returns
    -------
    flags : list of str
        As in :func:`attention`, each once; those of one lift begin with its setup.
    """
    table = _table(fits, sets, variant=None)
    table = table[table["lifter"] == lifter]
    shared, own = [], []
    for (_, row), said in zip(
        table.iterrows(), _all_flags(table, sets, on), strict=True
    ):
        for flag in said:
            of_lift = flag.startswith(OF_LIFT) and row["setup"]
            (own if of_lift else shared).append(
                f"{row['setup']}: {flag}" if of_lift else flag
            )
    return list(dict.fromkeys([*shared, *own]))


def _table(
    fits: Iterable[StrengthFit], sets: pd.DataFrame, *, variant: str | None
) -> pd.DataFrame:
    """Clients of all movements, a row per lifter and movement."""
    parts = [clients(fit, sets, variant=variant) for fit in fits]
    parts = [part for part in parts if len(part)]
    if not parts:
        return pd.DataFrame(columns=["lifter", "setup"])
    table = pd.concat(parts)
    return table if variant is None else table[table["setup"] != ""]


def _all_flags(
    table: pd.DataFrame, sets: pd.DataFrame, on: date | None
) -> list[list[str]]:
    last = sets.groupby("lifter")["performed_on"].max()
    day = sets["performed_on"].max() if on is None else pd.Timestamp(on)
    away, missing = (day - last).dt.days, _missing_weeks(sets, day)
    return [
        _flags(row, int(away[row["lifter"]]), int(missing[row["lifter"]]))
        for _, row in table.iterrows()
    ]


def _missing_weeks(sets: pd.DataFrame, day: pd.Timestamp) -> pd.Series:
    """How many of the full weeks before that of a day each lifter logged nothing in."""
    rows = sets[["lifter"]].assign(week=week_of(sets["performed_on"]))
    week = pd.Timedelta(weeks=1)
    last = week_of(pd.Series([day])).iloc[0]
    first = rows.groupby("lifter")["week"].min()
    owed = ((last - first) // week).clip(upper=WEEKS)
    full = rows[(rows["week"] < last) & (rows["week"] >= last - WEEKS * week)]
    return owed - full.groupby("lifter")["week"].nunique().reindex(
        first.index, fill_value=0
    )


def _flags(row: pd.Series, away_days: int, missing: int) -> list[str]:
    said = []
    if row["pain"] > 0:
        said.append(f"pain {row['pain']:g} of 10 on {row['pain_on']:%Y-%m-%d}")
    if pd.notna(row["stalled_since"]):
        said.append(f"no gain since {row['stalled_since']:%Y-%m-%d}")
    if away_days > rule("away_within_days"):
        said.append(f"no log for {away_days} days")
    elif missing >= rule("missing_weeks"):
        said.append(f"{missing} of the last {WEEKS} weeks without a log")
    if row["flagged"] > 0:
        said.append(f"implausible sets: {row['flagged']:.0f}")
    if row["basis"] == ASSUMED:
        said.append("reserve never told")
    if pd.isna(row["strength_kg"]):
        said.append("no strength yet")
    elif row["high_kg"] - row["low_kg"] > 2 * WIDE_FRAC * row["strength_kg"]:
        said.append(f"1RM unsettled: {row['low_kg']:.1f} to {row['high_kg']:.1f} kg")
    return said
