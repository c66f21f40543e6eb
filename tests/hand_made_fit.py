"""A strength fit written down by hand, so that advice can be checked by hand.

Three setups; every lifter's standing barbell curl is 50 kg, the cohort's pad curl
0.6 of it per working arm, dumbbells as strong per arm.
"""

import numpy as np
import pandas as pd

from analytics.strength import StrengthFit

DAY = pd.Timestamp("2026-03-20")
ONE_RM_KG = {
    "standing_barbell_curl": 50.0,
    "preacher_curl_45": 30.0,
    "standing_dumbbell_curl": 25.0,
}
SHARE = {
    "standing_barbell_curl": 2.0,
    "preacher_curl_45": 2.0,
    "standing_dumbbell_curl": 1.0,
}
LOG_SD = 0.03
K = 30.0  # a load of K / (K + r - 1) of the maximum allows r repetitions


def made_sets(done: dict[str, list[str]], *, weeks: int = 6) -> pd.DataFrame:
    """Return sets of 8 reps with two left, one session a week, for each lifter."""
    rows = []
    for lifter, setups in done.items():
        for week in range(weeks):
            for setup in setups:
                rows.append(
                    {
                        "lifter": lifter,
                        "performed_on": DAY - pd.Timedelta(weeks=weeks - 1 - week),
                        "variant": setup,
                        "load_kg": 0.75 * ONE_RM_KG[setup],
                        "arms_share": SHARE[setup],
                    }
                )
    frame = pd.DataFrame(rows)
    blank = {
        "movement": "elbow_flexion",
        "equipment": "",
        "side": "",
        "body_share": 0.0,
        "body_mass_kg": 75.0,
        "body_mass_on": DAY,
        "reps": 8.0,
        "rir": 2.0,
        "rir_half": np.nan,
        "failed": False,
        "failed_at_deg": np.nan,
        "pain": np.nan,
        "lean_deg": np.nan,
        "cheat": False,
        "stance": "",
        "flag": "",
        "note": "",
        "intake_id": 1,
    }
    frame = frame.assign(**blank)
    return frame.assign(
        set_id=[str(i) for i in range(len(frame))], source_row=range(len(frame))
    )


def made_fit(sets: pd.DataFrame) -> StrengthFit:
    """Return the fit those sets would give a model that knows the truth."""
    lifters = sorted(sets["lifter"].unique())
    setups = [s for s in ONE_RM_KG if s in set(sets["variant"])]
    counts = sets.groupby(["lifter", "variant"]).size()
    table = pd.DataFrame(
        {
            "setup": setups,
            "variant": setups,
            "equipment": "",
            "range_from_deg": np.nan,
            "range_to_deg": np.nan,
            "arms_share": [SHARE[s] for s in setups],
        }
    )
    pairs = [(who, setup) for who in lifters for setup in setups]
    personal = pd.DataFrame(
        [
            {
                "lifter": who,
                "setup": setup,
                "variant": setup,
                "ratio": ratio_of(setup),
                "low": ratio_of(setup) * 0.95,
                "high": ratio_of(setup) * 1.05,
                "own_ratio": ratio_of(setup),
                "own_low": ratio_of(setup) * 0.95,
                "own_high": ratio_of(setup) * 1.05,
                "shrinkage": 0.1,
                "sets": counts.get((who, setup), 0),
            }
            for who, setup in pairs
            if setup != "standing_barbell_curl"
        ],
        columns=[
            *("lifter", "setup", "variant", "ratio", "low", "high"),
            *("own_ratio", "own_low", "own_high", "shrinkage", "sets"),
        ],
    )
    last = pd.DataFrame(
        [
            {
                "lifter": who,
                "setup": setup,
                "first_on": sets["performed_on"].min(),
                "last_on": DAY,
                "log_strength": np.log(ONE_RM_KG[setup]),
                "log_sd": LOG_SD,
                "with_ln_k": 0.0,
                "with_shape": 0.0,
                "used": counts.get((who, setup), 0) > 0,
            }
            for who, setup in pairs
        ]
    )
    days = sets.drop_duplicates(["lifter", "variant", "performed_on"])
    kg = days["variant"].map(ONE_RM_KG)
    trend = pd.DataFrame(
        {
            "lifter": days["lifter"],
            "setup": days["variant"],
            "variant": days["variant"],
            "equipment": "",
            "date": days["performed_on"],
            "strength_kg": kg,
            "low_kg": kg * 0.95,
            "high_kg": kg * 1.05,
            "sets": 1,
            "basis": "reported effort",
            "effective_sets": 2.0,
            "body_kg": 0.0,
            "log_strength": np.log(kg),
            "log_sd": LOG_SD,
            "with_ln_k": 0.0,
            "with_shape": 0.0,
        }
    ).reset_index(drop=True)
    relation = pd.DataFrame(pairs, columns=["lifter", "setup"]).assign(
        k=K,
        k_low=K - 5,
        k_high=K + 5,
        ln_k=np.log(K),
        shape=0.0,
        var_ln_k=0.0,
        cov=0.0,
        var_shape=0.0,
        learned_frac=0.0,
    )
    loads = days.rename(columns={"variant": "setup", "performed_on": "date"})
    loads = loads[["lifter", "setup", "date", "reps", "load_kg"]]
    others = [s for s in setups if s != "standing_barbell_curl"]
    ratios = pd.DataFrame(
        {
            "setup": others,
            "variant": others,
            "reference": "standing_barbell_curl",
            "ratio": [ratio_of(s) for s in others],
            "low": [ratio_of(s) * 0.98 for s in others],
            "high": [ratio_of(s) * 1.02 for s in others],
            "between_sd": 0.03,
            "lifters": [
                sets.loc[sets["variant"] == s, "lifter"].nunique() for s in others
            ],
            "sets": [(sets["variant"] == s).sum() for s in others],
            "reps": 10,
        }
    )
    slopes = pd.DataFrame(
        {
            "lifter": lifters,
            "setup": "standing_barbell_curl",
            "slope_frac_per_week": 0.004,
            "low": 0.001,
            "high": 0.007,
            "p_not_positive": 0.02,
            "stalled_since": pd.NaT,
            "sessions_needed": 0.0,
            "change_4w": 0.016,
            "change_4w_low": 0.004,
            "change_4w_high": 0.028,
            "change_8w": np.nan,
            "change_8w_low": np.nan,
            "change_8w_high": np.nan,
            "sentence": "Still gaining.",
        }
    )
    empty = pd.DataFrame()
    return StrengthFit(
        movement="elbow_flexion",
        reference="standing_barbell_curl",
        n_obs=len(sets),
        n_lifters=len(lifters),
        method="written down by hand",
        hyper={
            "day_sd": 0.034,
            "set_sd": 0.0,
            "walk_sd": 0.019,
            "walk_scale": 1.0,
            "slope_sd": 0.004,
        },
        setups=table,
        trend=trend,
        relation=relation,
        loads=loads,
        ratios=ratios,
        log_ratio=np.log(ratios["ratio"].to_numpy()),
        log_ratio_cov=np.eye(len(ratios)) * 0.02**2,
        ratio_setups=tuple(ratios["setup"]),
        personal=personal,
        personal_cov={},
        set_points=pd.DataFrame(
            {
                "set_id": sets["set_id"],
                "lifter": sets["lifter"],
                "setup": sets["variant"],
                "date": sets["performed_on"],
                "kind": np.where(sets["failed"], "failure", "rir"),
            }
        ),
        slopes=slopes,
        days=trend[["lifter", "setup", "date"]].assign(
            log_level=np.log(ONE_RM_KG["standing_barbell_curl"]), variance=LOG_SD**2
        ),
        reasons=empty,
        outliers=pd.DataFrame(
            columns=["lifter", "setup", "date", "set_id", "sentence"]
        ),
        sides=pd.DataFrame(
            columns=["lifter", "setup", "left_right_ratio", "low", "high", "sets"]
        ),
        holds=empty,
        last=last,
    )


def ratio_of(setup: str) -> float:
    """Strength per working arm over that in the standing barbell curl."""
    return ONE_RM_KG[setup] / SHARE[setup] / (ONE_RM_KG["standing_barbell_curl"] / 2)
