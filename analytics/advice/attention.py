"""Who needs a coach's attention first, and why, in a few words each."""

from collections.abc import Iterable
from dataclasses import replace

import pandas as pd

from analytics.advice.clients import clients
from analytics.advice.doubts import ASSUMED
from analytics.advice.rules import rule
from analytics.strength import StrengthFit

COLUMNS = ["lifter", "variant", "strength_kg", "low_kg", "high_kg", "change_4w",
           "change_8w", "chance_no_gain", "flags"]  # fmt: skip


def attention(
    fits: Iterable[StrengthFit], sets: pd.DataFrame, *, variant: str | None = None
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

    Returns
    -------
    table : DataFrame
        ``lifter, variant, strength_kg, low_kg, high_kg, change_4w, change_8w,
        chance_no_gain, flags``; ``variant`` is the setup, ``flags`` the reasons in
        words, empty without any. First those with pain, then those who no longer
        gain, then by number of flags and chance of no gain.
    """
    parts = [clients(_of_variant(fit, variant), sets) for fit in fits]
    if not parts:
        return pd.DataFrame(columns=COLUMNS)
    table = pd.concat([part for part in parts if len(part)])
    if variant is not None:
        table = table[table["setup"] != ""]
    table = table.sort_values("sets", kind="stable").drop_duplicates(
        "lifter", keep="last"
    )
    away = (sets["performed_on"].max() - table["lifter"].map(
        sets.groupby("lifter")["performed_on"].max())).dt.days  # fmt: skip
    flags = [
        _flags(row, int(days))
        for (_, row), days in zip(table.iterrows(), away, strict=True)
    ]
    table = table.assign(
        flags=["; ".join(said) for said in flags], many=[len(said) for said in flags],
        sore=table["pain"].fillna(0), stalled=table["stalled_since"].notna(),
    )  # fmt: skip
    first = ["sore", "stalled", "many", "chance_no_gain"]
    table = table.sort_values([*first, "lifter"], ascending=[*[False] * 4, True])
    return table.rename(columns={"setup": "variant"})[COLUMNS].reset_index(drop=True)


def _of_variant(fit: StrengthFit, variant: str | None) -> StrengthFit:
    if variant is None:
        return fit
    return replace(fit, trend=fit.trend[fit.trend["variant"] == variant])


def _flags(row: pd.Series, away_days: int) -> list[str]:
    said = []
    if row["pain"] > 0:
        said.append(f"pain {row['pain']:g} of 10 on {row['pain_on']:%Y-%m-%d}")
    if pd.notna(row["stalled_since"]):
        said.append(f"no gain since {row['stalled_since']:%Y-%m-%d}")
    if away_days > rule("away_within_days"):
        said.append(f"nothing logged in the last {away_days} days of the logs")
    if row["flagged"] > 0:
        said.append(f"implausible sets: {row['flagged']:.0f}")
    if row["basis"] == ASSUMED:
        said.append("reserve never told")
    if pd.isna(row["strength_kg"]):
        said.append("no strength yet")
    return said
