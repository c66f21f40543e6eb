"""Rules of thumb: what an estimator has to be worth more than.

Each gives one number of log strength for some repetitions, from the sets of one lifter
in one variant up to a date. Where nothing is marked, nothing is added to the
repetitions.
"""

import datetime as dt

import numpy as np
import pandas as pd

from .relations import PRINTED

THREE = ("epley", "brzycki", "lombardi")


def _share(relation: str, reps):
    """Share of the maximum; a single is the maximum."""
    reps = np.clip(np.asarray(reps, dtype=float), 1, 30)
    return np.where(reps == 1, 1.0, PRINTED[relation](reps))


def by_cell(sets: pd.DataFrame) -> dict[tuple[str, str], dict[str, np.ndarray]]:
    """What the rules need of each lifter and variant."""
    left = sets["rir"].mask(sets["failed"], 0).fillna(0)
    columns = {
        "day": sets["performed_on"].map(dt.date.toordinal).to_numpy(),
        "load_kg": sets["load_kg"].to_numpy(),
        "reps": sets["reps"].to_numpy(),
        "could": (sets["reps"] + left).to_numpy(),
    }
    places = sets.groupby(["lifter", "variant"]).indices
    return {
        cell: {name: values[rows] for name, values in columns.items()}
        for cell, rows in places.items()
    }


def naive_strengths(cell: dict[str, np.ndarray], until: dt.date, reps: float) -> dict:
    """Log strength for ``reps`` by rule, from the sets of a cell up to a date."""
    last = until.toordinal()
    known = cell["day"] <= last
    day, load = cell["day"][known], cell["load_kg"][known]
    maximum = load / _share("epley", cell["could"][known])
    late = day > last - 14
    if not late.any():
        late = day == day.max()
    maxima = {
        "average": maximum.mean(),
        "two_weeks": np.median(maximum[late]),
        "last_session": maximum[day == day.max()].max(),
    }
    found = {rule: np.log(kg * _share("epley", reps)) for rule, kg in maxima.items()}
    for name in THREE:
        best = np.max(load / _share(name, cell["reps"][known]))
        found[f"best_{name}"] = np.log(best * _share(name, reps))
    return found
