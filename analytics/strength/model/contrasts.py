"""What a log tells of the lifter's own repetition relation.

Only contrasts tell: sets of one exercise near in time and near failure, at clearly
other loads. Scatter at one load tells nothing of the relation, so each set enters it
at the repetitions that its load lets expect, not at those done; a steady trend within
a window is left out, since heavier is later in most plans.

The bias of called reserve keeps its published prior: which sets fail and which are
called less is luck more than habit, so a log of both tells it wrongly.
"""

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analytics.strength.core.two_level import TwoLevels, cohort_sums, two_levels
from analytics.strength.model.outcome import Outcomes
from analytics.strength.model.relation import (
    PARAMETERS,
    gain_slopes,
    priors,
    repetitions_at,
)

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Mask = NDArray[np.bool_]

WINDOW_DAYS = 28
TREND_SD = 0.02  # of log strength per week within a window; wide
NEAR_FAILURE = 3.0  # most repetitions expected to be left
LONGEST_SET = 15.0  # repetitions; published relations spread beyond
SPREAD_REPS = 4.0  # expected and done within a window; less comes of adapting loads
LN_K, SHAPE, BIAS = (PARAMETERS.index(p) for p in ("ln_k", "shape", "bias"))
FEWEST_DAYS = 3  # in a window: a contrast on one or two may be their form
OUTLIER = (
    0.12  # of log strength off its window: an outlying day, which no relation explains
)
DAY_FACTOR = 2.0  # on the form of a day: a contrast between days may rest on two
SOLVED = [LN_K, SHAPE, BIAS]  # the bias only to make room for it


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Relation:
    """Relation and calls of every lifter, less the published means.

    Attributes
    ----------
    levels : TwoLevels
        All ``relation.PARAMETERS``; those a log cannot tell keep their prior.
    ln_k_sd : float
        Published, of a cohort's ln K.
    """

    levels: TwoLevels
    ln_k_sd: float

    @property
    def mean(self) -> Floats:
        """Shape (n_lifters, n_parameters)."""
        return self.levels.mean

    @property
    def cov(self) -> Floats:
        """Shape (n_lifters, n_parameters, n_parameters)."""
        return self.levels.cov


def published(n_lifters: int, ln_k_sd: float) -> Relation:
    """Return the prior: nothing learned.

    Parameters
    ----------
    n_lifters : int
        Number of lifters. [1]
    ln_k_sd : float
        Of the cohort's ln K about the published one. [1]

    Returns
    -------
    relation : Relation
    """
    person, common = _prior_covariances(ln_k_sd)
    p = len(PARAMETERS)
    return Relation(
        levels=two_levels(
            np.zeros((n_lifters, p, p)),
            np.zeros((n_lifters, p)),
            person_cov=person,
            common_cov=common,
        ),
        ln_k_sd=ln_k_sd,
    )


def contrasts(
    sets: pd.DataFrame,
    outcomes: Outcomes,
    lifter: Ints,
    ln_k: Floats,
    *,
    n_lifters: int,
) -> tuple[Floats, Floats]:
    """Tell what windows of clearly different loads say of each lifter's relation.

    Parameters
    ----------
    sets : DataFrame
        Of :class:`.observe.Observations`.
    outcomes : Outcomes
        The same sets.
    lifter : ndarray of int, shape (n_sets,)
        Number of each set's lifter.
    ln_k : ndarray, shape (n_sets,)
        Log of the published K of each set's exercise.
    n_lifters : int
        Number of lifters. [1]

    Returns
    -------
    information : ndarray, shape (n_lifters, 3, 3)
        Precision of ln K, shape and bias; 0 where nothing tells.
    weighted : ndarray, shape (n_lifters, 3)
        Precision times estimate.
    """
    k = len(SOLVED)
    total, total_weighted = np.zeros((n_lifters, k, k)), np.zeros((n_lifters, k))
    window = _window(sets)
    expected = _expected(sets, outcomes, window, ln_k)
    near = _near_failure(sets, outcomes.implied, expected, window)
    if not near.any():
        return total, total_weighted
    own, now, expected = sets[near], outcomes.take(near), expected[near]
    group = np.unique(window[near], return_inverse=True)[1]
    by_reps, by_ln_k, by_shape = gain_slopes(expected, ln_k[near])
    called = (own["kind"] == "rir").astype(float)
    habit = called.groupby([own["lifter"], own["setup"]]).transform("mean")
    weeks = own["date"].to_numpy("datetime64[D]").astype(float) / 7
    weeks -= (np.bincount(group, weeks) / np.bincount(group))[group]
    # y = level + trend t - slopes' deviations + noise: columns in that order.
    columns = np.column_stack(
        [np.ones(len(own)), weeks, -by_ln_k, -by_shape, -by_reps * habit, now.implied]
    )
    # Alike within a window: by its own call, a set called too low would count more.
    weight = (np.bincount(group) / np.bincount(group, now.variance))[group]
    day = own.assign(w=group).groupby(["w", "date"]).ngroup().to_numpy()
    by_day = _share_form(_grams(columns, weight, day))
    grams = np.zeros((int(group.max()) + 1, *by_day.shape[1:]))
    np.add.at(grams, group[np.unique(day, return_index=True)[1]], by_day)
    precision, weighted = _apart(grams, np.array([1e-9, TREND_SD**-2]))
    who = _who(lifter[near], group)
    np.add.at(total, who, precision)
    np.add.at(total_weighted, who, weighted)
    return total, total_weighted


def _window(sets: pd.DataFrame) -> Ints:
    """Tell sets of one exercise and some weeks, by number."""
    block = sets["date"].to_numpy("datetime64[D]").astype(int) // WINDOW_DAYS
    by = sets.assign(block=block).groupby(["lifter", "setup", "side", "block"])
    return by.ngroup().to_numpy()


def _expected(
    sets: pd.DataFrame, outcomes: Outcomes, window: Ints, ln_k: Floats
) -> Floats:
    """Repetitions that a set's load lets expect, from its window; NaN if none tells."""
    told = sets["kind"].isin(["failure", "rir"]).to_numpy()
    weight = told / outcomes.variance
    total = np.bincount(window, weight)
    summed = np.bincount(window, weight * outcomes.implied)
    with np.errstate(invalid="ignore"):
        level = np.asarray(summed / total)[window]
    return repetitions_at(level - sets["log_load"].to_numpy(), ln_k)


def _near_failure(
    sets: pd.DataFrame, implied: Floats, expected: Floats, window: Ints
) -> Mask:
    """Tell which sets load and repetitions put near failure, at clearly other loads.

    Not by what was called: a call too low would then be kept and one too high not.
    Loads that differ only since they follow the last result would tell its luck.
    """
    left = expected - sets["reps"].to_numpy(float)
    called = (sets["kind"] == "rir").to_numpy() & (left <= NEAR_FAILURE)
    failed = (sets["kind"] == "failure").to_numpy()
    near = (called | failed) & (expected <= LONGEST_SET)
    usual = pd.Series(implied).where(near).groupby(window).transform("median")
    near &= (np.abs(implied - usual) <= OUTLIER).to_numpy()
    near &= (sets["slowness"] == 0).to_numpy()  # what a tempo costs is hardly known
    for reps in (expected, sets["reps"].to_numpy(float)):
        of_window = pd.Series(reps).where(near).groupby(window)
        spread = of_window.transform("max") - of_window.transform("min")
        near = near & (spread >= SPREAD_REPS).to_numpy()
    days = sets["date"].where(near).groupby(window).transform("nunique")
    return near & (days >= FEWEST_DAYS).to_numpy()


def _grams(columns: Floats, weight: Floats, group: Ints) -> Floats:
    """Weighted products of columns, summed by group, shape (n_groups, p, p)."""
    p, n = columns.shape[1], int(group.max(initial=-1)) + 1
    out = np.empty((n, p, p))
    for i in range(p):
        left = weight * columns[:, i]
        for j in range(i + 1):
            out[:, i, j] = out[:, j, i] = np.bincount(group, left * columns[:, j], n)
    return out


def _share_form(by_day: Floats) -> Floats:
    """Take a day's form, which its sets share, into account (Sherman, Morrison)."""
    form = (DAY_FACTOR * priors("strength")["day_sd"]) ** 2
    ones = by_day[:, 0]
    shared = (form / (1 + form * by_day[:, 0, 0]))[:, None, None]
    return by_day - shared * ones[:, :, None] * ones[:, None, :]


def _apart(grams: Floats, nuisance_precision: Floats) -> tuple[Floats, Floats]:
    """Marginalise over the first columns; precision and weighted mean of the others."""
    k = len(nuisance_precision)
    nuisance = grams[:, :k, :k] + np.diag(nuisance_precision)
    rest = grams[:, k:, k:] - grams[:, k:, :k] @ np.linalg.solve(
        nuisance, grams[:, :k, k:]
    )
    return rest[:, :-1, :-1], rest[:, :-1, -1]


def _who(lifter: Ints, group: Ints) -> Ints:
    """Lifter of each group."""
    return lifter[np.unique(group, return_index=True)[1]]


def _prior_covariances(ln_k_sd: float) -> tuple[Floats, Floats]:
    """Between people and between cohorts, of ``relation.PARAMETERS``."""
    relation, reserve, reps, tempo = (
        priors(k) for k in ("relation", "reserve", "repetitions", "tempo")
    )
    counted = reps["counted_sd"]
    person = [relation["ln_k_person"], relation["shape_person"]]
    person += [reserve["bias_person_sd"], reserve["unmarked_person_sd"]]
    person += [reps["tired_person_sd"], counted / 3, tempo["exponent_person_sd"]]
    common = [ln_k_sd, relation["shape_common"]]
    common += [reserve["bias_common_sd"], reserve["unmarked_common_sd"]]
    common += [reps["tired_common_sd"], counted, tempo["exponent_common_sd"]]
    return np.diag(np.square(person)), np.diag(np.square(common))


def relation_sums(information: Floats, weighted: Floats) -> tuple[Floats, Floats]:
    """Sum over lifters what their contrasts say of the cohort's relation.

    Parameters
    ----------
    information, weighted : ndarray
        From :func:`contrasts`.

    Returns
    -------
    sums : tuple of ndarray
        Those of several groups of lifters add up.
    """
    person = _prior_covariances(1.0)[0][np.ix_(SOLVED, SOLVED)]
    return cohort_sums(information, weighted, person_cov=person)


def learn_relation(
    relation: Relation,
    information: Floats,
    weighted: Floats,
    *,
    sums: tuple[Floats, Floats],
) -> Relation:
    """Posterior of what contrasts tell; the rest, and the bias, stay as they were.

    Parameters
    ----------
    relation : Relation
        To be improved.
    information, weighted : ndarray
        From :func:`contrasts`, of the same lifters.
    sums : tuple of ndarray
        From :func:`relation_sums`, over the whole cohort.

    Returns
    -------
    relation : Relation
    """
    if not sums[0].any():
        return relation
    at = np.ix_(SOLVED, SOLVED)
    person, common = _prior_covariances(relation.ln_k_sd)
    found = two_levels(
        information,
        weighted,
        person_cov=person[at],
        common_cov=common[at],
        sums=sums,
    )
    kept = np.array([i for i, p in enumerate(SOLVED) if p != BIAS])
    into = np.array(SOLVED)[kept]
    old = relation.levels
    mean, own, follows, shared = (
        x.copy() for x in (old.mean, old.own_cov, old.on_common, old.common_cov)
    )
    known = priors("relation")
    low, high = (
        [known[f"{end}_ln_k"], known[f"{end}_shape"]] for end in ("lowest", "highest")
    )
    mean[:, into] = np.clip(found.mean[:, kept], low, high)
    pick = np.ix_(kept, kept)
    own[:, into[:, None], into] = found.own_cov[:, kept[:, None], kept]
    follows[:, into[:, None], into] = found.on_common[:, kept[:, None], kept]
    shared[np.ix_(into, into)] = found.common_cov[pick]
    return replace(
        relation,
        levels=TwoLevels(mean=mean, own_cov=own, on_common=follows, common_cov=shared),
    )
