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

from analytics.strength.model.relation import priors

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

RECENT_WEEKS = 52.0  # older sessions say nothing of present gains
NEAREST_WEEKS = 3.0  # a gain shorter than this is not looked for
CHANGE_PROBABILITY = 0.5  # that a gain changed within a log, beforehand; assumed
SURE = 0.9  # probability from which a stall or a gain is called one
LIKELY = 0.5  # that a gain ended: as likely as beforehand, so the log says so
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
        Probability that it changed to less than the smallest gain.
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

    def present(self) -> PresentGain:
        """Gain now, over all change points."""
        mean, sd = self.slope_mean, self.slope_sd
        low = self.weight * ndtr((priors("strength")["smallest_gain"] - mean) / sd)
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


def all_gain_changes(
    lifter: Ints, weeks: Floats, strength: Floats, variance: Floats, walk_sd: float
) -> list[GainChanges]:
    """Date the changes of every lifter, from what the sets of each day say together.

    Parameters
    ----------
    lifter : ndarray of int, shape (n,)
        Ascending.
    weeks, strength, variance : ndarray, shape (n,)
        Of each exercise and day; strength as that of one exercise.
    walk_sd : float
        Random walk of the level, per square root of a week.

    Returns
    -------
    changes : list of GainChanges
        One per lifter.
    """
    order = np.lexsort((weeks, lifter))
    lifter, weeks = lifter[order], weeks[order]
    new_day = np.diff(lifter, prepend=-1).astype(bool)
    new_day |= np.diff(weeks, prepend=-1).astype(bool)
    day = np.cumsum(new_day) - 1
    weight = np.bincount(day, 1 / variance[order])
    level = np.bincount(day, strength[order] / variance[order]) / weight
    starts = np.searchsorted(lifter[new_day], np.arange(lifter[-1] + 1))
    parts = np.split(np.arange(len(level)), starts[1:])
    known = priors("strength")
    return [
        gain_changes(
            weeks[new_day][at] - weeks[new_day][at][0],
            level[at],
            1 / weight[at],
            walk_sd=walk_sd,
            slope=known["slope_mean"],
            slope_sd=known["slope_sd"],
        )
        for at in parts
    ]
