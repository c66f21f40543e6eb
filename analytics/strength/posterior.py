"""Posterior of strength, ratios and slopes, read off a solved model."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from analytics.strength.panel import (
    Batch,
    Panel,
    Prior,
    day_covariance,
    walk_covariance,
)
from analytics.strength.solve import LocalPart, Solution

Floats = NDArray[np.float64]


@dataclass(slots=True, kw_only=True, eq=False)
class Readings:
    """Posterior moments of everything shown, for one set of parameters.

    Attributes
    ----------
    cell_mean, cell_variance : ndarray, shape (n_cells,)
        Log strength on each day and setup, without day and cell effects.
    last_mean, last_variance : ndarray, shape (n_lifters, n_setups)
        Log strength on the lifter's last day.
    slope_mean, slope_variance, last_slope_cov : ndarray, same shape
        Slope per week, and its covariance with the last strength.
    ratio_mean : ndarray, shape (n_lifters, n_setups)
        Personal log ratio to the reference setup.
    ratio_cov : ndarray, shape (n_lifters, n_setups, n_setups)
    cohort_mean, cohort_cov : ndarray, shape (n_setups,), (n_setups, n_setups)
        Mean log ratio.
    side_mean, side_variance : ndarray, shape (n_lifters, n_sided_setups)
        Log of left over right.
    """

    cell_mean: Floats
    cell_variance: Floats
    last_mean: Floats
    last_variance: Floats
    slope_mean: Floats
    slope_variance: Floats
    last_slope_cov: Floats
    ratio_mean: Floats
    ratio_cov: Floats
    cohort_mean: Floats
    cohort_cov: Floats
    side_mean: Floats
    side_variance: Floats


def read_off(
    panel: Panel, groups: list[Batch], prior: Prior, solution: Solution
) -> Readings:
    """Posterior moments of strength, slope and ratio for every lifter.

    Parameters
    ----------
    panel, groups, prior :
        As given to the solver.
    solution : Solution
        Its result.

    Returns
    -------
    readings : Readings
    """
    n, v = panel.n_lifters, panel.n_setups
    pick = np.zeros((v, panel.n_fixed))
    for column, setup in enumerate(panel.setup_columns):
        pick[setup, 1 + panel.mean_slope + column] = 1
    grids = {k: np.zeros((n, v)) for k in _GRID}
    out = Readings(
        cell_mean=np.zeros(panel.n_cells),
        cell_variance=np.zeros(panel.n_cells),
        ratio_cov=np.zeros((n, v, v)),
        cohort_mean=pick @ solution.fixed_mean,
        cohort_cov=pick @ solution.fixed_cov @ pick.T,
        side_mean=np.zeros((n, len(panel.sided_setups))),
        side_variance=np.zeros((n, len(panel.sided_setups))),
        **grids,
    )
    for batch, part in zip(groups, solution.parts, strict=True):
        _read_batch(out, panel, batch, part, prior, pick, solution)
    return out


_GRID = (
    "last_mean",
    "last_variance",
    "slope_mean",
    "slope_variance",
    "last_slope_cov",
    "ratio_mean",
)


def _read_batch(
    out: Readings,
    panel: Panel,
    batch: Batch,
    part: LocalPart,
    prior: Prior,
    pick: Floats,
    solution: Solution,
) -> None:
    nd, size = batch.n_days, part.mean.shape[1]
    cov = day_covariance(batch, prior)
    both = batch.day_used[:, :, None] & batch.day_used[:, None, :]
    walk = np.where(both, walk_covariance(batch.day_weeks, prior.walk_sd), 0.0)
    smooth = walk @ np.linalg.inv(cov)
    spare = np.einsum("bii->bi", walk - smooth @ walk)
    line = np.arange(len(batch.lifters))
    rows = np.zeros((*batch.day.shape, size))
    rows[..., :nd] = smooth[line[:, None], batch.day]
    n_terms = panel.cell_terms.shape[1]
    n_rows = batch.rows.shape[2] - n_terms
    rows[..., nd : nd + n_rows] = batch.rows[..., :n_rows]
    real = batch.cells < panel.n_cells
    mean = np.einsum("bcr,br->bc", rows, part.mean)
    variance = ((rows @ part.cov) * rows).sum(2) + spare[line[:, None], batch.day]
    out.cell_mean[batch.cells[real]] = mean[real]
    out.cell_variance[batch.cells[real]] = variance[real]
    sided = len(panel.sided_setups)
    if sided:
        both = np.concatenate([np.ones((sided, 1)), np.eye(sided)], axis=1)
        side_cov = part.cov[:, -1 - sided :, -1 - sided :]
        out.side_mean[batch.lifters] = part.mean[:, -1 - sided :] @ both.T
        out.side_variance[batch.lifters] = ((both @ side_cov) * both).sum(2)
    _read_setups(out, panel, batch, part, prior, smooth, spare, pick, solution)


def _read_setups(
    out: Readings,
    panel: Panel,
    batch: Batch,
    part: LocalPart,
    prior: Prior,
    smooth: Floats,
    spare: Floats,
    pick: Floats,
    solution: Solution,
) -> None:
    """Last strength, slope and ratio in every setup, done or not."""
    nd, v, n = batch.n_days, panel.n_setups, len(batch.lifters)
    size = part.mean.shape[1]
    line = np.arange(n)
    last_day = batch.day_used.sum(axis=1) - 1
    weeks = batch.rows[:, :, 1]
    last_week = np.where(batch.cells < panel.n_cells, weeks, -np.inf).max(axis=1)
    level = np.zeros((n, v, size))
    slope = np.zeros((n, v, size))
    offset = np.zeros((n, v, size))
    level[..., :nd] = smooth[line, last_day][:, None]
    level[..., nd] = 1
    level[..., nd + 1] = last_week[:, None]
    slope[..., nd + 1] = 1
    lifter, slot = np.nonzero(batch.slots >= 0)
    setup = batch.slots[lifter, slot]
    done = np.zeros((n, v), dtype=bool)
    done[lifter, setup] = True
    at = nd + 2 + slot
    offset[lifter, setup, at] = 1
    level[lifter, setup, at] = 1
    level[lifter, setup, at + batch.n_slots] = last_week[lifter]
    slope[lifter, setup, at + batch.n_slots] = 1
    fresh = np.where(done, 0.0, prior.setup_sd**2)
    fresh_slope = np.where(done, 0.0, prior.setup_slope_sd**2)
    # A setup the lifter has not done has the cohort's mean and its own spread.
    undone = np.where(done[..., None], 0.0, pick[None])
    fixed_cov = solution.fixed_cov
    joint = _Joint(part=part, fixed_mean=solution.fixed_mean, fixed_cov=fixed_cov)
    lifters = batch.lifters
    spread = fresh + spare[line, last_day][:, None]
    spread = spread + fresh_slope * last_week[:, None] ** 2
    mean, cov = joint.moments(level, undone, level, undone)
    out.last_mean[lifters] = mean
    out.last_variance[lifters] = np.einsum("bii->bi", cov) + spread
    none = np.zeros_like(undone)
    mean, cov = joint.moments(slope, none, slope, none)
    out.slope_mean[lifters] = mean
    out.slope_variance[lifters] = np.einsum("bii->bi", cov) + fresh_slope
    _, cov = joint.moments(level, undone, slope, none)
    out.last_slope_cov[lifters] = (
        np.einsum("bii->bi", cov) + fresh_slope * (last_week[:, None])
    )
    ref = panel.reference
    against = offset - offset[:, [ref]]
    fixed_against = undone - undone[:, [ref]]
    mean, cov = joint.moments(against, fixed_against, against, fixed_against)
    out.ratio_mean[lifters] = mean
    own = np.arange(v)
    cov[:, own, own] += fresh
    cov += fresh[:, [ref], None]
    cov[:, ref, :] = cov[:, :, ref] = 0
    out.ratio_cov[lifters] = cov


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Joint:
    """Moments of combinations of a lifter's columns and the cohort means."""

    part: LocalPart
    fixed_mean: Floats
    fixed_cov: Floats

    def moments(
        self, a: Floats, a_fixed: Floats, b: Floats, b_fixed: Floats
    ) -> tuple[Floats, Floats]:
        """Mean of the ``a`` combinations and their covariance with ``b``."""
        mean = np.einsum("bvc,bc->bv", a, self.part.mean) + a_fixed @ self.fixed_mean
        b_t, bf_t = b.transpose(0, 2, 1), b_fixed.transpose(0, 2, 1)
        cov = a @ self.part.cov @ b_t
        cov += a @ self.part.with_fixed @ bf_t
        cov += (b @ self.part.with_fixed @ a_fixed.transpose(0, 2, 1)).transpose(
            0, 2, 1
        )
        cov += a_fixed @ self.fixed_cov @ bf_t
        return mean, cov


_VARIANCES = {
    "cell_mean": "cell_variance",
    "last_mean": "last_variance",
    "slope_mean": "slope_variance",
    "side_mean": "side_variance",
}
_COVARIANCES = {"ratio_mean": "ratio_cov", "cohort_mean": "cohort_cov"}


def with_parameter_uncertainty(
    base: Readings, moved: list[Readings], step: float, theta_cov: Floats
) -> Readings:
    """Widen the posterior by what the variance parameters might also be.

    Parameters
    ----------
    base : Readings
        At the fitted parameters.
    moved : list of Readings
        With one scaled parameter after the other moved by ``step``.
    step : float
        Of the scaled parameters. [1]
    theta_cov : ndarray, shape (n, n)
        Posterior covariance of the scaled parameters.

    Returns
    -------
    readings : Readings
        Means unchanged; variances are the mean variance plus the variance of
        the mean, with means linear and log variances linear in the parameters.
    """
    root = np.linalg.cholesky(theta_cov)
    changes: dict[str, Floats] = {}
    for mean, variance in (_VARIANCES | _COVARIANCES).items():
        centre = getattr(base, mean)
        by_mean = np.array([getattr(m, mean) - centre for m in moved]) / step
        along = np.tensordot(root.T, by_mean, axes=1)
        square = variance in _COVARIANCES.values()
        if square:
            logs = [np.log(_diagonal(getattr(r, variance))) for r in (base, *moved)]
        else:
            logs = [np.log(getattr(r, variance)) for r in (base, *moved)]
        by_log = (np.array(logs[1:]) - logs[0]) / step
        spread = (np.tensordot(root.T, by_log, axes=1) ** 2).sum(axis=0)
        # A log variance that is normal has this mean of the variance; where
        # the linear form is stretched too far, the gain is held to a factor e.
        gain = np.exp(np.minimum(0.5 * spread, 1.0))
        if square:
            each = np.sqrt(gain)
            changes[variance] = getattr(base, variance) * (
                each[..., :, None] * each[..., None, :]
            ) + np.einsum("k...i,k...j->...ij", along, along)
        else:
            changes[variance] = getattr(base, variance) * gain + (along**2).sum(axis=0)
    return replace(base, **changes)


def widened_alike(readings: Readings, of_some: Readings, wider: Readings) -> Readings:
    """Widen the posterior of all lifters as that of some of them was widened.

    Parameters
    ----------
    readings : Readings
        Of all lifters, for one set of parameters.
    of_some, wider : Readings
        Of the lifters who gave the parameters, without and with the uncertainty of
        the parameters.

    Returns
    -------
    readings : Readings
        Variances times the mean gain of theirs, setup by setup.
    """
    changes: dict[str, Floats] = {}
    for name in _VARIANCES.values():
        gain = (getattr(wider, name) / getattr(of_some, name)).mean(axis=0)
        changes[name] = getattr(readings, name) * gain
    for name in _COVARIANCES.values():
        before, after = (_diagonal(getattr(r, name)) for r in (of_some, wider))
        each = np.sqrt((after / before).reshape(-1, before.shape[-1]).mean(axis=0))
        changes[name] = getattr(readings, name) * each[:, None] * each
    return replace(readings, **changes)


def _diagonal(cov: Floats) -> Floats:
    """Variances, with the reference's own 0 replaced by 1."""
    found = np.einsum("...ii->...i", cov)
    return np.where(found > 0, found, 1.0)
