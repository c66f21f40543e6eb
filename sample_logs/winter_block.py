"""The invented lifters, what is true of them, and the sets they did.

No number here was measured on anybody; they are sized so that the truth
resembles the published figures named in ``truth.toml``. How the sets are
written down, flaws included, is :mod:`make_logs`.
"""

import math
import random
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any

SEED = 20251006
FIRST_MONDAY = date(2025, 10, 6)
WEEKS = 24
CLOSED_WEEKS = (11, 12)  # the club is shut over the turn of the year
KG_PER_LB = 0.45359237

# One-repetition load per working arm, as a fraction of the standing barbell curl.
# Invented, near what a length-strength curve with a peak makes of each posture, so
# that such a curve is true of these lifters.
RATIO = {
    "standing_barbell_curl": 1.00,
    "standing_dumbbell_curl": 0.99,
    "one_arm_dumbbell_curl": 1.00,
    "no_lockout_curl": 1.01,
    "preacher_curl_45": 0.62,
    "preacher_curl_45 [50:120]": 0.85,
    "preacher_curl_60": 0.55,
    "incline_curl_45": 0.97,
    "concentration_curl": 0.82,
    "low_cable_curl @ stack 1": 0.82,
    "low_cable_curl @ stack 2": 0.94,
    "hammer_curl": 1.04,
}
# Elbow angle at which a set that fails comes to rest. [deg]
STICKING_DEG = {
    "standing_barbell_curl": 88,
    "standing_dumbbell_curl": 88,
    "one_arm_dumbbell_curl": 88,
    "no_lockout_curl": 88,
    "preacher_curl_45": 29,
    "preacher_curl_45 [50:120]": 54,
    "preacher_curl_60": 28,
    "incline_curl_45": 85,
    "concentration_curl": 95,
    "low_cable_curl @ stack 1": 95,
    "low_cable_curl @ stack 2": 95,
    "hammer_curl": 88,
}
# Load held still at an elbow angle ÷ one-repetition load of the same variant.
HOLD = {
    "standing_barbell_curl": {30: 1.18, 45: 1.03, 70: 1.02, 90: 1.08},
    "preacher_curl_45": {40: 1.22, 60: 1.63, 80: 2.25},
}
TWO_HANDED = {"standing_barbell_curl", "no_lockout_curl", "low_cable_curl"} | {
    "preacher_curl_45",
    "preacher_curl_60",
}
# Pulls: one-repetition load ÷ body mass, step of the kit in kg.
PULL = {"barbell_row": (0.95, 2.5), "chin_up": (1.32, 1.25)} | {
    "pulldown": (0.98, 5.0),
    "deadlift": (1.75, 2.5),
}
STEP_KG = {"bar": 2.5, "stack": 2.5, "dumbbell": 1.0}
DAY_SD = 0.034
SET_SD = 0.010
WALK_SD = 0.019  # per square root of a week
RATIO_SD = 0.035  # between lifters, log scale
REPS_LOST_PER_SET = 0.1
LEAN_FROM = 0.82  # of that day's one-repetition load
LEAN_DEG = 65.0  # per unit of relative load above it
LEAN_PER_SET_DEG = 0.5
STICKING_SD_DEG = 7.0
SIDE_POWER = {"left": 0.5, "right": -0.5, "": 0.0}
HOLDERS = ("R01", "R03", "R04", "R08")
PRESSERS = ("R01", "R06", "R08", "R12")


@dataclass
class Lifter:
    """One invented lifter: the truth and the habits."""

    code: str
    curl_kg: float
    growth: float  # log strength per week
    mass_kg: float
    stature_m: float
    variants: tuple[str, ...]
    pulls: tuple[str, ...]
    effort_missing: float = 0.22
    weeks: range = range(WEEKS)
    left_right: float = 0.99
    stalls_at: int = WEEKS
    slips: float = 0.0  # log strength per week once stalled
    level: list[float] = field(default_factory=list)
    delta: dict[str, float] = field(default_factory=dict)


SB, SD, OA, NL = list(RATIO)[:4]
P45, P45C, P60, INC, CON, LC1, LC2, HAM = list(RATIO)[4:]
ROW, CHIN, DOWN, DEAD = PULL
LIFTERS = [
    Lifter("R01", 42.0, 0.004, 81, 1.86, (P45, INC, SD), (ROW, CHIN)),
    Lifter("R02", 36.5, 0.005, 74, 1.79, (NL, P45, HAM), (ROW, DOWN)),
    Lifter("R03", 30.5, 0.010, 69, 1.75, (P45, CON, OA), (DOWN, DEAD)),
    Lifter("R04", 47.0, 0.003, 90, 1.93, (P45, INC, LC1), (ROW, DEAD), 0.05),
    Lifter("R05", 27.0, 0.006, 63, 1.71, (P45C, P45, CON), (ROW, DOWN)),
    Lifter(
        "R06",
        44.0,
        0.006,
        86,
        1.88,
        (INC, P60, SD),
        (CHIN, DEAD),
        stalls_at=4,
        slips=-0.007,
    ),
    Lifter("R07", 33.5, 0.005, 72, 1.77, (NL, HAM, P45), (ROW, CHIN)),
    Lifter("R08", 39.5, 0.004, 79, 1.84, (P45, LC1, CON), (ROW, DOWN)),
    Lifter("R09", 35.0, 0.005, 76, 1.81, (P60, INC, HAM), (ROW, DEAD)),
    Lifter("R10", 25.5, 0.007, 61, 1.69, (P45, SD, LC2), (DOWN,), 0.65),
    Lifter("R11", 38.0, 0.004, 78, 1.82, (OA, P45, INC), (ROW, CHIN), left_right=0.91),
    Lifter("R12", 41.0, 0.005, 84, 1.90, (SD, INC, LC2), (ROW, DEAD)),
    Lifter("R13", 34.0, 0.005, 73, 1.78, (P45, SD), (DOWN,), weeks=range(18, 23)),
    Lifter("R14", 37.0, 0.005, 77, 1.80, (P45, HAM, CON), (ROW, CHIN), 0.30),
]


def variant_of(setup: str) -> str:
    """Variant id of a setup label."""
    return re.split(r" @ | \[", setup)[0]


def equipment_of(setup: str) -> str:
    """Station of a setup label, empty if it names none."""
    return setup.partition(" @ ")[2]


def hands(setup: str) -> int:
    """Number of arms that share the load as it is logged."""
    return 2 if variant_of(setup) in TWO_HANDED else 1


# Published load table (NSCA training-load hand-out, 15 from the textbook): share of
# the one-repetition load by repetitions.
REPS = (1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 12, 15, 25)
SHARE = (1.0, 0.95, 0.93, 0.90, 0.87, 0.85, 0.83, 0.80, 0.77, 0.75, 0.70, 0.65, 0.50)


def between(x: float, xs: tuple[float, ...], ys: tuple[float, ...]) -> float:
    """Straight line through a table with rising ``xs``, flat outside."""
    for x0, x1, y0, y1 in zip(xs, xs[1:], ys, ys[1:], strict=False):
        if x <= x1:
            return y0 + (y1 - y0) * max(0.0, x - x0) / (x1 - x0)
    return ys[-1]


def reps_to_failure(relative_load: float) -> float:
    """Repetitions at a fraction of the one-repetition load."""
    return between(relative_load, SHARE[::-1], REPS[::-1])


def relative_load(reps: float) -> float:
    """Inverse of :func:`reps_to_failure`."""
    return between(reps, REPS, SHARE)


def live(rng: random.Random, lifter: Lifter) -> None:
    """Draw the lifter's strength by week and personal ratios."""
    lifter.level.clear()
    walk = 0.0
    for week in range(WEEKS):
        step = rng.gauss(0, WALK_SD) + lifter.growth
        walk += step if week < lifter.stalls_at else lifter.slips
        lifter.level.append(walk)
    lifter.delta = {
        setup: 0.0 if setup == SB else rng.gauss(0, RATIO_SD) for setup in RATIO
    }


def true_kg(lifter: Lifter, setup: str, week: int) -> float:
    """One-repetition load in the logged convention."""
    if setup in PULL:
        return PULL[setup][0] * lifter.mass_kg * math.exp(0.8 * lifter.level[week])
    per_arm = lifter.curl_kg / 2 * RATIO[setup]
    return per_arm * hands(setup) * math.exp(lifter.level[week] + lifter.delta[setup])


def in_pounds(lifter: Lifter, setup: str) -> bool:
    """Whether the kit is stamped in pounds: R14's gym, and R12's dumbbells."""
    return lifter.code == "R14" or (
        lifter.code == "R12" and setup in RATIO and hands(setup) == 1
    )


def step_of(lifter: Lifter, setup: str) -> float:
    """Smallest change of load the kit allows. [kg]"""
    if in_pounds(lifter, setup):
        return 5 * KG_PER_LB
    if setup in PULL:
        return PULL[setup][1]
    if equipment_of(setup):
        return STEP_KG["stack"]
    return STEP_KG["bar" if hands(setup) == 2 else "dumbbell"]


@dataclass(frozen=True)
class Session:
    """One visit to the gym: when, how good a day, and the lifter's mass."""

    week: int
    day: date
    form: float  # log strength of the day
    mass_kg: float


def blank(lifter: Lifter, setup: str, session: Session, load_kg: float) -> dict:
    """Return what every set has, whatever was done."""
    return {
        "code": lifter.code,
        "day": session.day,
        "setup": setup,
        "load_kg": load_kg,
        "pounds": in_pounds(lifter, setup),
        "mass_kg": session.mass_kg,
        "side": "",
        "reps": None,
        "rir": None,
        "failed": False,
    }


def one_exercise(
    rng: random.Random, lifter: Lifter, setup: str, session: Session
) -> Iterator[dict[str, Any]]:
    """Three sets of one exercise as the lifter would write them down."""
    body = lifter.mass_kg if setup == CHIN else 0.0
    target, reserve = ((10, 2), (8, 2), (6, 1), (4, 1))[session.week % 4]
    fresh_kg = true_kg(lifter, setup, session.week)
    planned = fresh_kg * relative_load(target + reserve) * 1.03 ** rng.gauss(0, 1)
    step = step_of(lifter, setup)
    load = max(step if not body else 0.0, round((planned - body) / step) * step)
    for number in range(3):
        for side in ("left", "right") if variant_of(setup) == OA else ("",):
            able_kg = fresh_kg * math.exp(session.form + rng.gauss(0, SET_SD))
            able_kg *= lifter.left_right ** SIDE_POWER[side]
            relative = (load + body) / able_kg
            row = blank(lifter, setup, session, load) | {"side": side}
            row |= effort(rng, lifter, relative, number, target)
            row |= where(rng, setup, failed=row["failed"])
            if setup in (SB, SD, HAM):
                row |= posture(rng, lifter, relative, number)
            yield row


def effort(
    rng: random.Random, lifter: Lifter, relative: float, number: int, target: int
) -> dict[str, Any]:
    """Repetitions done, and how many the lifter called left."""
    able = round(reps_to_failure(relative) - REPS_LOST_PER_SET * number)
    able = min(max(1, able), 25)
    last = number == 2
    if able < target or (last and rng.random() < 0.3):
        return {"reps": able, "rir": 0, "failed": True}
    reps = min(target + (last and able > target + 3), able)
    left = able - reps
    called = max(0, round(left + rng.gauss(0, 0.5 + 0.15 * left)))
    kept = rng.random() >= lifter.effort_missing
    return {"reps": reps, "rir": called if kept else None, "failed": False}


def where(rng: random.Random, setup: str, *, failed: bool) -> dict[str, Any]:
    """Range of a set, and the angle at which a failed one came to rest."""
    found: dict[str, Any] = {}
    if failed and setup in STICKING_DEG and rng.random() < 0.7:
        angle = STICKING_DEG[setup] + rng.gauss(0, STICKING_SD_DEG)
        found["failed_at"] = 5 * round(angle / 5)
    if setup == P45C:
        found["range"] = (50, 120)
    elif setup == NL and rng.random() < 0.5:
        found["range"] = (30, 120)
    return found


def posture(
    rng: random.Random, lifter: Lifter, relative: float, number: int
) -> dict[str, Any]:
    """Lean, cheating and stance, as the coach saw them."""
    lean = LEAN_DEG * max(0.0, relative - LEAN_FROM) + LEAN_PER_SET_DEG * number
    lean = max(0.0, lean + rng.gauss(0, 1.0))
    return {
        "lean": round(lean),
        "cheat": lean > 6 and rng.random() < 0.7,
        "stance": "split" if lifter.code in ("R03", "R07") else "parallel",
    }


def holds(
    rng: random.Random, lifter: Lifter, session: Session
) -> Iterator[dict[str, Any]]:
    """The heaviest five-second holds at a few angles, on a test day."""
    for setup in (SB, *lifter.variants):
        for angle, ratio in HOLD.get(setup, {}).items():
            able = true_kg(lifter, setup, session.week) * ratio
            able *= math.exp(session.form + rng.gauss(0, 0.02))
            load = round(able / 1.25) * 1.25
            held = {"rir": 0, "failed": True, "hold_s": 5, "angle": angle}
            yield blank(lifter, setup, session, load) | held


def leg_press(
    rng: random.Random, lifter: Lifter, session: Session
) -> Iterator[dict[str, Any]]:
    """Two sets on a machine the catalogue does not know."""
    load = round(2.3 * lifter.mass_kg * 1.004**session.week / 10) * 10
    for _ in range(2):
        done = {"reps": 10, "rir": rng.choice((1, 2, 2, 3))}
        yield blank(lifter, "leg press", session, float(load)) | done


def one_session(
    rng: random.Random, lifter: Lifter, session: Session, number: int
) -> Iterator[dict[str, Any]]:
    """One visit: curls, a pull, and on some days holds or a machine."""
    curls = [lifter.variants[(session.week + number) % len(lifter.variants)]]
    if number == 0 or session.week % 2:
        curls.insert(0, SB)
    for setup in (*curls, lifter.pulls[number % len(lifter.pulls)]):
        yield from one_exercise(rng, lifter, setup, session)
    if lifter.code in HOLDERS and session.week % 7 == 5 and number:
        yield from holds(rng, lifter, session)
    if lifter.code in PRESSERS and session.week % 3 == 0:
        yield from leg_press(rng, lifter, session)


def block(rng: random.Random, lifter: Lifter) -> Iterator[dict[str, Any]]:
    """Every set of one lifter's winter, in order of day."""
    offset = LIFTERS.index(lifter) % 3
    for week in lifter.weeks:
        if week in CLOSED_WEEKS:
            continue
        for number in (0, 1):
            session = Session(
                week,
                FIRST_MONDAY + timedelta(weeks=week, days=offset + 3 * number),
                rng.gauss(0, DAY_SD),
                round(lifter.mass_kg + rng.gauss(0, 0.4), 1),
            )
            sore = lifter.code == "R09" and week >= 22
            for row in one_session(rng, lifter, session, number):
                if sore and row["setup"] in RATIO:
                    row |= {"pain": 4, "note": "inner elbow sore since Monday"}
                if lifter.code == "R06" and week in (9, 15) and row["setup"] == SB:
                    row |= {"note": "night shifts, slept badly"}
                yield row


def winter(rng: random.Random) -> dict[str, list[dict[str, Any]]]:
    """Every lifter's sets by code.

    Personal ratios are centred over the lifters of a setup, so that the ratio
    written down as true is the one of this cohort.
    """
    for lifter in LIFTERS:
        live(rng, lifter)
    for setup in RATIO:
        doers = [lifter for lifter in LIFTERS if setup in lifter.variants]
        middle = sum(lifter.delta[setup] for lifter in doers) / max(1, len(doers))
        for lifter in doers:
            lifter.delta[setup] -= middle
    return {lifter.code: list(block(rng, lifter)) for lifter in LIFTERS}
