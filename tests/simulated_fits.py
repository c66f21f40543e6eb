"""Strength fits made from a known truth, without a log: for the evidence tests."""

from types import SimpleNamespace

import numpy as np
import pandas as pd
from elbow_generator import POSTURE, limit_load, log_ratios

from analytics.catalogue import load_catalogue

REFERENCE = "standing_barbell_curl"
DEFAULTS = [(v, None) for v in POSTURE if v != REFERENCE]
STARTS = [
    ("preacher_curl_45", (35.0, 120.0)),
    ("preacher_curl_45", (60.0, 120.0)),
    ("preacher_curl_90", (35.0, 120.0)),
    ("preacher_curl_90", (60.0, 120.0)),
    ("incline_curl_45", (90.0, 130.0)),
    ("standing_barbell_curl", (90.0, 140.0)),
]


def label(variant, range_deg):
    return (
        variant
        if range_deg is None
        else f"{variant} [{range_deg[0]:g}:{range_deg[1]:g}]"
    )


HELD = "preacher_curl_0"
HOLD_COLUMNS = [
    *(
        "lifter",
        "setup",
        "variant",
        "kind",
        "angle_deg",
        "load_kg",
        "arms_share",
        "hold_s",
        "failed",
        "rir",
    )
]


def simulated_holds(shape, rng, people, angles, width=0.45, hold_sd=0.05):
    """Two holds to failure of every lifter at each angle on a vertical pad."""
    rows = [
        (p, HELD, HELD, "hold", a, 2 * load * np.exp(level + e), 2.0, 5.0, True, 0.0)
        for p, level in zip(people, rng.normal(0, 0.2, len(people)), strict=True)
        for a in angles
        for load in [limit_load(HELD, (a, a), shape, width)]
        for e in rng.normal(0, hold_sd, 2)
    ]
    return pd.DataFrame(rows, columns=HOLD_COLUMNS).astype(
        {"angle_deg": float, "rir": float}
    )


def simulated_fit(
    shape,
    *,
    lifters=20,
    sets=10,
    seed=1,
    setups=None,
    width=0.45,
    hold_angles=(),
    between_sd=0.04,
    set_sd=0.05,
):
    """Cohort and personal ratios as the strength stage gives them.

    ``sets`` per lifter and setup; between lifters and between sets normal on the
    log scale; the reference is shared by all ratios of a lifter.
    """
    rng = np.random.default_rng(seed)
    setups = DEFAULTS if setups is None else setups
    n = len(setups)
    truth = log_ratios(setups, shape, width)
    names = [label(*s) for s in setups]
    own_cov = set_sd**2 / sets * (np.eye(n) + 1.0)
    person_cov = own_cov + between_sd**2 * np.eye(n)
    own = rng.multivariate_normal(truth, person_cov, size=lifters)
    cov = person_cov / lifters
    cohort = own.mean(axis=0)
    sd = np.sqrt(np.diag(own_cov))
    people = [f"R{i:02d}" for i in range(1, lifters + 1)]
    shrunk_cov = np.linalg.inv(np.linalg.inv(own_cov) + np.eye(n) / between_sd**2)
    personal, personal_cov = [], {}
    for person, d in zip(people, own, strict=True):
        mean = shrunk_cov @ (np.linalg.solve(own_cov, d) + cohort / between_sd**2)
        personal_cov[person] = (tuple(names), mean, shrunk_cov)
        personal.append(
            pd.DataFrame(
                {
                    "lifter": person,
                    "setup": names,
                    "variant": [v for v, _ in setups],
                    "ratio": np.exp(mean),
                    "own_ratio": np.exp(d),
                    "own_low": np.exp(d - 1.645 * sd),
                    "own_high": np.exp(d + 1.645 * sd),
                    "sets": sets,
                }
            )
        )
    everything = [(REFERENCE, None), *setups]
    frame = pd.DataFrame(
        {
            "setup": [label(*s) for s in everything],
            "variant": [v for v, _ in everything],
            "equipment": "",
            "arms_share": [
                load_catalogue().variants[v].arms_share for v, _ in everything
            ],
            "range_from_deg": [np.nan if r is None else r[0] for _, r in everything],
            "range_to_deg": [np.nan if r is None else r[1] for _, r in everything],
        }
    )
    points = pd.DataFrame(
        [(p, s) for p in people for s in frame["setup"] for _ in range(sets)],
        columns=["lifter", "setup"],
    )
    ratios = pd.DataFrame(
        {
            "setup": names,
            "ratio": np.exp(cohort),
            "between_sd": between_sd,
            "lifters": lifters,
            "sets": lifters * sets,
        }
    )
    trend = pd.DataFrame(
        {
            "lifter": people,
            "setup": REFERENCE,
            "date": pd.Timestamp("2026-01-05"),
            "strength_kg": 40.0,
            "low_kg": 38.0,
            "high_kg": 42.0,
        }
    )
    return SimpleNamespace(
        movement="elbow_flexion",
        reference=REFERENCE,
        setups=frame,
        ratios=ratios,
        ratio_setups=tuple(names),
        log_ratio=cohort,
        log_ratio_cov=cov,
        personal=pd.concat(personal, ignore_index=True),
        personal_cov=personal_cov,
        set_points=points,
        n_obs=len(points),
        n_lifters=lifters,
        hyper={"day_sd": 0.034, "set_sd": 0.04},
        holds=simulated_holds(shape, rng, people, hold_angles, width),
        trend=trend,
    )
