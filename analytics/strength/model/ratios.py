"""Ratios between setups: a mixed model of what each day of each setup measured.

Lifter, setup and day as in :mod:`analytics.strength.core.linear`; the level of a
lifter walks at random and is shared by the setups, so a ratio compares the same time.
"""

from dataclasses import dataclass, fields, replace

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analytics.strength.core.linear import fit_linear
from analytics.strength.core.panel import Batch, Panel, Prior, batches, take_lifters
from analytics.strength.core.setup_ratios import SetupRatios, right_sides, summarise
from analytics.strength.core.solve import Eliminated, eliminate, solve_means
from analytics.strength.core.sums import gram, sums
from analytics.strength.model.contrasts import Relation
from analytics.strength.model.relation import gain_slopes, priors
from analytics.strength.model.sample import sampled
from analytics.strength.model.series import Levels, Rows, walk_variance

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

STEPS_PER_REP, MOST_STEPS = 1000, 1_000_000  # in which repetitions are counted
SAMPLE = 100  # lifters from which the spread of ratios between lifters is estimated
SHARED_DAY_SD = 0.005  # of the day's form; the rest is taken as each exercise's own
LEVEL_SD = 1.0  # of log strength between lifters: known to be wide


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Ratios:
    """Log ratios of logged loads to the reference setup.

    Attributes
    ----------
    own_mean : ndarray, shape (n_lifters, n_setups)
    own_cov : ndarray, shape (n_lifters, n_setups, n_setups)
    own_slopes : ndarray, shape (n_lifters, n_setups, n_parameters)
        Change with the parameters of the relation.
    cohort_mean : ndarray, shape (n_setups,)
    cohort_cov : ndarray, shape (n_setups, n_setups)
    between_sd : float
        Spread of a setup's offset between lifters.
    reps : ndarray, shape (n_setups,)
        Repetitions at which a setup and the reference are compared.
    """

    own_mean: Floats
    own_cov: Floats
    own_slopes: Floats
    cohort_mean: Floats
    cohort_cov: Floats
    between_sd: float
    reps: Floats


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RatioSums:
    """What lifters say of the cohort's ratios; those of several groups add up.

    Attributes
    ----------
    system : ndarray, shape (p, p)
        Precision of the cohort means.
    right : ndarray, shape (p, 1 + n_parameters)
        Weighted means of levels and of their slopes.
    lifters : float
        How many.
    relation_cov : ndarray, shape (n_parameters, n_parameters)
        Sum over lifters, given the cohort's relation.
    rows, by_ln_k : ndarray, shape (n_setups,)
        Rows of each setup, and the sum of their slopes with ln K.
    repetitions : ndarray of int, shape (n, 2)
        From :func:`by_repetitions`.
    """

    system: Floats
    right: Floats
    lifters: float
    relation_cov: Floats
    rows: Floats
    by_ln_k: Floats
    repetitions: Ints

    def __add__(self, other: "RatioSums") -> "RatioSums":
        both = {
            field.name: getattr(self, field.name) + getattr(other, field.name)
            for field in fields(self)
            if field.name != "repetitions"
        }
        reps = _together(self.repetitions, other.repetitions)
        return RatioSums(**both, repetitions=reps)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Linked:
    """Rows of some lifters as a mixed model, their own columns eliminated.

    Attributes
    ----------
    panel, groups, prior, left, pieces :
        As of :mod:`analytics.strength.core`.
    sums : RatioSums
        Of these lifters alone.
    """

    panel: Panel
    groups: list[Batch]
    prior: Prior
    left: Eliminated
    pieces: list[Floats]
    sums: RatioSums


def link_setups(
    rows: Rows,
    levels: Levels,
    relation: Relation,
    *,
    setups: pd.DataFrame,
    reference: str,
    repetitions: Ints,
    between_sd: float | None = None,
) -> Linked:
    """Sum what each lifter says of the ratios between setups.

    Parameters
    ----------
    rows, levels : Rows, Levels
        Of these lifters.
    relation : Relation
        Of each of them.
    setups : DataFrame
        One row per setup of the cohort.
    reference : str
        Setup the ratios refer to.
    repetitions : ndarray of int, shape (n, 2)
        From :func:`by_repetitions`.
    between_sd : float, optional
        Spread of ratios between lifters; estimated from a sample of these without.

    Returns
    -------
    linked : Linked
    """
    panel, order = _panel(rows, setups, reference)
    y, noise = levels.site_mean[order], levels.site_variance[order]
    walk_sd = priors("strength")["walk_sd"] * levels.walk_scale
    if between_sd is None:
        lifters = pd.unique(rows.table["lifter"])
        known = np.flatnonzero(np.isin(lifters, sampled(lifters)))
        between_sd = _between_sd(panel, y, noise, walk_sd, known)
    prior, groups = _prior(panel, walk_sd, between_sd), batches(panel)
    summed = sums(
        panel,
        precision=1 / noise,
        weighted_y=y / noise,
        cell_variance=np.zeros(panel.n_cells),
    )
    grams = [gram(batch, summed) for batch in groups]
    left = eliminate(panel, groups, prior, grams=grams)
    right, pieces = right_sides(
        groups,
        left,
        precision=1 / noise,
        columns=np.column_stack([y, rows.slopes[order]]),
    )
    at = pd.Index(setups["setup"]).get_indexer(rows.table["setup"])
    return Linked(
        panel=panel,
        groups=groups,
        prior=prior,
        left=left,
        pieces=pieces,
        sums=RatioSums(
            system=left.system,
            right=right,
            lifters=float(panel.n_lifters),
            relation_cov=relation.levels.own_cov.sum(axis=0),
            rows=np.bincount(at, minlength=len(setups)).astype(float),
            by_ln_k=np.asarray(np.bincount(at, rows.slopes[:, 0], len(setups)), float),
            repetitions=repetitions,
        ),
    )


def by_repetitions(repetitions: Floats, setup: Ints) -> Ints:
    """Count sets by setup and repetitions, so that counts of several logs add up.

    Parameters
    ----------
    repetitions : ndarray, shape (n_sets,)
        That could have been done. [repetitions]
    setup : ndarray of int, shape (n_sets,)
        Number of each set's setup.

    Returns
    -------
    counts : ndarray of int, shape (n, 2)
        ``setup * MOST_STEPS + steps`` in order, and how many sets.
    """
    steps = np.clip(np.rint(repetitions * STEPS_PER_REP), 0, MOST_STEPS - 1)
    return np.column_stack(
        np.unique(setup * MOST_STEPS + steps.astype(np.int64), return_counts=True)
    )


def _together(one: Ints, other: Ints) -> Ints:
    both = np.concatenate([one, other])
    code, at = np.unique(both[:, 0], return_inverse=True)
    counts = np.zeros(len(code), dtype=np.int64)
    np.add.at(counts, at, both[:, 1])
    return np.column_stack([code, counts])


def _usual_reps(counts: Ints, n_setups: int) -> Floats:
    """Median repetitions of each setup, to a step."""
    setup, steps = np.divmod(counts[:, 0], MOST_STEPS)
    out = np.full(n_setups, np.nan)
    for number in np.unique(setup):
        mine = setup == number
        upto = counts[mine, 1].cumsum()
        low = np.searchsorted(upto, upto[-1] / 2)
        high = np.searchsorted(upto, upto[-1] / 2, side="right")
        out[number] = steps[mine][[low, high]].mean() / STEPS_PER_REP
    return out


def compare_setups(
    linked: Linked, relation: Relation, *, whole: RatioSums, ln_k: Floats
) -> Ratios:
    """Estimate ratios of every lifter and of the cohort.

    Parameters
    ----------
    linked : Linked
        From :func:`link_setups`.
    relation : Relation
        Of each of its lifters.
    whole : RatioSums
        Of the whole cohort.
    ln_k : ndarray, shape (n_setups,)
        Log of K of each setup's exercise.

    Returns
    -------
    ratios : Ratios
        With all that the relation may be in the covariances.

    Notes
    -----
    Between setups of one relation the ratio of loads is the same at any number of
    repetitions. It is told at one at which both were trained, since there an
    exercise's own departure from the relation matters least.
    """
    found = _solve(linked, whole)
    ref = linked.panel.reference
    usual_reps = _usual_reps(whole.repetitions, linked.panel.n_setups)
    reps = np.round((usual_reps + usual_reps[ref]) / 2)
    by_ln_k = gain_slopes(reps, ln_k)[1]
    own_slopes = found.own_mean[..., 1:]
    own = found.own_cov + np.einsum(
        "lvp,lpq,lwq->lvw", own_slopes, relation.cov, own_slopes
    )
    exercise = _exercise_cov(whole, ref, by_ln_k)
    cohort_slopes = found.cohort_mean[:, 1:]
    common = relation.levels.common_cov
    each = whole.relation_cov / whole.lifters**2
    cohort = found.cohort_cov + cohort_slopes @ (common + each) @ cohort_slopes.T
    return Ratios(
        own_mean=found.own_mean[..., 0],
        own_cov=own + exercise,
        own_slopes=own_slopes,
        cohort_mean=found.cohort_mean[:, 0],
        cohort_cov=cohort + exercise / whole.lifters,
        between_sd=float(linked.prior.setup_sd[0]),
        reps=reps,
    )


def _panel(
    rows: Rows, setups: pd.DataFrame, reference: str
) -> tuple[Panel, NDArray[np.int64]]:
    """Rows as cells of lifter, day and setup; and their order."""
    table = rows.table
    lifter = pd.factorize(table["lifter"])[0]
    setup = pd.Index(setups["setup"]).get_indexer(table["setup"])
    day = table["date"].to_numpy("datetime64[D]").astype(np.int64)
    order = np.lexsort((setup, day, lifter))
    lifter, setup, day = lifter[order], setup[order], day[order]
    begins = np.diff(lifter, prepend=-1).astype(bool)
    new_day = begins | np.diff(day, prepend=day[0] - 1).astype(bool)
    number = np.cumsum(new_day) - 1
    weeks = np.where(begins, 0.0, np.diff(day, prepend=day[0]) / 7.0)
    clock = np.cumsum(walk_variance(weeks) / priors("strength")["walk_sd"] ** 2)
    n = len(order)
    panel = Panel(
        cell_of_set=np.arange(n),
        lifter_of_set=lifter,
        lifter_of_cell=lifter,
        day_of_cell=number - number[begins][lifter],
        setup_of_cell=setup,
        weeks_of_cell=clock - clock[begins][lifter],
        cell_terms=np.zeros((n, 0)),
        set_terms=np.zeros((n, 0)),
        n_setups=len(setups),
        reference=int(pd.Index(setups["setup"]).get_loc(reference)),
        slope=False,
        setup_slopes=False,
        mean_slope=False,
    )
    return panel, order


def _between_sd(
    panel: Panel, y: Floats, noise: Floats, walk_sd: float, known_lifters: Ints
) -> float:
    """Spread of ratios between lifters, from some evenly spaced over the sample."""
    known = priors("strength")
    n = len(known_lifters)
    chosen = np.unique(np.linspace(0, n - 1, min(SAMPLE, n)).astype(np.int64))
    some, kept = take_lifters(panel, known_lifters[chosen])
    fit = fit_linear(
        some,
        y[kept],
        free=("setup_sd",) if panel.n_setups > 1 else (),
        start={
            "level_sd": LEVEL_SD,
            "walk_sd": walk_sd,
            "day_sd": SHARED_DAY_SD,
            "setup_sd": known["setup_sd"],
        },
        noise_variance=noise[kept],
        priors={"setup_sd": (known["setup_sd"], known["setup_log_sd"])},
    )
    return fit.values["setup_sd"]


def _prior(panel: Panel, walk_sd: float, between_sd: float) -> Prior:
    p = panel.n_fixed
    return Prior(
        level_sd=LEVEL_SD,
        slope_sd=1.0,
        level_slope_correlation=0.0,
        walk_sd=walk_sd,
        day_sd=SHARED_DAY_SD,
        cell_sd=0.0,
        setup_sd=np.full(panel.n_setups, between_sd),
        setup_slope_sd=1.0,
        set_term_sd=np.ones(0),
        fixed_mean=np.zeros(p),
        fixed_precision=np.zeros(p),
    )


def _solve(linked: Linked, whole: RatioSums) -> SetupRatios:
    left = replace(linked.left, system=whole.system, right=whole.right[:, 0])
    solution = solve_means(linked.groups, linked.prior, left)
    return summarise(
        linked.panel,
        linked.groups,
        linked.prior,
        solution,
        right=whole.right,
        pieces=linked.pieces,
    )


def _exercise_cov(whole: RatioSums, ref: int, by_ln_k: Floats) -> Floats:
    """Covariance that an exercise's own departure from the relation gives.

    Each setup's series at its own repetitions, told at the common ones.
    """
    sd = priors("relation")["ln_k_person_exercise"]
    usual = whole.by_ln_k / np.maximum(whole.rows, 1)
    # The reference is carried to the common repetitions of each pair, as is the setup.
    own = (usual - by_ln_k) * sd
    of_reference = (usual[ref] - by_ln_k) * sd
    cov = np.diag(own**2) + np.outer(of_reference, of_reference)
    cov[ref] = cov[:, ref] = 0.0
    return cov
