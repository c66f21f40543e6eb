"""One row per lifter: what a coach wants to see of everybody at once."""

import numpy as np
import pandas as pd

from analytics.advice.doubts import in_fractions
from analytics.advice.rules import rule
from analytics.advice.technique import noted_cheat
from analytics.intervals import week_of
from analytics.store import pain_site
from analytics.strength import StrengthFit

SPARK_WEEKS = 24
COLUMNS = [
    *("setup", "strength_kg", "low_kg", "high_kg", "log_sd"),
    *("slope_frac_per_week", "slope_low", "slope_high"),
    *("chance_no_gain", "stalled_since", "best_on", "below_best_frac"),
    *("change_4w", "change_4w_low", "change_4w_high"),
    *("change_8w", "change_8w_low", "change_8w_high"),
    *("basis", "outliers"),
    *("spark", "ratios", "left_right_ratio", "left_right_low", "left_right_high"),
    *("pain", "pain_on", "pain_sites", "lean_frac", "cheat_frac", "watched"),
    *("sets", "effort_frac", "flagged", "last_on", "sentence"),
]


def clients(
    fit: StrengthFit, sets: pd.DataFrame, *, variant: str | None = None
) -> pd.DataFrame:
    """Trend, ratios, sides, flags and data quality of every lifter.

    Parameters
    ----------
    fit : StrengthFit
        Of one movement.
    sets : DataFrame
        Stored sets of all movements; flags of pain look at all, the counts at
        the movement of the fit.
    variant : str, optional
        Strength and trend in it, missing for who never did it; else in what each
        did most.

    Returns
    -------
    clients : DataFrame
        One row per lifter of the fit: ``lifter, setup`` (the one the trend is
        of), ``strength_kg, low_kg, high_kg, log_sd, slope_frac_per_week, slope_low,
        slope_high, chance_no_gain, stalled_since, best_on, below_best_frac``
        (highest estimate so far, how far the last lies below it, with the moved body),
        ``change_4w, change_8w`` (share by which strength differs from four and eight
        weeks before, with ``_low`` and ``_high``; NaN if nothing was done then),
        ``basis`` (``reported effort`` or ``assumed reserve``), ``outliers`` (list of
        sentences on outlying sets and steps, of all setups),
        ``spark`` (weekly strength, list, NaN in weeks without), ``ratios`` (list of
        dicts: setup, ratio, low, high, cohort), ``left_right_ratio,
        left_right_low, left_right_high, pain, pain_on, pain_sites`` (those notes name),
        ``lean_frac, cheat_frac, watched`` (sets with a lean or cheating noted),
        ``sets, effort_frac, flagged, last_on, sentence``. Sides and technique are NaN
        where nobody wrote them.
    """
    own = sets[sets["movement"] == fit.movement]
    parts = [
        _trend(fit, variant),
        _ratios(fit),
        _sides(fit),
        fit.outliers.groupby("lifter")["sentence"].agg(list).rename("outliers"),
        _pain(sets),
        _technique(own),
    ]
    table = _quality(own)
    for part in parts:
        table = table.join(part)
    table = table.reindex(columns=COLUMNS)
    for column in ("spark", "ratios", "outliers"):
        table[column] = table[column].map(lambda x: x if isinstance(x, list) else [])
    for column in ("setup", "basis", "sentence", "pain_sites"):
        table[column] = table[column].astype(object).fillna("")
    return table.reset_index()


def _quality(own: pd.DataFrame) -> pd.DataFrame:
    """How many sets there are, and what they say."""
    known = own["rir"].notna() | own["failed"].fillna(False).astype(bool)
    marked = own.assign(known=known, marked=own["flag"] != "")
    return marked.groupby("lifter").agg(
        sets=("set_id", "size"),
        effort_frac=("known", "mean"),
        flagged=("marked", "sum"),
        last_on=("performed_on", "max"),
    )


def _pain(sets: pd.DataFrame) -> pd.DataFrame:
    """Largest pain of the days before the last session, when it last was, where."""
    last_on = sets.groupby("lifter")["performed_on"].transform("max")
    sore = sets[sets["pain"] > 0]
    recent = last_on - sets["performed_on"] <= pd.Timedelta(
        days=rule("pain_within_days")
    )
    lately = sore[recent[sore.index]]
    sites = lately["note"].map(pain_site).groupby(lately["lifter"])
    return pd.DataFrame(
        {
            "pain": lately.groupby("lifter")["pain"].max(),
            "pain_on": sore.groupby("lifter")["performed_on"].max(),
            "pain_sites": sites.agg(lambda s: ", ".join(sorted({*s} - {""}))),
        }
    )


def _technique(own: pd.DataFrame) -> pd.DataFrame:
    """Share of the watched sets that leaned or were cheated."""
    leaned = (own["lean_deg"] >= rule("lean_flag_deg")).where(own["lean_deg"].notna())
    cheated = noted_cheat(own).astype("Float64").astype(float)
    only_yes = (cheated.eq(1) & own["lean_deg"].isna()) | cheated.isna()
    cheated = cheated.mask(only_yes.groupby(own["lifter"]).transform("all"))
    seen = own.assign(
        leaned=leaned.astype(float),
        cheated=cheated,
        watched=leaned.notna() | cheated.notna(),
    )
    return seen.groupby("lifter").agg(
        lean_frac=("leaned", "mean"),
        cheat_frac=("cheated", "mean"),
        watched=("watched", "sum"),
    )


def _trend(fit: StrengthFit, variant: str | None) -> pd.DataFrame:
    """Latest strength, slope and stall of each lifter's most logged setup."""
    trend = fit.trend
    if variant is not None:
        trend = trend[trend["variant"] == variant]
    if trend.empty:
        return pd.DataFrame()
    counts = trend.groupby(["lifter", "setup"], as_index=False)["sets"].sum()
    most = counts.sort_values("sets", kind="stable").drop_duplicates(
        "lifter", keep="last"
    )[["lifter", "setup"]]
    line = trend.merge(most, on=["lifter", "setup"]).sort_values("date")
    line = line.assign(whole_kg=line["strength_kg"] + line["body_kg"])
    numbers = ["strength_kg", "low_kg", "high_kg", "log_sd", "whole_kg", "basis"]
    table = line.groupby("lifter")[["setup", *numbers]].last()
    best = line.loc[line.groupby("lifter")["whole_kg"].idxmax()].set_index("lifter")
    slopes = in_fractions(fit.slopes).merge(most, on=["lifter", "setup"])
    slopes = slopes.set_index("lifter")
    names = {
        "low": "slope_low",
        "high": "slope_high",
        "p_not_positive": "chance_no_gain",
    }
    change = [c for c in COLUMNS if c.startswith("change_")]
    kept = ["slope_frac_per_week", *names.values(), "stalled_since", "sentence"]
    table = table.join(slopes.rename(columns=names)[[*kept, *change]])
    return table.assign(
        best_on=best["date"],
        below_best_frac=1 - table["whole_kg"] / best["whole_kg"],
        spark=_spark(line),
    )


def _spark(line: pd.DataFrame) -> pd.Series:
    """Weekly strength of each lifter up to the last session, as lists."""
    week = week_of(line["date"])
    weekly = line.groupby(["lifter", week])["strength_kg"].mean().unstack()
    every = pd.date_range(weekly.columns.min(), weekly.columns.max(), freq="W-MON")
    rows = weekly.reindex(columns=every).round(2)
    lists = {}
    for lifter, values in zip(rows.index, rows.to_numpy(), strict=True):
        there = np.flatnonzero(~np.isnan(values))
        lists[lifter] = values[there[0] : there[-1] + 1][-SPARK_WEEKS:].tolist()
    return pd.Series(lists, dtype=object)


def _ratios(fit: StrengthFit) -> pd.Series:
    """Own ratios beside the cohort's, as lists of dicts."""
    cohort = fit.ratios.drop_duplicates("setup").set_index("setup")["ratio"]
    mine = fit.personal[fit.personal["sets"] > 0]
    mine = mine.assign(cohort=mine["setup"].map(cohort).astype(float))
    columns = ["setup", "ratio", "low", "high", "cohort"]
    lists: dict[str, list[dict[str, object]]] = {}
    for lifter, row in zip(
        mine["lifter"], mine[columns].to_dict("records"), strict=True
    ):
        lists.setdefault(str(lifter), []).append({str(k): v for k, v in row.items()})
    return pd.Series(lists, dtype=object, name="ratios")


def _sides(fit: StrengthFit) -> pd.DataFrame:
    """Left over right of the setup with most sided sets."""
    most = fit.sides.sort_values("sets").drop_duplicates("lifter", keep="last")
    names = {"low": "left_right_low", "high": "left_right_high"}
    table = most.set_index("lifter").rename(columns=names)
    return table[["left_right_ratio", *names.values()]].astype(float)
