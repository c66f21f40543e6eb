"""When a lifter's gains changed: one-step innovations under every change point.

What the sets of a day say together is one observation of a random-walk level;
whitening by its covariance gives the innovations, and their likelihood with a
gain that changes at each week, or never, gives the posterior of the change.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import solve_triangular
from scipy.special import ndtr

from analytics.strength.inference import Inference
from analytics.strength.posterior import Readings
from analytics.strength.propagation import cell_variances

Floats = NDArray[np.float64]

RECENT_WEEKS = 52.0  # older sessions say nothing of present gains
NEAREST_WEEKS = 3.0  # a gain shorter than this is not looked for
CHANGE_PROBABILITY = 0.5  # that a gain changed within a log, beforehand; assumed
SURE = 0.9  # probability from which a stall or a gain is called one
LIKELY = 0.5  # that a gain ended: as likely as beforehand, so the log says so
SMALLEST_GAIN = 0.0025  # per week; half the trial log's mean gain, assumed
FREE_LEVEL_SD = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class PresentGain:
    """What a lifter gains now.

    Attributes
    ----------
    slope, slope_sd : float
        Per week.
    p_not_positive : float
        Probability that it is 0 or less.
    p_ended : float
        Probability that it changed to less than ``SMALLEST_GAIN``.
    since_weeks : float
        When it became so small, if it did, in weeks since the first day.
    """

    slope: float
    slope_sd: float
    p_not_positive: float
    p_ended: float
    since_weeks: float

    @property
    def has_stalled(self) -> bool:
        """Whether to call it a stall: surely no gain, or one that likely ended."""
        return self.p_not_positive >= SURE or self.p_ended > LIKELY


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class GainChanges:
    """Posterior of one lifter's change of gain; the first entry is no change.

    Attributes
    ----------
    weeks : ndarray, shape (n,)
        Change points, in weeks since the first day of the lifter's log; 0 first.
    weight : ndarray, shape (n,)
        Posterior probability of each.
    slope_mean, slope_sd : ndarray, shape (n,)
        Gain per week since then.
    """

    weeks: Floats
    weight: Floats
    slope_mean: Floats
    slope_sd: Floats

    def present(self, slope: float, slope_sd: float, more: float = 0.0) -> PresentGain:
        """Gain now, over all change points.

        Parameters
        ----------
        slope, slope_sd : float
            The gain if it never changed, by the whole model. [1/week]
        more : float
            What a setup gains more than the lifter's others. [1/week]

        Returns
        -------
        gain : PresentGain
        """
        mean = np.append(slope, self.slope_mean[1:] + more)
        sd = np.append(slope_sd, self.slope_sd[1:])
        low = self.weight * ndtr((SMALLEST_GAIN - mean) / sd)
        ended = float(low[1:].sum())
        if ended > LIKELY:
            low[0] = 0.0
        centre = float(self.weight @ mean)
        variance = float(self.weight @ (sd**2 + (mean - centre) ** 2))
        half = np.searchsorted(low.cumsum(), low.sum() / 2)
        return PresentGain(
            slope=centre,
            slope_sd=variance**0.5,
            p_not_positive=float(self.weight @ ndtr(-mean / sd)),
            p_ended=ended,
            since_weeks=float(self.weeks[half]),
        )


def gain_changes(
    weeks: Floats,
    strength: Floats,
    variance: Floats,
    *,
    walk_sd: float,
    slope: float,
    slope_sd: float,
) -> GainChanges:
    """Posterior of when a lifter's gain changed, from the log of each day.

    Parameters
    ----------
    weeks, strength, variance : ndarray, shape (n_days,)
        Ascending weeks since the first day, log strength and its variance.
    walk_sd : float
        Random walk of the level, per square root of a week.
    slope, slope_sd : float
        Prior of the gain per week before a change. Afterwards it is centred at 0.

    Returns
    -------
    changes : GainChanges
        With no change alone where the log is too short for one.
    """
    kept = weeks >= weeks[-1] - RECENT_WEEKS
    t, y = weeks[kept] - weeks[kept][0], strength[kept] - strength[kept].mean()
    cov = walk_sd**2 * np.minimum(t[:, None], t) + np.diag(variance[kept])
    first, last = NEAREST_WEEKS, t[-1] - NEAREST_WEEKS
    at = np.concatenate([[0.0], np.arange(first, last + 0.5)])
    before = np.minimum(t, at[:, None])
    design = np.stack([np.ones_like(before), before, t - before], axis=2)
    root = np.linalg.cholesky(cov)
    n, k, p = len(at), len(t), 3
    stacked = np.concatenate([y[:, None], design.transpose(1, 0, 2).reshape(k, -1)], 1)
    innovations = solve_triangular(root, stacked, lower=True)
    white, white_y = innovations[:, 1:].reshape(k, n, p), innovations[:, 0]
    mean = np.tile([0.0, slope, 0.0], (n, 1))
    var = np.tile([FREE_LEVEL_SD**2, slope_sd**2, slope_sd**2 + slope**2], (n, 1))
    # With no change the whole log is one gain, the second part of the design.
    mean[0, 2], var[0, 2] = slope, slope_sd**2
    precision = np.einsum("knp,knq->npq", white, white)
    precision[:, np.arange(p), np.arange(p)] += 1 / var
    right = np.einsum("knp,k->np", white, white_y) + mean / var
    post = np.linalg.inv(precision)
    found = np.einsum("npq,nq->np", post, right)
    log_m = 0.5 * (right * found).sum(1) - 0.5 * (mean**2 / var).sum(1)
    log_m -= 0.5 * (np.linalg.slogdet(precision)[1] + np.log(var).sum(1))
    log_m[0] += np.log(1 - CHANGE_PROBABILITY)
    log_m[1:] += np.log(CHANGE_PROBABILITY / max(n - 1, 1))
    weight = np.exp(log_m - log_m.max())
    return GainChanges(
        weeks=at + np.where(at > 0, weeks[kept][0], 0.0),
        weight=weight / weight.sum(),
        slope_mean=found[:, 2],
        slope_sd=np.sqrt(post[:, 2, 2]),
    )


def all_gain_changes(inference: Inference, readings: Readings) -> list[GainChanges]:
    """Date the changes of every lifter, from what the sets of each day say together.

    Parameters
    ----------
    inference : Inference
        The fitted model.
    readings : Readings
        Its posterior moments.

    Returns
    -------
    changes : list of GainChanges
        One per lifter.
    """
    panel, state = inference.panel, inference.state
    hyper = inference.space.natural(inference.theta)
    assert state.marginals is not None
    assert state.solution is not None
    effects = state.marginals.set_effects[panel.lifter_of_set]
    off = state.precision * (panel.set_terms * effects).sum(1)
    cell = panel.cell_of_set
    precision = np.bincount(cell, state.precision)
    strength = np.bincount(cell, state.weighted - off) / precision
    strength -= readings.ratio_mean[panel.lifter_of_cell, panel.setup_of_cell]
    spread = cell_variances(panel, hyper) + 1 / precision
    new_day = np.diff(panel.lifter_of_cell, prepend=-1).astype(bool)
    new_day |= np.diff(panel.day_of_cell, prepend=-1).astype(bool)
    day = np.cumsum(new_day) - 1
    weight = np.bincount(day, 1 / spread)
    strength = np.bincount(day, strength / spread) / weight
    variance = hyper["day_sd"] ** 2 + 1 / weight
    weeks = panel.weeks_of_cell[new_day]
    starts = np.searchsorted(panel.lifter_of_cell[new_day], np.arange(panel.n_lifters))
    parts = np.split(np.arange(len(weeks)), starts[1:])
    return [
        gain_changes(
            weeks[at] - weeks[at][0],
            strength[at],
            variance[at],
            walk_sd=hyper["walk_sd"],
            slope=float(state.solution.fixed_mean[1]),
            slope_sd=hyper["slope_sd"],
        )
        for at in parts
    ]
