"""Columns of the model that differ between the sets of one exercise and day."""

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analytics.strength.repetitions import LARGEST_REPS, log_gain, repetition_curve

Floats = NDArray[np.float64]

TYPICAL_RESERVE = 2.0  # where the worth of a rep in reserve is taken; assumed
MOST_EARLIER = 4  # earlier sets from which on a further one tires no more; assumed
CURVE_TERMS = ("curve", "rir", "shortfall", "spread_1", "spread_2", "spread_3")
# "side" and one column for each setup with sides follow if the log has sides.
SET_TERMS = (*CURVE_TERMS, "earlier_sets")


def reserve_steepness(repetitions: Floats) -> Floats:
    """Log strength that one rep in reserve is worth after so many reps."""
    return repetition_curve().mean(repetitions + TYPICAL_RESERVE, 1)


def curve_terms(
    kind: NDArray[np.str_], called: NDArray[np.bool_], repetitions: Floats
) -> Floats:
    """Columns ``CURVE_TERMS``; the model's mean of a set is strength plus terms.

    Parameters
    ----------
    kind : ndarray of str, shape (n_sets,)
    called : ndarray of bool, shape (n_sets,)
        Whether reps in reserve were called.
    repetitions : ndarray, shape (n_sets,)
        Repetitions at which the relation is entered: for sets to failure and
        sets with reps in reserve those that load and strength let expect. Not
        those done: a good day gives more reps at a given load, and a
        regression on them would take that for a steeper curve. One-sided sets
        have the lifter's usual number, so that they say nothing of the curve's
        shape. [1]

    Returns
    -------
    terms : ndarray, shape (n_sets, 6)
    """
    curve = repetition_curve()
    columns = [
        -curve.mean(repetitions),
        np.where(called, -curve.mean(repetitions, 1), 0.0),
        np.where(kind == "floor", -reserve_steepness(repetitions), 0.0),
        *-curve.spread(repetitions).T,
    ]
    return np.stack(columns, axis=1)


def expected_repetitions(log_gain_expected: Floats) -> Floats:
    """Repetitions to failure at which the mean relation has the given log gain."""
    reps = np.linspace(1, LARGEST_REPS, 301)
    return np.interp(log_gain_expected, log_gain(reps), reps)


def first_terms(sets: pd.DataFrame) -> Floats:
    """Set terms from a first rough strength: the setup's mean of each lifter."""
    kind = sets["kind"].to_numpy(str)
    rough = sets.groupby(["lifter", "setup"])["implied"].transform("mean")
    gain = (rough - sets["log_load"]).to_numpy()
    two_sided = np.isin(kind, ["failure", "rir"])
    usual = usual_repetitions(sets)
    reps = np.where(two_sided, expected_repetitions(gain), usual)
    varying = curve_terms(kind, called_reserve(sets), reps)
    return np.column_stack([varying, earlier_sets(sets), side_terms(sets)])


def usual_repetitions(sets: pd.DataFrame) -> Floats:
    """Mean repetitions of each lifter's one-sided sets, for every set."""
    one_sided = ~sets["kind"].isin(["failure", "rir"])
    reps = sets["repetitions"].where(one_sided)
    mean = reps.groupby(sets["lifter"]).transform("mean")
    return mean.fillna(1.0).to_numpy(float)


def called_reserve(sets: pd.DataFrame) -> NDArray[np.bool_]:
    """Tell which sets have reps in reserve called, also beyond the two-sided limit."""
    return (sets["rir"].notna() & ~sets["failed"]).to_numpy()


def earlier_sets(sets: pd.DataFrame) -> Floats:
    """Count the sets of the same exercise, side and day before each one.

    In the order of the log. An unmarked set has none: what earlier sets cost shows
    in its reserve.
    """
    same = sets.groupby(["lifter", "date", "setup", "side"])
    before = same["log_order"].rank() - 1
    counted = np.minimum(before.to_numpy(float), MOST_EARLIER)
    return np.where(sets["kind"] == "floor", 0.0, counted)


def sided_setups(sets: pd.DataFrame) -> list[str]:
    """Setups in which a side was logged."""
    return sorted(set(sets.loc[sets["side"] != "", "setup"]))


def side_terms(sets: pd.DataFrame) -> Floats:
    """Half for the left side, minus half for the right; then the same by setup.

    An unmarked set has neither: at equal load and reps the weaker side is left
    with less in reserve, and nothing in the set tells how much.
    """
    half = sets["side"].map({"left": 0.5, "right": -0.5}).fillna(0.0)
    half = half.where(sets["kind"] != "floor", 0.0).to_numpy(float)
    names = sided_setups(sets)
    by_setup = [np.where(sets["setup"] == name, half, 0.0) for name in names]
    return np.array([half, *by_setup]).T if names else np.zeros((len(sets), 0))
