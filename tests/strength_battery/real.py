"""Fourteen people with a tested maximum: does the interval from their sets hold it?"""

import datetime as dt
from pathlib import Path
from typing import Any

import pandas as pd

DATA = Path(__file__).parents[1] / "reference" / "bench_reps_to_failure.csv"
VARIANT = "flat_bench_press"
# The source gives no dates: two days apart, heaviest first, is ours
FIRST_DAY = dt.date(2025, 1, 6)


def read_people() -> pd.DataFrame:
    return pd.read_csv(DATA, comment="#")


def as_sets(people: pd.DataFrame) -> pd.DataFrame:
    """Sets to failure: three visits with one load each, then one visit with all."""
    visit = (90 - people["percent"]) // 10
    day = visit.where(people["protocol"] == "three visits", 3) * 2
    return pd.DataFrame(
        {
            "set_id": range(1, len(people) + 1),
            "lifter": people["lifter"].to_numpy(),
            "performed_on": [FIRST_DAY + dt.timedelta(days=int(d)) for d in day],
            "movement": "bench_press",
            "variant": VARIANT,
            "equipment": "barbell",
            "load_kg": people["load_kg"].to_numpy(float),
            "reps": people["reps_to_failure"].to_numpy(int),
            "rir": 0.0,
            "failed": True,
        }
    )


def judge_real(estimator: Any) -> pd.DataFrame:
    """How many of the fourteen intervals hold the tested maximum; on each last day.

    Once with all in one log, once with everybody alone.
    """
    people = read_people()
    tested = people.groupby("lifter")["tested_1rm_kg"].first()
    chosen = {
        "all sets": people,
        "one visit": people[people["protocol"] == "one visit"],
        "80 % sets": people[people["percent"] == 80],
    }
    rows = []
    for name, part in chosen.items():
        sets = as_sets(part).sort_values("performed_on", ignore_index=True)
        alone = [group for _, group in sets.groupby("lifter")]
        for company, logs in (("together", [sets]), ("alone", alone)):
            got = pd.concat([_maxima(log, estimator) for log in logs])
            true = tested[got["lifter"]].to_numpy()
            off = got["strength_kg"] / true - 1
            rows.append(
                {
                    "sets": name,
                    "lifters": company,
                    "held": int(
                        got["low_kg"].le(true).mul(got["high_kg"].ge(true)).sum()
                    ),
                    "of": len(got),
                    "bias": off.median(),
                    "error": (off**2).mean() ** 0.5,
                }
            )
    return pd.DataFrame(rows)


def _maxima(sets: pd.DataFrame, estimator: Any) -> pd.DataFrame:
    last = sets.groupby(["lifter", "variant"], as_index=False)["performed_on"].max()
    wanted = last.rename(columns={"performed_on": "date"}).assign(reps=1)
    return estimator.estimate(sets, wanted)
