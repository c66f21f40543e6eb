"""Invented lifters who train with known strength; shares no code with the model.

Loads are chosen for a planned number of reps and reserve, reps happen as load,
day and luck allow, reserves are called with error, and some sets carry no
mark of effort at all.
"""

from dataclasses import dataclass

import numpy as np
import pandas as pd

VARIANTS = (
    "standing_barbell_curl",
    "preacher_curl_45",
    "incline_curl_45",
    "concentration_curl",
)
OFFSETS = np.array([0.0, -0.08, -0.15, 0.05])
FIRST_DAY = pd.Timestamp("2025-01-06")


@dataclass(frozen=True, kw_only=True)
class Cohort:
    """Sets as from a store, and the truth behind them."""

    sets: pd.DataFrame
    truth: pd.DataFrame  # lifter, variant, date, log_strength
    personal: dict[str, np.ndarray]  # log ratios to the first variant
    offsets: dict[str, float]


def gain(reps, relation):
    """Log of maximum over load; every relation returns the load at one rep."""
    if relation == "linear":
        return np.log((1 + reps / 30) / (1 + 1 / 30))
    return -np.log(1.0278 - 0.0278 * reps)


def reps_possible(log_gain, relation):
    reps = np.linspace(1, 30, 2901)
    return float(np.interp(log_gain, gain(reps, relation), reps))


def simulate(
    seed,
    *,
    lifters=14,
    weeks=20,
    no_effort=0.5,
    failures=0.2,
    relation="linear",
    call_bias=0.0,
    heavy=False,
    trend="line",
):
    rng = np.random.default_rng(seed)
    rows, truth, personal = [], [], {}
    for number in range(lifters):
        lifter = f"L{number:02d}"
        start, slope = rng.normal(3.4, 0.25), rng.normal(0.003, 0.003)
        offset = OFFSETS + np.r_[0, rng.normal(0, 0.05, 3)]
        personal[lifter] = offset - offset[0]
        curve = rng.normal(1, 0.1)
        mine = np.r_[0, rng.permutation([1, 2, 3])[: rng.integers(1, 4)]]
        level = 0.0
        for week in range(weeks):
            level += rng.normal(0, 0.012)
            gained = {
                "line": slope * week,
                "log time": 0.12 * np.log1p(week / 6) * (1 + 30 * slope),
                "blocks": slope * week + 0.03 * np.sin(2 * np.pi * week / 8),
            }[trend]
            for session in range(2):
                day = 7 * week + 3 * session
                good_day = rng.normal(0, 0.02)
                for v in mine[rng.random(len(mine)) < 0.6]:
                    strength = start + gained + level + offset[v]
                    truth.append((lifter, VARIANTS[v], day, strength))
                    plan = rng.integers(5, 11)
                    for _ in range(rng.integers(2, 4)):
                        one = _one_set(
                            rng,
                            strength,
                            good_day,
                            plan,
                            curve,
                            failures=failures,
                            relation=relation,
                            call_bias=call_bias,
                            heavy=heavy,
                            no_effort=no_effort,
                        )
                        rows.append((str(len(rows)), lifter, day, VARIANTS[v], *one))
    columns = ["set_id", "lifter", "day", "variant", "load_kg", "reps", "rir", "failed"]
    sets = pd.DataFrame(rows, columns=columns)
    sets["performed_on"] = FIRST_DAY + pd.to_timedelta(sets.pop("day"), unit="D")
    sets["movement"] = "elbow_flexion"
    true = pd.DataFrame(truth, columns=["lifter", "setup", "day", "true"])
    true["date"] = FIRST_DAY + pd.to_timedelta(true.pop("day"), unit="D")
    return Cohort(
        sets=sets,
        truth=true,
        personal=personal,
        offsets=dict(zip(VARIANTS, OFFSETS, strict=True)),
    )


def _one_set(
    rng,
    strength,
    good_day,
    plan,
    curve,
    *,
    failures,
    relation,
    call_bias,
    heavy,
    no_effort,
):
    failed = rng.random() < failures
    reserve = 0 if failed else rng.integers(1, 5)
    aim = strength - curve * gain(plan + reserve, relation) + rng.normal(0, 0.02)
    load = max(1.0, round(2 * np.exp(aim)) / 2)
    luck = 0.75 * rng.standard_t(3) if heavy else rng.normal()
    able = strength + good_day + 0.02 * luck - np.log(load)
    possible = max(1.0, reps_possible(able / curve, relation))
    reps = max(1, round(possible if failed else possible - reserve))
    error = rng.normal(-call_bias, 0.5 + 0.15 * reserve)
    called = max(0, round(possible - reps + error))
    marked = rng.random() >= no_effort
    rir = float(called) if marked and not failed else np.nan
    return load, float(reps), rir, bool(failed and marked)
