"""A plain estimator to stand beside any other: published relations, a local level.

Each set gives log load + g(R); days follow a random walk; six published relations are
averaged, with a personal steepness around them. Every constant is a round number.
"""

import numpy as np
import pandas as pd

from .relations import PRINTED

RELATIONS = [f for name, f in PRINTED.items() if name not in ("lander", "kemmler")]
DAY_SD, WALK_SD, SET_SD, STEEPNESS_SD, TAU = 0.025, 0.017, 0.02, 0.2, 0.06
UNSAID, UNTOLD_LEFT, Z90 = 0.5, 2.5, 1.645  # repetitions


def _lift(reps) -> np.ndarray:
    """Log of maximum over load, one row a relation."""
    reps = np.clip(np.asarray(reps, dtype=float), 1, 30)
    return np.stack([np.log(f(1.0) / f(reps)) for f in RELATIONS])


def _days(sets: pd.DataFrame) -> pd.DataFrame:
    """One row a lifter, variant and day: its freshest set, as most repetitions say."""
    told = sets["failed"] | sets["rir"].notna()
    left = (sets["rir"] + UNSAID).mask(sets["failed"])
    habit = left.groupby(sets["lifter"]).transform("mean").fillna(UNTOLD_LEFT)
    left = left.fillna(habit).mask(sets["failed"], 0.0)
    sets = sets.assign(could=sets["reps"] + left, told=told)
    sets["score"] = np.log(sets["load_kg"]) + _lift(sets["could"]).mean(axis=0)
    keys = ["lifter", "variant", "performed_on"]
    best = sets.loc[sets.groupby(keys)["score"].idxmax()].reset_index(drop=True)
    # a day's luck, and what stays as long as the lifter calls and trains as she does
    luck, lasting = np.select(
        [best["failed"], best["told"]], [[[0.5], [0.3]], [[1.0], [0.8]]], [[1.5], [1.5]]
    )
    one_rep = (_lift(best["could"] + 1) - _lift(best["could"])).mean(axis=0)
    best["variance"] = DAY_SD**2 + SET_SD**2 + (one_rep * luck) ** 2
    best["lasting_sd"] = one_rep * lasting
    best["week"] = [d.toordinal() / 7 for d in best["performed_on"]]
    return best


def _level(days: pd.DataFrame, week: float, reps: float) -> tuple[float, float]:
    """Log load for ``reps`` in a week, and its variance."""
    t, v = days["week"].to_numpy(), days["variance"].to_numpy()
    walk = 0.3**2 + WALK_SD**2 * (30 - np.abs(t[:, None] - t))
    gain = np.linalg.solve(
        walk + np.diag(v), 0.3**2 + WALK_SD**2 * (30 - np.abs(t - week))
    )
    lift = _lift(days["could"])
    y = np.log(days["load_kg"].to_numpy()) + lift - _lift(reps)[:, None]
    centre = np.average(y, axis=1, weights=1 / v)
    by_relation = centre + (y - centre[:, None]) @ gain
    left = 0.3**2 + WALK_SD**2 * 30
    left -= gain @ (0.3**2 + WALK_SD**2 * (30 - np.abs(t - week)))
    stretch = STEEPNESS_SD * float((lift.mean(axis=0) @ gain) - _lift(reps).mean())
    lasting = days["lasting_sd"].to_numpy() @ gain
    return float(by_relation.mean()), float(
        left + by_relation.var() + stretch**2 + lasting**2
    )


def estimate(sets: pd.DataFrame, wanted: pd.DataFrame) -> pd.DataFrame:
    cells = dict(tuple(_days(sets).groupby(["lifter", "variant"])))
    rows = [
        _level(cells[row.lifter, row.variant], row.date.toordinal() / 7, row.reps)
        for row in wanted.itertuples()
    ]
    mean, variance = np.array(rows).T
    width = Z90 * np.sqrt(variance)
    return wanted.assign(
        strength_kg=np.exp(mean),
        low_kg=np.exp(mean - width),
        high_kg=np.exp(mean + width),
    )


def ratios(sets: pd.DataFrame, reference: str) -> pd.DataFrame:
    cells = dict(tuple(_days(sets).groupby(["lifter", "variant"])))
    rows = []
    for variant in sorted(set(sets["variant"]) - {reference}):
        pairs = []
        for lifter in sets["lifter"].unique():
            both = [cells.get((lifter, v)) for v in (variant, reference)]
            if any(days is None for days in both):
                continue
            week = min(float(days["week"].max()) for days in both)
            (a, va), (b, vb) = (_level(days, week, 1) for days in both)
            pairs.append((a - b, va + vb + TAU**2))
        if pairs:
            difference, variance = np.array(pairs).T
            weight = 1 / variance
            mean = np.average(difference, weights=weight)
            width = Z90 * np.sqrt(1 / weight.sum())
            rows.append(
                (variant, reference, *np.exp([mean, mean - width, mean + width]))
            )
    return pd.DataFrame(rows, columns=["variant", "reference", "ratio", "low", "high"])


def advise(sets, lifter, variant, reps, rir, on_date) -> tuple[float, float, float]:
    asked = pd.DataFrame(
        {"lifter": [lifter], "variant": [variant], "date": [on_date]}
    ).assign(reps=reps + rir)
    hers = (sets["lifter"] == lifter) & (sets["variant"] == variant)
    row = estimate(sets[hers], asked).iloc[0]
    return row["strength_kg"], row["low_kg"], row["high_kg"]
