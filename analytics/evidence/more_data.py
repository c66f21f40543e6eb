"""Which setup to log next, and about how many sets would settle the question."""

import math
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy import linalg, stats

from analytics.evidence.comparison import SHAPES, Comparison, best_block
from analytics.evidence.verdict import DECISIVE_RATIO

Array = NDArray[np.float64]

ASSURANCE = 0.9
MOST_SETS = 200
MOST_STEPS = 4
WORTH_FRAC = 0.9  # sets of one setup that give this part of all it can give


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Noise:
    """What stands between a further set and the ratio it tells about.

    Attributes
    ----------
    set_sd : float
        Standard deviation of one set's implied log strength. [1]
    between_sd : float
        Spread of a log ratio between lifters. [1]
    lifters : int
        Lifters who would log the new setup.
    """

    set_sd: float
    between_sd: float
    lifters: int

    def variance(self, sets: float) -> float:
        """Give the variance of a log ratio learned from so many sets."""
        return self.set_sd**2 / sets + self.between_sd**2 / min(self.lifters, sets)


def information(means: Array, covs: Array, *, lead: int, rival: int) -> float:
    r"""Find the expected log Bayes factor of one Gaussian prediction against another.

    Parameters
    ----------
    means : ndarray, shape (n_shapes, n)
        Predicted mean of the new log ratios under each shape. [1]
    covs : ndarray, shape (n_shapes, n, n)
        Their covariance, sampling included. [1]
    lead, rival : int
        The shape taken as true, and the one set against it.

    Returns
    -------
    expected : float
        Kullback–Leibler divergence, in natural log units. [1]

    Notes
    -----
    .. math:: \tfrac12 [tr(V_r^{-1} V_l) + g^T V_r^{-1} g - n
              + \ln |V_r| / |V_l|]
    """
    gap = means[lead] - means[rival]
    ratio = linalg.solve(covs[rival], covs[lead], assume_a="pos")
    quadratic = gap @ linalg.solve(covs[rival], gap, assume_a="pos")
    _, log_det = np.linalg.slogdet(ratio)
    return float(0.5 * (np.trace(ratio) + quadratic - len(gap) - log_det))


def _given_log(comparison: Comparison, candidates: Comparison) -> tuple[Array, Array]:
    """Gaussian prediction of candidates under each shape, given the log so far.

    By the muscle set and curve that fits the log best under that shape.
    """
    n = len(comparison.labels)
    spread = candidates.spread  # of logged setups and candidates together
    means, covs = [], []
    for shape in SHAPES:
        form, best = best_block(comparison, shape=shape)
        joint = np.hstack([comparison.draws[form][best], candidates.draws[form][best]])
        mean, cov = joint.mean(axis=0), np.cov(joint.T) + spread
        seen = cov[:n, :n] + comparison.cov
        gain = linalg.solve(seen, cov[:n, n:], assume_a="pos").T
        means.append(mean[n:] + gain @ (comparison.observed - mean[:n]))
        covs.append(cov[n:, n:] - gain @ cov[:n, n:])
    return np.array(means), np.array(covs)


def plan_sets(
    log_evidence: dict[str, float],
    comparison: Comparison,
    candidates: Comparison,
    noise: Noise,
) -> pd.DataFrame:
    """Setups worth logging next, best first, with sets and expected information.

    Parameters
    ----------
    log_evidence : dict of str to float
        Log marginal likelihood of each shape so far.
    comparison : Comparison
        The log so far.
    candidates : Comparison
        Setups that could be logged: labels, draws paired with those of
        ``comparison``, and ``spread`` over logged setups and candidates together
        (logged first); its ``observed`` and ``cov`` are not used.
    noise : Noise
        Of one further set.

    Returns
    -------
    plan : DataFrame
        ``setup, step, sets, expected_log_ratio, enough``: steps are taken in order;
        ``expected_log_ratio`` is the evidence expected after all steps so far
        against the closest rival, ``enough`` whether this settles the question in
        about 9 of 10 logs. Empty when already settled.
    """
    planner = _Planner.start(log_evidence, comparison, candidates, noise)
    rows: list[dict[str, object]] = []
    chosen: list[int] = []
    sets: list[int] = []
    enough = planner.missing([], []) <= 0
    while not enough and len(chosen) < min(MOST_STEPS, len(candidates.labels)):
        pool = set(range(len(candidates.labels))) - set(chosen)
        reach = {c: planner.lead_after([*chosen, c], [*sets, MOST_SETS]) for c in pool}
        chosen.append(max(reach, key=lambda c: (reach[c], -c)))
        sets.append(planner.sets_needed(chosen, sets))
        enough = planner.missing(chosen, sets) <= 0
        rows.append(
            {
                "setup": candidates.labels[chosen[-1]],
                "step": len(chosen),
                "sets": sets[-1],
                "expected_log_ratio": planner.lead_after(chosen, sets),
                "enough": enough,
            }
        )
    columns = ["setup", "step", "sets", "expected_log_ratio", "enough"]
    return pd.DataFrame(rows, columns=columns)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Planner:
    """Expected evidence for the leading shape after further sets."""

    means: Array
    covs: Array
    lead: int
    leads: dict[int, float]  # log evidence of the leading shape over each rival
    noise: Noise

    @classmethod
    def start(
        cls,
        log_evidence: dict[str, float],
        comparison: Comparison,
        candidates: Comparison,
        noise: Noise,
    ) -> "_Planner":
        values = np.array([log_evidence[shape] for shape in SHAPES])
        lead = int(values.argmax())
        # A rival that leads only has to beat the peaked curve.
        rivals = (1, 2) if lead == 0 else (0,)
        means, covs = _given_log(comparison, candidates)
        leads = {k: float(values[lead] - values[k]) for k in rivals}
        return cls(means=means, covs=covs, lead=lead, leads=leads, noise=noise)

    def _gains(self, chosen: list[int], sets: list[int]) -> dict[int, float]:
        if not chosen:
            return dict.fromkeys(self.leads, 0.0)
        sampling = np.diag([self.noise.variance(s) for s in sets])
        covs = self.covs[:, chosen][:, :, chosen] + sampling
        means = self.means[:, chosen]
        return {
            k: information(means, covs, lead=self.lead, rival=k) for k in self.leads
        }

    def lead_after(self, chosen: list[int], sets: list[int]) -> float:
        """Sum known and expected log evidence over the closest rival."""
        gains = self._gains(chosen, sets)
        return min(self.leads[k] + gains[k] for k in self.leads)

    def missing(self, chosen: list[int], sets: list[int]) -> float:
        """Evidence still lacking for a verdict in ASSURANCE of logs.

        A log Bayes factor with mean m has a standard deviation near sqrt(2 m).
        """
        gains = self._gains(chosen, sets)
        z = float(stats.norm.ppf(ASSURANCE))
        return max(
            math.log(DECISIVE_RATIO) - self.leads[k] - g + z * math.sqrt(2 * max(g, 0))
            for k, g in gains.items()
        )

    def sets_needed(self, chosen: list[int], sets: list[int]) -> int:
        """Fewest sets of the last setup that suffice, or give nearly all it can."""
        before = self.lead_after(chosen[:-1], sets)
        most = self.lead_after(chosen, [*sets, MOST_SETS]) - before
        can_suffice = self.missing(chosen, [*sets, MOST_SETS]) <= 0
        for number in range(1, MOST_SETS):
            now = [*sets, number]
            gained = self.lead_after(chosen, now) - before
            if (
                self.missing(chosen, now) <= 0
                if can_suffice
                else (gained >= WORTH_FRAC * most)
            ):
                return number
        return MOST_SETS
