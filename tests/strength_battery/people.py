"""Simulated lifters: strength by day, relation, reserve, tiredness.

Spreads are read from published groups of people, each beside its number; what had
no source is marked as common practice.
"""

from dataclasses import dataclass

import numpy as np

from .relations import NAMES, Relation, draw_log_share

MAX_KG = {"elbow_flexion": 42.0, "bench_press": 85.0}  # common practice, no source
# SD of log repetitions between people at one share of the maximum: 0.14 to 0.42 in
# thirteen groups (median 0.25), less what one repetition of luck adds to it
PEOPLE_SD = 0.20
EXERCISES_SD = 0.10  # groups of one exercise differ by 0.06 to 0.20
TAIL_DF = 5  # now and then a very good or bad day; assumed
DAY_SD = 0.022  # with one repetition of luck this makes the 3.4 % of a real log
SET_REPS_SD = 0.5  # retest of repetitions 0.7 to 1.1, the day's form included
KEPT_BY_REST_MIN = {1: 0.60, 2: 0.72, 3: 0.80, 5: 0.88}  # Ratamess, Senna, Willardson


@dataclass(frozen=True)
class Person:
    code: str
    log_max: np.ndarray  # by day, of the reference variant
    offsets: dict[str, float]  # log ratio of each variant to the reference
    relations: dict[str, Relation]
    day_sd: float
    call_bias: float  # repetitions left unsaid
    call_sd: float
    target_left: int
    kept: float  # share of repetitions kept after a set to failure
    counts_down: bool

    def strength_kg(self, variant: str, day, reps):
        """Load liftable for ``reps`` on a day without luck."""
        level = self.log_max[day] + self.offsets[variant]
        return np.exp(level + self.relations[variant].log_share_at(reps))

    def count(self, reps: float) -> int:
        return int(np.floor(reps if self.counts_down else reps + 0.5))


def draw_cohort(rng, settings: dict) -> list[Person]:
    """People of one log, with their cohort's relation and ratios in common."""
    movement, variants = settings["movement"], settings["variants"]
    shared = draw_log_share(rng, settings["relation"], settings["shifted"], movement)
    cohort_log_factor = rng.normal(0, EXERCISES_SD)
    exercise_log_factors = {v: rng.normal(0, 0.08) for v in variants}
    between = settings["between_sd"]
    people = []
    for number in range(settings["lifters"]):
        own = rng.normal(0, PEOPLE_SD)
        factors = {
            v: cohort_log_factor + exercise_log_factors[v] + own + rng.normal(0, 0.08)
            for v in variants
        }
        offsets = {
            v: np.log(settings["ratios"][v]) + rng.normal(0, between) for v in variants
        }
        offsets[variants[0]] = 0.0
        people.append(
            Person(
                code=f"L{number + 1:02d}",
                log_max=draw_path(rng, settings),
                offsets=offsets,
                relations={v: Relation(shared, np.exp(factors[v])) for v in variants},
                day_sd=DAY_SD * np.exp(rng.normal(0, 0.3)),
                call_bias=rng.normal(0.5, 0.8),  # Halperin 2022: 0.95; Refalo: -0.17
                call_sd=rng.uniform(0.5, 1.2),
                target_left=int(rng.integers(0, 4)),
                kept=KEPT_BY_REST_MIN[int(rng.choice([1, 2, 3, 3, 5]))],
                counts_down=settings["counts_down"],
            )
        )
    return people


def draw_path(rng, settings: dict) -> np.ndarray:
    """Log maximum by day: trend, slow wandering, and what the plan has happen."""
    n_days = settings["weeks"] * 7 + 8
    week = np.arange(n_days) / 7
    weekly_gain = rng.normal(0.004, 0.005)  # trained people: 0.2 to 0.5 %, SD 0.6
    wander_sd = rng.uniform(0.006, 0.019)  # per root week; 0.019 in a real log
    event, at = settings["event"], settings["event_week"]
    gained = weekly_gain * week
    if event == "plateau":
        wander_sd, gained = 0.006, rng.uniform(0.006, 0.015) * np.minimum(week, at)
    elif event == "steady":
        wander_sd, gained = 0.006, rng.uniform(0.006, 0.015) * week
    elif event == "stall":
        gained = np.where(week < at, abs(weekly_gain) * week, abs(weekly_gain) * at)
    elif event == "layoff":
        weeks_off = settings["weeks_off"]
        lost = max(rng.normal(0.006 * weeks_off, 0.02), -0.02)  # Ogasawara, Kraemer
        off = np.interp(week, [at, at + weeks_off, at + 2 * weeks_off + 1], [0, 1, 0])
        gained = weekly_gain * np.minimum(week, at) - lost * off
        gained += weekly_gain * np.maximum(week - at - weeks_off, 0)
    elif event == "step":
        size = rng.choice([rng.uniform(-0.18, -0.08), rng.uniform(0.06, 0.12)])
        gained = gained + np.where(week >= at, size, 0)
    wander = np.cumsum(rng.normal(0, wander_sd / np.sqrt(7), n_days))
    start = np.log(MAX_KG[settings["movement"]]) + rng.normal(0, 0.25)
    return start + gained + wander


def relation_of(number: int) -> tuple[str, bool]:
    """Each relation in turn, every other one shifted, over two rounds all both ways."""
    return NAMES[number % len(NAMES)], number % 2 == 0
