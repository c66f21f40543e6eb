"""Logs written as somebody else would simulate them, for the whole line to the verdict.

Nothing is shared with the strength model or the curve test: loads are planned, rounded
to what the rack holds, reps happen as strength, form and tiredness allow, and half of
the sets say how hard they were. Only the true ratios come from the mechanics.

``python -m analytics.cli.bench.whole_logs [LOGS]`` renews ``pipeline.csv`` of the
evidence, which the method page shows (about half an hour).
"""

import sys
import tempfile
import tomllib
from collections import Counter
from importlib.resources import files
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analytics.catalogue import load_as_logged, load_catalogue
from analytics.cli.bench.ship import ship
from analytics.evidence import CurveTest, curve_test
from analytics.evidence.predictions import structures_of
from analytics.evidence.verdict import AGREES, DISAGREES, NOT_ENOUGH
from analytics.intake import parse_column_map, take_in
from analytics.mechanics import log_ratio_draws
from analytics.outgoing import frame_csv
from analytics.store import Store
from analytics.strength import fitted

Floats = NDArray[np.float64]

Posed = tuple[str, tuple[float, float] | None]  # variant and range
_PLAN = tomllib.loads(files(__package__).joinpath("whole_logs.toml").read_text("utf-8"))
MOVEMENT = str(_PLAN["movement"])
REFERENCE: Posed = (str(load_catalogue().movements[MOVEMENT].reference), None)


def _posed(name: str) -> list[Posed]:
    return [(v, (span[0], span[1]) if span else None) for v, *span in _PLAN[name]]


HELD, HOLD_DEG = str(_PLAN["hold_variant"]), tuple(_PLAN["hold_deg"])
DESIGNS: dict[str, tuple[list[Posed], tuple[float, ...]]] = {
    "ordinary": (_posed("ordinary"), ()),
    "ranges": (_posed("ranges"), ()),
    "ranges and holds": (_posed("ranges"), HOLD_DEG),
    "two variants": (_posed("ordinary")[:2], ()),
}
TRUTHS = ("peaked", "one peaked curve", "flat", "inverted", "leverage")
MONOTONE = ("rising", "falling")
COLUMN_MAP = """
[columns]
lifter = "who"
performed_on = "day"
exercise = "lift"
load = "kg"
reps = "reps"
rir = "left"
failed = "failed"
range_from_deg = "from"
range_to_deg = "to"
hold_s = "held"
angle_deg = "at"
[settings]
unit = "kg"
dates = "iso"
"""


def true_log_ratios(
    truth: str, setups: list[Posed], reference: Posed, *, seed: int
) -> Floats:
    """Log ratios per arm under one idea of the joint.

    Parameters
    ----------
    truth : str
        One of ``TRUTHS`` or ``MONOTONE``. ``one peaked curve``: a single published
        muscle set and curve, another one for every seed; the others are medians over
        all of them.
    setups : list of (variant, range)
        What is compared.
    reference : (variant, range)
        What it is compared with.
    seed : int
        Of the log.

    Returns
    -------
    log_ratios : ndarray, shape (len(setups),)
        Natural logarithms. [1]
    """
    shape = "peaked" if truth == "one peaked curve" else truth
    draws = log_ratio_draws(
        setups, reference=reference, shape=shape, n_draws=600, seed=77, person_frac=0.3
    )
    if truth == "one peaked curve":
        among = structures_of(len(draws), reference[0])
        draws = draws[among[seed % len(among)]]
    return np.asarray(np.median(draws, axis=0))


def simulate(
    truth: str,
    design: str,
    *,
    seed: int,
    lifters: int | None = None,
    weeks: int | None = None,
) -> pd.DataFrame:
    """Write sets of people over weeks, as they would themselves.

    Parameters
    ----------
    truth, design : str
        A truth, and one of ``DESIGNS``.
    seed : int
        Of everything.
    lifters, weeks : int, optional
        8 to 14 people and 12 to 24 weeks without.

    Returns
    -------
    log : DataFrame
        Columns as in ``COLUMN_MAP``.
    """
    rng = np.random.default_rng(seed)
    setups, held = DESIGNS[design]
    lifters = lifters or int(rng.integers(8, 15))
    weeks = weeks or int(rng.integers(12, 25))
    ratios = np.r_[0.0, true_log_ratios(truth, setups, REFERENCE, seed=seed)]
    spread = rng.uniform(0.04, 0.06)
    holds: list[Posed] = [(HELD, (angle, angle)) for angle in held]
    at_hold = (
        true_log_ratios(truth, holds, holds[-1], seed=seed) if holds else np.empty(0)
    )
    rows: list[dict[str, Any]] = []
    for number in range(lifters):
        person: dict[str, Any] = {
            "who": f"S{number:02d}",
            "level": np.log(rng.normal(20, 3)),  # kg per arm in the reference
            "gain": rng.normal(0.003, 0.002),
            "own": ratios + np.r_[0, rng.normal(0, spread, len(setups))],
            "slope": rng.normal(1, 0.08),
        }
        others = rng.permutation(np.arange(1, len(setups) + 1))
        does = np.r_[0, others[: rng.integers(min(3, len(setups)), len(setups) + 1)]]
        for week in range(weeks):
            for day in (7 * week, 7 * week + 3):
                if rng.random() < 0.9:
                    today = rng.choice(does, size=min(3, len(does)), replace=False)
                    rows += _session(rng, person, [REFERENCE, *setups], today, day)
        for angle, ratio in zip(held, at_hold, strict=True):
            rows += _held(rng, person, angle, ratio)
    log = pd.DataFrame(rows)
    days = pd.Timestamp("2025-01-06") + pd.to_timedelta(log["day"], unit="D")
    return log.assign(day=days.dt.date.astype(str))


def _held(
    rng: np.random.Generator, person: dict[str, Any], angle_deg: float, ratio: float
) -> list[dict[str, Any]]:
    """Two holds to failure at one angle."""
    kg = 2 * np.exp(person["level"] + ratio + rng.normal(0, 0.05, 2))
    return [
        {
            **{"who": person["who"], "day": 30, "lift": HELD, "kg": load},
            **{"held": 5, "at": angle_deg, "failed": "yes"},
        }
        for load in kg
    ]


def _session(
    rng: np.random.Generator,
    person: dict[str, Any],
    setups: list[Posed],
    today: NDArray[np.int_],
    day: int,
) -> list[dict[str, Any]]:
    """Two or three sets of each setup; straight load, tiring from set to set."""
    form = rng.normal(0, 0.025)
    rows = []
    for j in today:
        name, span = setups[j]
        variant = load_catalogue().variants[name]
        top = person["level"] + person["gain"] * day / 7 + form + person["own"][j]
        one = load_as_logged(np.exp(top), variant.arms_share)
        slope = person["slope"] / 30
        plan = int(rng.integers(5, 11))
        step = 1.0 if variant.implement == "dumbbell" else 2.5
        wish = one * (1 + slope) / (1 + slope * (plan + rng.integers(0, 3)))
        kg = max(step, step * np.round(wish / step))
        for count in range(int(rng.integers(2, 4))):
            today_one = one * np.exp(rng.normal(0, 0.02)) * (1 + slope)
            able = int((today_one / kg - 1) / slope - 0.5 * count)
            if able < 1:
                continue
            failed = rng.random() < 0.25
            reps = able if failed else min(plan, able)
            told = rng.random() < 0.5
            left = max(0, round(able - reps + rng.normal(0, 0.7)))
            rows.append(
                {
                    **{"who": person["who"], "day": day, "lift": name, "kg": kg},
                    **{"reps": reps, "left": left if told and not failed else None},
                    "failed": "yes" if told and failed else None,
                    **({"from": span[0], "to": span[1]} if span else {}),
                }
            )
    return rows


def verdict_on(log: pd.DataFrame, folder: Path) -> CurveTest:
    """Bring a log in, fit strength, test the curve: as the program does it.

    Parameters
    ----------
    log : DataFrame
        From `simulate`.
    folder : Path
        An empty one, for the file and the store.

    Returns
    -------
    test : CurveTest
        Its verdict.
    """
    path = folder / "log.csv"
    for name in ("reps", "left", "failed", "from", "to", "held", "at"):
        if name not in log:
            log[name] = None
    path.write_text(frame_csv(log), "utf-8")
    store = Store(folder / "store.duckdb")
    result = take_in(store, path, column_map=parse_column_map(COLUMN_MAP))
    assert result.rejected == 0
    return curve_test(fitted(store))


LOGS = 12
CASES = [
    *((truth, "ordinary") for truth in TRUTHS),
    *((truth, "ranges") for truth in TRUTHS),
    *((truth, "ranges and holds") for truth in (*TRUTHS, *MONOTONE)),
    ("peaked", "two variants"),
    ("flat", "two variants"),
]
VERDICTS = (AGREES, DISAGREES, NOT_ENOUGH)


def main(logs: int = LOGS) -> None:
    """Renew the shipped table, a log of every case at a time."""
    counts: dict[tuple[str, str], Counter[str]] = {case: Counter() for case in CASES}
    for seed in range(logs):
        for truth, design in CASES:
            log = simulate(truth, design, seed=seed)
            with tempfile.TemporaryDirectory() as folder:
                test = verdict_on(log, Path(folder))
            counts[truth, design][test.verdict] += 1
            lead = {k: round(v, 1) for k, v in test.log_evidence.items()}
            print(seed, truth, design, len(log), test.verdict, lead, flush=True)
        rows = [
            {"design": design, "truth": truth, "logs": seed + 1}
            | {verdict: count[verdict] for verdict in VERDICTS}
            for (truth, design), count in counts.items()
        ]
        ship(pd.DataFrame(rows), "pipeline.csv", f"seeds 0 to {seed} of whole logs")


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
