"""One row per lifter: numbers, small pictures and the reason in words."""

import pandas as pd

from analytics import advice
from analytics import store as stored
from analytics.charts import sparkline
from analytics.strength import StrengthFit
from app.fits import fit_key
from app.state import Choice, cached, in_words, read

MOST_CLIENTS = 200


def client_rows(choice: Choice, fit: StrengthFit) -> pd.DataFrame:
    """Return one row per lifter, those most likely to have stalled first."""

    def make() -> pd.DataFrame:
        rows = advice.clients(fit, read(stored.sets_and_pains))
        return rows.sort_values("chance_no_gain", ascending=False)

    return cached("clients", fit_key(choice), make)


def client_pictures(choice: Choice, fit: StrengthFit) -> pd.DataFrame:
    """Return the table of clients as it is shown: small pictures for intervals."""

    def make() -> pd.DataFrame:
        return _pictures(client_rows(choice, fit).head(MOST_CLIENTS), fit.trend)

    return cached("client_pictures", fit_key(choice), make)


def _pictures(rows: pd.DataFrame, trend: pd.DataFrame) -> pd.DataFrame:
    trend = trend[trend["lifter"].isin(rows["lifter"])].sort_values("date")
    trends = dict(list(trend.groupby(["lifter", "setup"])))
    reach = rows[["slope_low", "slope_high"]].abs().max(axis=None)
    sides = zip(
        rows["left_right_ratio"],
        rows["left_right_low"],
        rows["left_right_high"],
        strict=True,
    )
    slopes = zip(
        rows["slope_frac_per_week"], rows["slope_low"], rows["slope_high"], strict=True
    )
    keys = zip(rows["lifter"], rows["setup"], strict=True)
    shown = {
        "lifter": rows["lifter"],
        "strength_kg": rows["strength_kg"],
        "trend": [sparkline.trend(trends[k]) if k in trends else "" for k in keys],
        "slope": [
            sparkline.intervals([row], at=0.0, span=(-reach, reach)) for row in slopes
        ],
        "chance_no_gain": rows["chance_no_gain"],
        **{
            name: [
                sparkline.intervals([tuple(row)], at=0.0, span=(-0.1, 0.1))
                for row in rows[[name, f"{name}_low", f"{name}_high"]].to_numpy(float)
            ]
            for name in ("change_4w", "change_8w")
        },
        "pain": rows["pain"],
        "ratios": [
            sparkline.intervals(
                [
                    tuple(r[n] / r["cohort"] for n in ("ratio", "low", "high"))
                    for r in own
                ],
                at=1.0,
                span=(0.85, 1.15),
            )
            for own in rows["ratios"]
        ],
        "sides": [sparkline.intervals([row], at=1.0, span=(0.8, 1.2)) for row in sides],
    }
    plain = ["lean_frac", "cheat_frac", "effort_frac", "sets", "flagged", "watched"]
    rest = rows[[*plain, "stalled_since", "last_on", "setup", "basis"]]
    rest = rest.assign(outliers=rows["outliers"].map(len))
    shares = [name for name in plain if name.endswith("_frac")]
    return pd.DataFrame(shown).join(rest.round(dict.fromkeys(shares, 2)))


def clients_sentence(rows: pd.DataFrame) -> str:
    """Say who is likeliest to have stalled."""
    first = rows.iloc[0]
    chance = f"probability {first['chance_no_gain']:.2f}"
    if len(rows) == 1:
        return f"{first['lifter']} may not be gaining, {chance}"
    return (
        f"{len(rows):,} lifters; {first['lifter']} is the likeliest not to be gaining, "
        f"{chance}"
    )


def client_reason(row: pd.Series) -> str:
    """Say why a client stands where they stand: trend, best day, pain."""
    told = f"{row['lifter']}, {in_words(row['setup'])}: {row['sentence']}"
    if row["below_best_frac"] > 0:
        told += (
            f" Highest estimate on {row['best_on']:%Y-%m-%d}; the last one lies "
            f"{row['below_best_frac']:.0%} below it."
        )
    changed = advice.change_sentence(row)
    told += f" {changed}" if changed else ""
    if row["basis"] == advice.ASSUMED:
        told += f" Assumed: {advice.PRIOR_ONLY}."
    if row["outliers"]:
        told += f" Look at this again: {row['outliers'][0]}"
    if row["pain"] > 0:
        told += f" Pain {row['pain']:g} of 10, last on {row['pain_on']:%Y-%m-%d}."
    return told
