"""Invented lifters who train with known strength; shares no code with the model.

Every cohort draws one of the published repetition relations and one reading of
it, how tiring a set is and whether its lifters suit the load to the day. Loads
are chosen for a planned number of reps and reserve; reps are whole, as load, day
and luck allow; reserves are called with error, and some sets carry no mark of
effort at all.
"""

from dataclasses import dataclass, field

import numpy as np
import pandas as pd

VARIANTS = (
    "standing_barbell_curl",
    "preacher_curl_45",
    "incline_curl_45",
    "concentration_curl",
)
OFFSETS = np.array([0.0, -0.08, -0.15, 0.05])
SIDE = {"": 0.0, "left": 0.5, "right": -0.5}
FIRST_DAY = pd.Timestamp("2025-01-06")
MOST_REPS = 30

# One-repetition maximum over load after r reps, as printed; sources in
# analytics/strength/data/repetition_equations.toml, typed again here.
PUBLISHED = {
    "epley": lambda r: 1 + 0.0333 * r,
    "brzycki": lambda r: 1 / (1.0278 - 0.0278 * r),
    "lander": lambda r: 100 / (101.3 - 2.67123 * r),
    "lombardi": lambda r: r**0.10,
    "o_conner": lambda r: 1 + 0.025 * r,
    "mayhew": lambda r: 100 / (52.2 + 41.9 * np.exp(-0.055 * r)),
    "wathan": lambda r: 100 / (48.8 + 53.8 * np.exp(-0.075 * r)),
}


@dataclass(frozen=True, kw_only=True)
class Cohort:
    """Sets as from a store, and the truth behind them."""

    sets: pd.DataFrame
    truth: pd.DataFrame  # lifter, variant, date, log_strength
    personal: dict[str, np.ndarray]  # log ratios to the first variant
    offsets: dict[str, float]
    sides: dict[tuple[str, str], float]  # log of left over right


@dataclass(frozen=True, kw_only=True)
class Habits:
    """How the lifters of a cohort train and log."""

    no_effort: float = 0.5
    failures: float = 0.2
    relation: str = ""  # one of PUBLISHED; drawn if empty
    printed: bool | None = None  # as printed, or shifted to the load at one rep; drawn
    call_bias: float = 0.0
    heavy: bool = False
    trend: str = "line"
    to_the_day: bool | None = None  # loads chosen knowing the day; drawn
    tiring: float | None = None  # log strength lost per earlier set; drawn
    plans: tuple[int, ...] = (5, 6, 7, 8, 9, 10)
    one_armed: bool = False  # the last two variants, each arm with the same load
    gains: np.ndarray = field(default_factory=lambda: np.zeros(0))


CAPACITY = np.linspace(1, MOST_REPS, 30 * 40)


def capacity_gain(relation, printed):
    """Log of maximum over load at each CAPACITY, counted with its fraction of a rep.

    A lifter of capacity 10.4 completes 10 reps. An equation read as printed holds
    for completed reps, half a rep below the middle of what they stand for; shifted,
    it gives the load itself at a capacity of one.
    """
    equation = PUBLISHED[relation]
    if not printed:
        return np.log(equation(CAPACITY) / equation(1.0))
    above = np.log(equation(np.maximum(CAPACITY, 2.0) - 0.5))
    return np.where(CAPACITY < 2, above[0] * (CAPACITY - 1), above)


def drawn(rng, habits):
    """Fill in what a cohort draws for itself."""
    relation = habits.relation or str(rng.choice(list(PUBLISHED)))
    printed = rng.random() < 0.5 if habits.printed is None else habits.printed
    to_the_day = rng.random() < 0.5 if habits.to_the_day is None else habits.to_the_day
    tiring = rng.uniform(0, 0.012) if habits.tiring is None else habits.tiring
    chosen = vars(habits) | {
        "to_the_day": to_the_day,
        "tiring": tiring,
        "gains": capacity_gain(relation, printed),
    }
    return Habits(**chosen)


def gained(trend, week, slope):
    """Log strength gained by a week."""
    return {
        "line": slope * week,
        "log time": 0.12 * np.log1p(week / 6) * (1 + 30 * slope),
        "blocks": slope * week + 0.03 * np.sin(2 * np.pi * week / 8),
        "plateau": 0.008 * min(week, 10),
    }[trend]


def simulate(seed, *, lifters=14, weeks=20, **habits):
    """One cohort; habits as in :class:`Habits`."""
    rng = np.random.default_rng(seed)
    habits = drawn(rng, Habits(**habits))
    rows, truth, personal, contrasts = [], [], {}, {}
    for number in range(lifters):
        lifter = f"L{number:02d}"
        start, slope = rng.normal(3.4, 0.25), rng.normal(0.003, 0.003)
        offset = OFFSETS + np.r_[0, rng.normal(0, 0.05, 3)]
        personal[lifter] = offset - offset[0]
        curve = rng.normal(1, 0.1)
        if habits.one_armed:
            uneven = rng.normal(0, 0.05) + rng.normal(0, 0.015, 2)
            contrasts |= {(lifter, VARIANTS[2 + k]): uneven[k] for k in (0, 1)}
        mine = np.r_[0, rng.permutation([1, 2, 3])[: rng.integers(1, 4)]]
        level = 0.0
        for week in range(weeks):
            level += rng.normal(0, 0.012)
            for session in range(2):
                day = 7 * week + 3 * session
                good_day = rng.normal(0, 0.02)
                for v in mine[rng.random(len(mine)) < 0.6]:
                    strength = start + gained(habits.trend, week, slope) + level
                    strength += offset[v]
                    truth.append((lifter, VARIANTS[v], day, strength))
                    plan = rng.choice(habits.plans)
                    for done in range(rng.integers(2, 4)):
                        fresh = strength - habits.tiring * done
                        load = _load(rng, fresh, good_day, plan, curve, habits)
                        uneven = contrasts.get((lifter, VARIANTS[v]))
                        for side in ("",) if uneven is None else ("left", "right"):
                            able = fresh + good_day + SIDE[side] * (uneven or 0.0)
                            one = _one_set(rng, able, *load, curve, habits)
                            name = (str(len(rows)), lifter, day, VARIANTS[v], side)
                            rows.append((*name, *one))
    columns = ["set_id", "lifter", "day", "variant", "side"]
    columns += ["load_kg", "reps", "rir", "failed"]
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
        sides=contrasts,
    )


def _load(rng, strength, good_day, plan, curve, habits):
    """Load for the plan, and the reserve and failure that go with it."""
    failed = rng.random() < habits.failures
    reserve = 0 if failed else rng.integers(1, 5)
    expected = strength + good_day * habits.to_the_day
    planned = curve * np.interp(plan + reserve + 0.5, CAPACITY, habits.gains)
    load = max(1.0, round(2 * np.exp(expected - planned + rng.normal(0, 0.02))) / 2)
    return load, reserve, failed


def _one_set(rng, able, load, reserve, failed, curve, habits):
    luck = 0.75 * rng.standard_t(3) if habits.heavy else rng.normal()
    log_gain = able + 0.02 * luck - np.log(load)
    possible = int(np.interp(log_gain / curve, habits.gains, CAPACITY))
    reps = possible if failed else max(1, possible - reserve)
    error = rng.normal(-habits.call_bias, 0.5 + 0.15 * reserve)
    called = max(0, round(possible - reps + error))
    marked = rng.random() >= habits.no_effort
    rir = float(called) if marked and not failed else np.nan
    return load, float(reps), rir, bool(failed and marked)
