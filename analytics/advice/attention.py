"""Who needs a coach's attention first, and why, in a few words each."""

from collections.abc import Iterable
from datetime import date

import pandas as pd

from analytics.advice.clients import clients
from analytics.advice.doubts import ASSUMED
from analytics.advice.rules import rule
from analytics.intervals import Z90, week_of
from analytics.strength import StrengthFit

COLUMNS = ["lifter", "variant", "strength_kg", "low_kg", "high_kg", "change_4w",
           "change_8w", "chance_no_gain", "flags"]  # fmt: skip
WEEKS = 8  # looked back over, as for the change of strength


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
    flags = [
        [*said, *_of_lift(row)]
        for said, (_, row) in zip(
            _of_lifters(table, sets, on), table.iterrows(), strict=True
        )
    ]
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
    fits, sets :
        As in :func:`attention`.
    lifter : str
        Code.
    on : date, optional
        As in :func:`attention`.

    Returns
    -------
    flags : list of str
        As in :func:`attention`, each once; those of one lift begin with its setup.
    """
    table = _table(fits, sets, variant=None)
    table = table[table["lifter"] == lifter]
    said = [flag for flags in _of_lifters(table, sets, on) for flag in flags]
    said += [
        f"{row['setup']}: {flag}" if row["setup"] else flag
        for _, row in table.iterrows()
        for flag in _of_lift(row)
    ]
    return list(dict.fromkeys(said))


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


def _of_lifters(
    table: pd.DataFrame, sets: pd.DataFrame, on: date | None
) -> list[list[str]]:
    """Say of each row what concerns the lifter whatever the lift: pain, absence."""
    last = sets.groupby("lifter")["performed_on"].max()
    day = sets["performed_on"].max() if on is None else pd.Timestamp(on)
    away, missing = (day - last).dt.days, _missing_weeks(sets, day)
    found = []
    for _, row in table.iterrows():
        said = []
        if row["pain"] > 0:
            where = row["pain_sites"] and f", {row['pain_sites']}"
            day_of = f"on {row['pain_on']:%Y-%m-%d}"
            said.append(f"pain {row['pain']:g} of 10 {day_of}{where}")
        if away[row["lifter"]] > rule("away_within_days"):
            said.append(f"no log for {away[row['lifter']]} days")
        elif missing[row["lifter"]] >= rule("missing_weeks"):
            weeks = f"{missing[row['lifter']]:.0f} of the last {WEEKS} weeks"
            said.append(f"{weeks} without a log")
        found.append(said)
    return found


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


def _of_lift(row: pd.Series) -> list[str]:
    said = []
    if pd.notna(row["stalled_since"]):
        said.append(f"no gain since {row['stalled_since']:%Y-%m-%d}")
    if row["below_best_frac"] >= rule("below_best_frac"):
        below = f"{row['below_best_frac']:.0%} below the highest 1RM"
        said.append(f"{below}, of {row['best_on']:%Y-%m-%d}")
    if row["flagged"] > 0:
        said.append(f"implausible sets: {row['flagged']:.0f}")
    if row["basis"] == ASSUMED:
        said.append("reserve never told")
    if pd.isna(row["strength_kg"]):
        said.append("no strength yet")
    elif Z90 * row["log_sd"] > rule("unsettled_frac"):
        said.append(f"1RM unsettled: {row['low_kg']:.1f} to {row['high_kg']:.1f} kg")
    return said
