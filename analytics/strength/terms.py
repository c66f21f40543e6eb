"""Columns of the model that differ between the sets of one exercise and day."""

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analytics.strength.repetitions import LARGEST_REPS, log_gain, repetition_curve

Floats = NDArray[np.float64]

TYPICAL_RESERVE = 2.0  # where the worth of a rep in reserve is taken; assumed
MOST_EARLIER = 4  # earlier sets from which on a further one tires no more; assumed
CURVE_TERMS = ("curve", "rir", "shortfall", "spread_1", "spread_2", "spread_3")
RESERVE_TERMS = (1, 2)  # "rir" and "shortfall": what a rep is worth
STRETCHES = (0.4, 2.5)  # further from the mean relation none is taken to lie; assumed
# "side" and one column for each setup with sides follow if the log has sides.
SET_TERMS = (*CURVE_TERMS, "earlier_sets")


def reserve_steepness(repetitions: Floats) -> Floats:
    """Log strength that one rep in reserve is worth after so many reps."""
    return repetition_curve().mean(repetitions + TYPICAL_RESERVE, 1)


def curve_terms(kind: NDArray[np.str_], called: Floats, repetitions: Floats) -> Floats:
    """Columns ``CURVE_TERMS``; the model's mean of a set is strength plus terms.

    Parameters
    ----------
    kind : ndarray of str, shape (n_sets,)
    called : ndarray, shape (n_sets,)
        From :func:`called_reserve`. [1]
    repetitions : ndarray, shape (n_sets,)
        Repetitions at which the relation is entered, from
        :func:`entered_repetitions`. [1]

    Returns
    -------
    terms : ndarray, shape (n_sets, 6)
    """
    curve = repetition_curve()
    columns = [
        -curve.mean(repetitions),
        -called * curve.mean(repetitions, 1),
        np.where(kind == "floor", -reserve_steepness(repetitions), 0.0),
        *-curve.spread(repetitions).T,
    ]
    return np.stack(columns, axis=1)


def implied_near(
    repetitions: Floats, entered: Floats, effects: Floats
) -> tuple[Floats, Floats]:
    """Log gain of each set, with the steepness of the lifter's own relation.

    Parameters
    ----------
    repetitions : ndarray, shape (n_sets,)
        Done and, if called, in reserve. [1]
    entered : ndarray, shape (n_sets,)
        Repetitions at which the relation was entered in :func:`curve_terms`. [1]
    effects : ndarray, shape (n_sets, 6)
        The lifter's coefficients of ``CURVE_TERMS``.

    Returns
    -------
    gain : ndarray, shape (n_sets,)
        The mean relation at ``entered``, and from there along the lifter's own. What
        the relations differ by at ``entered`` is in the terms.
    stretch : ndarray, shape (n_sets,)
        Steepness of the lifter's own relation over that of the mean one.
    """
    curve = repetition_curve()
    mean = curve.mean(entered, 1)
    own = (1 + effects[:, 0]) * mean
    own += (effects[:, 3:] * curve.spread(entered, 1)).sum(axis=1)
    stretch = np.clip(own / mean, *STRETCHES)
    at = curve.mean(entered)
    return at + stretch * (curve.mean(repetitions) - at), stretch


def expected_repetitions(log_gain_expected: Floats) -> Floats:
    """Repetitions to failure at which the mean relation has the given log gain."""
    reps = np.linspace(1, LARGEST_REPS, 301)
    return np.interp(log_gain_expected, log_gain(reps), reps)


def entered_repetitions(
    log_gain_expected: Floats, *, kind: NDArray[np.str_], lifter: NDArray[np.int64]
) -> Floats:
    """Repetitions to failure at which each set enters the relation.

    Parameters
    ----------
    log_gain_expected : ndarray, shape (n_sets,)
        Expected strength over load. [1]
    kind : ndarray of str, shape (n_sets,)
    lifter : ndarray of int, shape (n_sets,)

    Returns
    -------
    repetitions : ndarray, shape (n_sets,)
        Those that load and strength let expect. Not those done: a good day gives more
        reps at a given load, and a regression on them would take that for a steeper
        curve. Sets without effort mark have the mean of the lifter's, so that what
        they leave in reserve is not taken for the shape of the curve. [1]
    """
    reps = expected_repetitions(log_gain_expected)
    floor = kind == "floor"
    n = np.maximum(np.bincount(lifter, floor), 1)
    mean = np.bincount(lifter, reps * floor) / n
    # A load that was not lifted once says nothing of the relation.
    return np.where(floor, mean[lifter], np.where(kind == "below", 1.0, reps))


def first_terms(sets: pd.DataFrame) -> Floats:
    """Set terms from a first rough strength: the setup's mean of each lifter."""
    kind = sets["kind"].to_numpy(str)
    rough = sets.groupby(["lifter", "setup"])["implied"].transform("mean")
    gain = (rough - sets["log_load"]).to_numpy()
    lifter = pd.factorize(sets["lifter"])[0]
    reps = entered_repetitions(gain, kind=kind, lifter=lifter)
    varying = curve_terms(kind, called_reserve(sets), reps)
    return np.column_stack([varying, earlier_sets(sets), side_terms(sets)])


def called_reserve(sets: pd.DataFrame) -> Floats:
    """Share of the lifter's bias in calling a reserve that each set carries.

    None without a call. Half where none was called to be left: that errs to one side
    alone, and bias grows from failure on (Zourdos 2021); the half is assumed.
    """
    called = (sets["rir"].notna() & ~sets["failed"]).to_numpy(float)
    return called * np.where(sets["rir"] < 0.5, 0.5, 1.0)


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
