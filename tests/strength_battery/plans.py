"""The plans, their settings, and the log that comes of each."""

import datetime as dt
import zlib
from dataclasses import dataclass, field

import numpy as np
import pandas as pd

from .people import Person, draw_cohort, relation_of
from .relations import MAX_REPS
from .schemes import SCHEMES
from .sessions import Trainee

START = dt.date(2025, 1, 6)
VARIANTS = {
    "elbow_flexion": {
        "standing_barbell_curl": "barbell",
        "preacher_curl_45": "barbell",
        "incline_curl_60": "dumbbell",
        "hammer_curl": "dumbbell",
        "low_cable_curl": "cable",
    },
    "bench_press": {
        "flat_bench_press": "barbell",
        "incline_bench_press": "barbell",
        "close_grip_bench_press": "barbell",
        "paused_bench_press": "barbell",
        "dumbbell_bench_press": "dumbbell",
    },
}
COLUMNS = [
    "lifter",
    "performed_on",
    "variant",
    "load_kg",
    "reps",
    "rir",
    "failed",
]


@dataclass(frozen=True)
class Plan:
    """A plan; a tuple of a setting holds what its logs take in turn or at random."""

    name: str
    scheme: str
    others: str = ""  # scheme of the variants that are not the reference
    lifters: tuple[int, ...] = (1, 2, 4, 7, 10)
    weeks: tuple[int, ...] = (6, 10, 12, 16, 22, 30)
    variants: tuple[int, ...] = (1, 2, 3, 4, 5)
    step_kg: tuple[float, ...] = (0, 1, 2.5, 5)
    marked: tuple[float, ...] = (0, 0.5, 1)
    marks_failures: tuple[bool, ...] = (True, False)
    call_shift: int = 0
    deloads: bool = False
    event: str = ""
    asked_left: int = 2


_LONG = {"weeks": (14, 18, 24, 30)}
_TWENTY = {"weeks": (20,), "variants": (1, 2)}
_LONE = {"lifters": (1,), "step_kg": (2.5,)}
PLANS = {
    plan.name: plan
    for plan in (
        *(Plan(name, name) for name in SCHEMES if name != "to_failure"),
        Plan("to_failure", "to_failure", asked_left=0),
        Plan("failures_told", "to_failure", marked=(1,), marks_failures=(True,)),
        Plan("3x8_reserve_told", "3x8", marked=(1,)),
        Plan("3x8_nothing_told", "3x8", marked=(0,), marks_failures=(False,)),
        Plan("lone_3x8_told", "3x8", marked=(1,), weeks=(12,), variants=(1,), **_LONE),
        Plan("lone_3x10", "3x10", weeks=(12,), variants=(1, 2), **_LONE),
        Plan("calls_one_off", "3x8", marked=(1,), call_shift=1),
        Plan("8_and_10", "3x8", "3x10", lifters=(4, 6, 10), variants=(2, 3, 5)),
        Plan("5_and_12", "5x5", "double_progression", variants=(2, 3, 4)),
        Plan("deloads", "3x8", deloads=True, weeks=(11, 14, 16, 23)),
        Plan("layoff", "3x8", event="layoff", **_LONG),
        Plan("layoff_undulating", "undulating_5_10", event="layoff", **_LONG),
        Plan("step", "3x10", event="step", **_LONG),
        Plan("stall", "double_progression", event="stall", **_LONG),
        Plan("plateau", "3x8", event="plateau", **_TWENTY),
        Plan("steady", "3x8", event="steady", **_TWENTY),
    )
}


@dataclass(frozen=True)
class Ask:
    """One question for a next load, and what any load would give on that day."""

    lifter: str
    variant: str
    reps: int
    rir: int
    on_date: dt.date
    reps_grid: np.ndarray = field(repr=False)
    load_at_kg: np.ndarray = field(repr=False)  # falls along ``reps_grid``

    def result(self, load_kg: float) -> float:
        """Repetitions and reserve that she counts on average at a load."""
        return float(np.interp(-load_kg, -self.load_at_kg, self.reps_grid))

    @property
    def exact_kg(self) -> float:
        """The load that gives the repetitions and reserve asked for."""
        return float(np.interp(self.reps + self.rir, self.reps_grid, self.load_at_kg))


@dataclass(frozen=True)
class Log:
    """A log and the truth behind it.

    ``sets`` columns set_id, lifter, performed_on, movement, variant, equipment,
    load_kg, reps, rir, failed; ``truth`` lifter, variant, performed_on, reps,
    strength_kg; ``ratios`` lifter (empty: the cohort's), variant, reference, ratio
    at one repetition; ``facts`` the settings and ``asks``.
    """

    plan: str
    seed: int
    sets: pd.DataFrame
    truth: pd.DataFrame
    ratios: pd.DataFrame
    facts: dict


def make_log(plan_name: str, seed: int) -> Log:
    plan = PLANS[plan_name]
    rng = np.random.default_rng([zlib.crc32(plan_name.encode()), seed])
    settings = draw_settings(rng, plan, seed)
    people = draw_cohort(rng, settings)
    rows: list[tuple] = []
    for person in people:
        _train(Trainee(person, settings, rng, rows), settings)
    sets = pd.DataFrame(rows, columns=COLUMNS)
    equipment = VARIANTS[settings["movement"]]
    sets.insert(2, "movement", settings["movement"])
    sets.insert(4, "equipment", sets["variant"].map(equipment))
    sets.insert(0, "set_id", np.arange(1, len(sets) + 1))
    return Log(
        plan_name,
        seed,
        sets,
        _truth(people, sets, settings),
        _ratios(people, settings),
        settings | {"asks": _asks(people, sets, settings, plan)},
    )


def _in_turn(plan: Plan, seed: int, setting: str, values: tuple):
    """Each value once in as many seeds as there are values, in an order of its own."""
    round_number, place = divmod(seed, len(values))
    code = zlib.crc32(f"{plan.name} {setting}".encode())
    order = np.random.default_rng([code, round_number]).permutation(len(values))
    return values[order[place]]


def draw_settings(rng, plan: Plan, seed: int) -> dict:
    in_turn = {
        name: _in_turn(plan, seed, name, values)
        for name, values in {
            "movement": tuple(VARIANTS),
            "lifters": plan.lifters,
            "weeks": plan.weeks,
            "variants": plan.variants,
            "days_a_week": (2, 3),
            "counts_down": (True, True, False),
            "step_kg": plan.step_kg,
            "marked": plan.marked,
            "marks_failures": plan.marks_failures,
        }.items()
    }
    names = list(VARIANTS[in_turn["movement"]])[: in_turn["variants"]]
    weeks = in_turn["weeks"]
    # every plan begins at another relation, so that few logs still meet many
    relation, shifted = relation_of(seed + zlib.crc32(plan.name.encode()) % 18)
    share = 0.6 if plan.event == "plateau" else rng.uniform(0.35, 0.7)
    return in_turn | {
        "variants": names,
        "schemes": {v: plan.others or plan.scheme for v in names}
        | {names[0]: plan.scheme},
        "ratios": {
            v: 1.0 if v == names[0] else float(np.exp(rng.uniform(-0.45, 0.15)))
            for v in names
        },
        "between_sd": float(rng.uniform(0.03, 0.08)),
        "relation": relation,
        "shifted": shifted,
        "call_shift": plan.call_shift,
        "deloads": plan.deloads,
        "adapts": plan.scheme == "to_failure" or weeks > 12 or rng.random() < 0.8,
        "event": plan.event,
        "event_week": round(weeks * share) if plan.event else None,
        "weeks_off": int(rng.integers(2, 6)),
    }


def _train(trainee: Trainee, settings: dict) -> None:
    """Every session of the log: two variants a day at most, in turn."""
    names, days = settings["variants"], settings["days_a_week"]
    layoff = range(0)
    if settings["event"] == "layoff":
        at = settings["event_week"]
        layoff = range(at, at + settings["weeks_off"])
    turn = 0
    for week in range(settings["weeks"]):
        if week in layoff:
            continue
        if layoff and week == layoff.stop:
            trainee.after_layoff()
        for number in range(days):
            day = week * 7 + number * 2
            count = min(2, len(names))
            today = [names[(turn + i) % len(names)] for i in range(count)]
            turn += count if len(names) > 2 else 1
            date = START + dt.timedelta(days=day)
            trainee.train(day, date, today, week, number)


def _truth(people: list[Person], sets: pd.DataFrame, settings: dict) -> pd.DataFrame:
    days = sets[["lifter", "variant", "performed_on"]].drop_duplicates()
    by_code = {person.code: person for person in people}
    parts = []
    for (code, variant), group in days.groupby(["lifter", "variant"], sort=False):
        day = np.array([(d - START).days for d in group["performed_on"]])
        trained = SCHEMES[settings["schemes"][variant]][1]
        for reps in (1, *trained):
            kg = by_code[code].strength_kg(variant, day, reps)
            parts.append(group.assign(reps=reps, strength_kg=kg))
    return pd.concat(parts, ignore_index=True)


def _ratios(people: list[Person], settings: dict) -> pd.DataFrame:
    reference, *others = settings["variants"]
    rows = [("", v, reference, settings["ratios"][v]) for v in others]
    rows += [
        (p.code, v, reference, float(p.strength_kg(v, -1, 1) / np.exp(p.log_max[-1])))
        for p in people
        for v in others
    ]
    return pd.DataFrame(rows, columns=["lifter", "variant", "reference", "ratio"])


def _asks(people, sets: pd.DataFrame, settings: dict, plan: Plan) -> list[Ask]:
    """Two days after the last session, the first trained repetitions again.

    Where repetitions are counted down, half a repetition more than asked must be in
    her for the count to be right on average.
    """
    uncounted = np.arange(1.0, MAX_REPS, 0.05)
    asks = []
    last_days = sets.groupby(["lifter", "variant"])["performed_on"].max()
    for person in people:
        for variant in settings["variants"]:
            last = last_days.get((person.code, variant))
            if last is None:
                continue
            day = (last - START).days + 2
            reps = SCHEMES[settings["schemes"][variant]][1][0]
            asks.append(
                Ask(
                    person.code,
                    variant,
                    reps,
                    plan.asked_left,
                    START + dt.timedelta(days=day),
                    uncounted - (0.5 if person.counts_down else 0.0),
                    person.strength_kg(variant, day, uncounted),
                )
            )
    return asks
