"""Ratios between setups: a mixed model of what each day of each setup measured.

Lifter, setup and day as in :mod:`analytics.strength.core.linear`; the level of a
lifter walks at random and is shared by the setups, so a ratio compares the same time.
"""

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analytics.strength.core.linear import fit_linear
from analytics.strength.core.panel import Panel, Prior, batches, take_lifters
from analytics.strength.core.setup_ratios import SetupRatios, summarise
from analytics.strength.core.solve import solve
from analytics.strength.core.sums import gram, sums
from analytics.strength.model.contrasts import Relation
from analytics.strength.model.relation import gain_slopes, priors
from analytics.strength.model.series import Levels, Rows, walk_variance

Floats = NDArray[np.float64]

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


def compare_setups(
    rows: Rows,
    levels: Levels,
    relation: Relation,
    *,
    setups: pd.DataFrame,
    reference: str,
    usual_reps: Floats,
    ln_k: Floats,
) -> Ratios:
    """Estimate ratios of every lifter and of the cohort.

    Parameters
    ----------
    rows, levels : Rows, Levels
        Of all lifters.
    relation : Relation
        Of each lifter.
    setups : DataFrame
        One row per setup.
    reference : str
        Setup the ratios refer to.
    usual_reps : ndarray, shape (n_setups,)
        Repetitions to failure at which each setup is mostly trained.
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
    panel, order = _panel(rows, setups, reference)
    y, noise = levels.site_mean[order], levels.site_variance[order]
    prior = _prior(panel, y, noise, priors("strength")["walk_sd"] * levels.walk_scale)
    found = _solve(panel, prior, noise, np.column_stack([y, rows.slopes[order]]))
    ref = panel.reference
    reps = np.round((usual_reps + usual_reps[ref]) / 2)
    by_ln_k = gain_slopes(reps, ln_k)[1]
    own_slopes = found.own_mean[..., 1:]
    own = found.own_cov + np.einsum(
        "lvp,lpq,lwq->lvw", own_slopes, relation.cov, own_slopes
    )
    exercise = _exercise_cov(rows, setups, ref, by_ln_k)
    cohort_slopes = found.cohort_mean[:, 1:]
    common = relation.levels.common_cov
    each = relation.levels.own_cov.mean(axis=0) / panel.n_lifters
    cohort = found.cohort_cov + cohort_slopes @ (common + each) @ cohort_slopes.T
    return Ratios(
        own_mean=found.own_mean[..., 0],
        own_cov=own + exercise,
        own_slopes=own_slopes,
        cohort_mean=found.cohort_mean[:, 0],
        cohort_cov=cohort + exercise / panel.n_lifters,
        between_sd=float(prior.setup_sd[0]),
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


def _prior(panel: Panel, y: Floats, noise: Floats, walk_sd: float) -> Prior:
    """Spread of ratios between lifters, from a sample evenly spaced over them."""
    known = priors("strength")
    n = panel.n_lifters
    chosen = np.unique(np.linspace(0, n - 1, min(SAMPLE, n)).astype(np.int64))
    some, kept = take_lifters(panel, chosen)
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
    return replace(fit.prior, setup_sd=np.full(panel.n_setups, fit.values["setup_sd"]))


def _solve(panel: Panel, prior: Prior, noise: Floats, columns: Floats) -> SetupRatios:
    groups = batches(panel)
    summed = sums(
        panel,
        precision=1 / noise,
        weighted_y=columns[:, 0] / noise,
        cell_variance=np.zeros(panel.n_cells),
    )
    grams = [gram(batch, summed) for batch in groups]
    solution = solve(panel, groups, prior, grams=grams)
    return summarise(
        panel, groups, prior, solution, precision=1 / noise, columns=columns
    )


def _exercise_cov(
    rows: Rows, setups: pd.DataFrame, ref: int, by_ln_k: Floats
) -> Floats:
    """Covariance that an exercise's own departure from the relation gives.

    Each setup's series at its own repetitions, told at the common ones.
    """
    sd = priors("relation")["ln_k_person_exercise"]
    at = pd.Index(setups["setup"]).get_indexer(rows.table["setup"])
    count = np.maximum(np.bincount(at, minlength=len(setups)), 1)
    usual = np.bincount(at, rows.slopes[:, 0], len(setups)) / count
    # The reference is carried to the common repetitions of each pair, as is the setup.
    own = (usual - by_ln_k) * sd
    of_reference = (usual[ref] - by_ln_k) * sd
    cov = np.diag(own**2) + np.outer(of_reference, of_reference)
    cov[ref] = cov[:, ref] = 0.0
    return cov
