"""One row per lifter: what a coach wants to see of everybody at once."""

import numpy as np
import pandas as pd

from analytics.advice.rules import rule
from analytics.strength import StrengthFit

SPARK_WEEKS = 24


def clients(fit: StrengthFit, sets: pd.DataFrame) -> pd.DataFrame:
    """Trend, ratios, sides, flags and data quality of every lifter.

    Parameters
    ----------
    fit : StrengthFit
        Of one movement.
    sets : DataFrame
        Stored sets of all movements; flags of pain look at all, the counts at
        the movement of the fit.

    Returns
    -------
    clients : DataFrame
        One row per lifter of the fit: ``lifter, setup`` (the one the trend is
        of), ``strength_kg, low_kg, high_kg, slope_frac_per_week, slope_low,
        slope_high, stall_probability, stalled_since, best_on, below_best_frac``
        (highest estimate so far, and how far the last one lies below it),
        ``spark`` (weekly strength, list, NaN in weeks without), ``ratios`` (list of
        dicts: setup, ratio, low, high, cohort), ``left_right_ratio,
        left_right_low, left_right_high, pain, pain_on, lean_frac, heave_frac,
        sets, effort_frac, flagged, last_on, sentence``. Sides and technique are
        NaN where nobody wrote them.
    """
    own = sets[sets["movement"] == fit.movement]
    rows = [
        _one(fit, lifter, own[own["lifter"] == lifter], sets[sets["lifter"] == lifter])
        for lifter in sorted(own["lifter"].unique())
    ]
    return pd.DataFrame(rows)


def _one(
    fit: StrengthFit, lifter: str, own: pd.DataFrame, every: pd.DataFrame
) -> dict[str, object]:
    trend = fit.trend[fit.trend["lifter"] == lifter]
    row: dict[str, object] = {"lifter": lifter}
    row |= _trend(fit, lifter, trend)
    row["ratios"] = _ratios(fit, lifter)
    row |= _sides(fit, lifter)
    sore = every[every["pain"] > 0]
    since = every["performed_on"].max() - pd.Timedelta(days=rule("pain_within_days"))
    lean = own["lean_deg"].dropna()
    seen = own["lean_deg"].notna()
    known = own["rir"].notna() | own["failed"].fillna(False).astype(bool)
    row |= {
        "pain": float(sore.loc[sore["performed_on"] >= since, "pain"].max()),
        "pain_on": sore["performed_on"].max(),
        "lean_frac": float((lean >= rule("lean_flag_deg")).mean())
        if len(lean)
        else np.nan,
        "heave_frac": float(own.loc[seen, "heave"].fillna(False).astype(bool).mean())
        if seen.any()
        else np.nan,
        "sets": len(own),
        "effort_frac": float(known.mean()),
        "flagged": int((own["flag"] != "").sum()),
        "last_on": own["performed_on"].max(),
    }
    return row


def _trend(fit: StrengthFit, lifter: str, trend: pd.DataFrame) -> dict[str, object]:
    """Latest strength, slope and stall of the setup with most sets."""
    nothing: dict[str, object] = dict.fromkeys(
        [
            *("strength_kg", "low_kg", "high_kg"),
            *("slope_frac_per_week", "slope_low", "slope_high", "stall_probability"),
        ],
        np.nan,
    )
    nothing |= {"setup": "", "spark": [], "sentence": ""}
    nothing |= {"stalled_since": pd.NaT, "best_on": pd.NaT, "below_best_frac": np.nan}
    if trend.empty:
        return nothing
    setup = trend.groupby("setup")["sets"].sum().idxmax()
    line = trend[trend["setup"] == setup].sort_values("date")
    last, best = line.iloc[-1], line.loc[line["strength_kg"].idxmax()]
    weekly = line.set_index("date")["strength_kg"].resample("W-MON").mean()
    row = nothing | {
        "setup": setup,
        "strength_kg": float(last["strength_kg"]),
        "low_kg": float(last["low_kg"]),
        "high_kg": float(last["high_kg"]),
        "best_on": best["date"],
        "below_best_frac": float(1 - last["strength_kg"] / best["strength_kg"]),
        "spark": weekly.tail(SPARK_WEEKS).round(2).tolist(),
    }
    slopes = fit.slopes[fit.slopes["lifter"] == lifter]
    same = slopes[slopes["setup"] == setup]
    chosen = same if len(same) else slopes
    if len(chosen):
        slope = chosen.iloc[0]
        row |= {
            "slope_frac_per_week": float(slope["slope_frac_per_week"]),
            "slope_low": float(slope["low"]),
            "slope_high": float(slope["high"]),
            "stall_probability": float(slope["p_not_positive"]),
            "stalled_since": slope["stalled_since"],
            "sentence": slope["sentence"],
        }
    return row


def _ratios(fit: StrengthFit, lifter: str) -> list[dict[str, object]]:
    """Own ratios beside the cohort's."""
    cohort = fit.ratios.set_index("setup")["ratio"]
    mine = fit.personal[(fit.personal["lifter"] == lifter) & (fit.personal["sets"] > 0)]
    return [
        {
            "setup": r["setup"],
            "ratio": float(r["ratio"]),
            "low": float(r["low"]),
            "high": float(r["high"]),
            "cohort": float(cohort.get(r["setup"], np.nan)),
        }
        for _, r in mine.iterrows()
    ]


def _sides(fit: StrengthFit, lifter: str) -> dict[str, float]:
    """Left over right of the variant with most sided sets."""
    sides = fit.sides[fit.sides["lifter"] == lifter]
    if sides.empty:
        return dict.fromkeys(
            ["left_right_ratio", "left_right_low", "left_right_high"], np.nan
        )
    most = sides.loc[sides["sets"].idxmax()]
    return {
        "left_right_ratio": float(most["left_right_ratio"]),
        "left_right_low": float(most["low"]),
        "left_right_high": float(most["high"]),
    }
