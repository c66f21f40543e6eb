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


def naive_strengths(sets: pd.DataFrame, until: dt.date, reps: float) -> dict:
    """Log strength for ``reps`` by rule; the sets are of one lifter and variant."""
    known = sets[sets["performed_on"] <= until]
    left = known["rir"].fillna(0)
    could = known["reps"] + left.mask(known["failed"], 0)
    load = known["load_kg"].to_numpy()
    maximum = load / _share("epley", could)
    days = known["performed_on"].to_numpy()
    late = days > until - dt.timedelta(days=14)
    if not late.any():
        late = days == days.max()
    rules = {f"best_{n}": np.max(load / _share(n, known["reps"])) for n in THREE}
    rules["average"] = maximum.mean()
    rules["two_weeks"] = np.median(maximum[late])
    rules["last_session"] = maximum[days == days.max()].max()
    return {
        rule: float(np.log(kg * _share(rule.removeprefix("best_"), reps)))
        if rule.startswith("best_")
        else float(np.log(kg * _share("epley", reps)))
        for rule, kg in rules.items()
    }
