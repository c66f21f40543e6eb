"""What a log tells of the lifter's own repetition relation and calls of reserve.

Only contrasts tell: sets of one exercise near in time, near failure, at different
loads, or to failure beside called. Scatter at one load tells nothing, so each set
enters the relation at the repetitions that its load lets expect, not at those done; a
steady trend within a window is set aside, since heavier is later in most plans.
"""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analytics.strength.core.two_level import TwoLevels, two_levels
from analytics.strength.model.outcome import Outcomes
from analytics.strength.model.relation import (
    PARAMETERS,
    gain_slopes,
    priors,
    repetitions_at,
)

Floats = NDArray[np.float64]

WINDOW_DAYS = 28
TREND_SD = 0.02  # of log strength per week within a window; wide
NEAR_FAILURE = 3.0  # most repetitions called to be left
LONGEST_SET = 15.0  # repetitions; published relations spread beyond
LEARNED = tuple(PARAMETERS.index(p) for p in ("ln_k", "shape", "tired"))
SHAPE_PERSON_SD = (
    0.05  # people differ in K, hardly in shape: one suffices (Mitter 2023)
)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Relation:
    """Relation and calls of every lifter, as deviations from the published means.

    Attributes
    ----------
    levels : TwoLevels
        All ``relation.PARAMETERS``; those a log cannot tell keep their prior.
    """

    levels: TwoLevels

    @property
    def mean(self) -> Floats:
        """Shape (n_lifters, n_parameters)."""
        return self.levels.mean

    @property
    def cov(self) -> Floats:
        """Shape (n_lifters, n_parameters, n_parameters)."""
        return self.levels.cov


def learn(
    sets: pd.DataFrame, outcomes: Outcomes, lifter: NDArray[np.int64], ln_k: Floats
) -> Relation:
    """Posterior of every lifter's relation and calls.

    Parameters
    ----------
    sets : DataFrame
        Of :class:`.observe.Observations`.
    outcomes : Outcomes
        The same sets at the published means.
    lifter : ndarray of int, shape (n_sets,)
        Number of each set's lifter.
    ln_k : ndarray, shape (n_sets,)
        Log of the published K of each set's exercise.

    Returns
    -------
    relation : Relation
    """
    person, common = _prior_covariances()
    n, p = int(lifter.max()) + 1, len(PARAMETERS)
    information, weighted = np.zeros((n, p, p)), np.zeros((n, p))
    expected = _expected(sets, outcomes, ln_k)
    near = _near_failure(sets, expected)
    if near.any():
        at = np.array(LEARNED)
        windows = _windows(sets[near], outcomes.take(near), expected[near], ln_k[near])
        who = lifter[near][windows.first_row]
        np.add.at(information, (who[:, None, None], at[:, None], at), windows.precision)
        np.add.at(weighted, (who[:, None], at), windows.weighted)
    return Relation(
        levels=two_levels(
            information, weighted, person_cov=person, common_cov=common
        )
    )


def _window(sets: pd.DataFrame) -> NDArray[np.int64]:
    """Number of each set's window: one exercise, some weeks."""
    block = sets["date"].to_numpy("datetime64[D]").astype(int) // WINDOW_DAYS
    by = sets.assign(block=block).groupby(["lifter", "setup", "side", "block"])
    return by.ngroup().to_numpy()


def _expected(sets: pd.DataFrame, outcomes: Outcomes, ln_k: Floats) -> Floats:
    """Repetitions that a set's load lets expect, from its window; NaN if none tells."""
    told = sets["kind"].isin(["failure", "rir"]).to_numpy()
    window = _window(sets)
    weight = told / outcomes.variance
    total = np.bincount(window, weight)
    level = np.bincount(window, weight * outcomes.implied)
    with np.errstate(invalid="ignore"):
        level = (level / total)[window]
    return repetitions_at(level - sets["log_load"].to_numpy(), ln_k)


def _near_failure(sets: pd.DataFrame, expected: Floats) -> NDArray[np.bool_]:
    """Told sets that their load and their repetitions put near failure.

    Not by what was called: a call too low would then be kept and one too high not.
    """
    left = expected - sets["reps"].to_numpy(float)
    called = (sets["kind"] == "rir").to_numpy() & (left <= NEAR_FAILURE)
    failed = (sets["kind"] == "failure").to_numpy()
    return (called | failed) & (expected <= LONGEST_SET)


def _prior_covariances() -> tuple[Floats, Floats]:
    """Between people and between cohorts, of ``relation.PARAMETERS``."""
    relation, reserve, reps = (
        priors(k) for k in ("relation", "reserve", "repetitions")
    )
    counted = reps["counted_sd"]
    person = [relation["ln_k_person"], SHAPE_PERSON_SD, reserve["bias_person_sd"]]
    person += [reserve["unmarked_person_sd"], reps["tired_person_sd"], counted / 3]
    common = [relation["ln_k_common"], relation["shape_common"]]
    common += [reserve["bias_common_sd"], reserve["unmarked_common_sd"]]
    common += [reps["tired_common_sd"], counted]
    return np.diag(np.square(person)), np.diag(np.square(common))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Windows:
    precision: Floats
    weighted: Floats
    first_row: NDArray[np.int64]


def _windows(
    sets: pd.DataFrame, outcomes: Outcomes, expected: Floats, ln_k: Floats
) -> _Windows:
    """Sum what each window tells of ``LEARNED``, level and trend set aside."""
    number = _window(sets)
    day = sets.assign(w=number).groupby(["w", "date"]).ngroup().to_numpy()
    y = outcomes.implied
    # Weighed alike within a window: by its own call, a set too low would count more.
    weight = (np.bincount(number) / np.bincount(number, outcomes.variance))[number]
    slopes = outcomes.slopes.copy()
    _, slopes[:, 0], slopes[:, 1] = gain_slopes(expected, ln_k)
    weeks = sets["date"].to_numpy("datetime64[D]").astype(float) / 7
    weeks -= (np.bincount(number, weeks) / np.bincount(number))[number]
    # y = level + trend t - slopes' deviations + noise: columns in that order.
    columns = np.column_stack([np.ones(len(y)), weeks, -slopes[:, LEARNED], y])
    by_day = _grams(columns, weight, day)
    # A day's own form is shared by its sets (Sherman and Morrison).
    form = priors("strength")["day_sd"] ** 2
    ones = by_day[:, 0]
    by_day -= (
        (form / (1 + form * by_day[:, 0, 0]))[:, None, None]
        * ones[:, :, None]
        * ones[:, None, :]
    )
    first_of_day = np.unique(day, return_index=True)[1]
    grams = np.zeros((int(number.max()) + 1, *by_day.shape[1:]))
    np.add.at(grams, number[first_of_day], by_day)
    nuisance = grams[:, :2, :2] + np.diag([1e-9, TREND_SD**-2])
    rest = grams[:, 2:, 2:] - grams[:, 2:, :2] @ np.linalg.solve(
        nuisance, grams[:, :2, 2:]
    )
    return _Windows(
        precision=rest[:, :-1, :-1],
        weighted=rest[:, :-1, -1],
        first_row=np.unique(number, return_index=True)[1],
    )


def _grams(columns: Floats, weight: Floats, group: NDArray[np.int64]) -> Floats:
    """Weighted products of columns, summed by group, shape (n_groups, p, p)."""
    p, n = columns.shape[1], int(group.max()) + 1
    out = np.empty((n, p, p))
    for i in range(p):
        left = weight * columns[:, i]
        for j in range(i + 1):
            out[:, i, j] = out[:, j, i] = np.bincount(group, left * columns[:, j], n)
    return out
