"""Which setup to log next, and about how many sets would settle the question."""

import math
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy import linalg, special

from analytics.evidence.comparison import Comparison, structure_evidence
from analytics.evidence.observe import Noise
from analytics.evidence.verdict import DECISIVE_RATIO, open_question

Array = NDArray[np.float64]

ASSURANCE = 0.9
# Fewer than three sets of a setup are one day's form.
NUMBERS = (3, 4, 6, 8, 10, 12, 16, 20, 25, 30, 40, 50, 60, 80, 100, 150, 200)
MOST_STEPS = 4
KEPT = 16  # setups that one step leaves for the next
WORTH_FRAC = 0.9  # sets of one setup that give this part of all it can give
LEAST_WEIGHT = 0.01
LEAST_GAIN = 0.02  # chance of a verdict that a further setup must add
SIMULATED = 400


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Outlook:
    """What one shape predicts for every candidate, given the log so far.

    One Gaussian per muscle set, curve and form that the log leaves possible.

    Attributes
    ----------
    log_weight : ndarray, shape (n_blocks,)
        Posterior weight of each. [1]
    mean : ndarray, shape (n_blocks, n_candidates)
        Predicted log ratios. [1]
    cov : ndarray, shape (n_blocks, n_candidates, n_candidates)
        Their covariance, unexplained spread included. [1]
    """

    log_weight: Array
    mean: Array
    cov: Array

    def at(self, chosen: list[int], sampling: Array) -> tuple[Array, Array]:
        """Mean and root covariance of the chosen candidates' observed ratios."""
        square = np.ix_(range(len(self.mean)), chosen, chosen)
        root = np.asarray(np.linalg.cholesky(self.cov[square] + sampling), dtype=float)
        return self.mean[:, chosen], root


def outlook(comparison: Comparison, candidates: Comparison, *, shape: str) -> Outlook:
    """Predict candidates under one shape, given the log so far.

    Parameters
    ----------
    comparison : Comparison
        The log so far.
    candidates : Comparison
        See `plan_sets`.
    shape : str
        Which shape.

    Returns
    -------
    outlook : Outlook
        Gaussian conditionals, one per possible muscle set and curve.
    """
    n = len(comparison.labels)
    weight = special.softmax(structure_evidence(comparison, shape=shape))
    keep = weight >= LEAST_WEIGHT
    means, covs = [], []
    blocks = zip(comparison.blocks(shape), candidates.blocks(shape), keep, strict=True)
    for logged, new, possible in blocks:
        if not possible:
            continue
        joint = np.hstack([logged, new])
        mean, cov = joint.mean(axis=0), np.cov(joint.T) + candidates.spread
        seen = cov[:n, :n] + comparison.cov
        gain = linalg.solve(seen, cov[:n, n:], assume_a="pos").T
        means.append(mean[n:] + gain @ (comparison.observed - mean[:n]))
        covs.append(cov[n:, n:] - gain @ cov[:n, n:])
    return Outlook(
        log_weight=np.log(weight[keep] / weight[keep].sum()),
        mean=np.array(means),
        cov=np.array(covs),
    )


def _log_density(seen: Array, view: Outlook, mean: Array, root: Array) -> Array:
    """Log density of simulated observations under the mixture of an outlook."""
    gap = seen[None] - mean[:, None]  # blocks, simulated, chosen
    white = np.einsum("kij,ksj->ksi", np.linalg.inv(root), gap)
    log_root = np.log(np.diagonal(root, axis1=1, axis2=2)).sum(axis=1)
    each = (view.log_weight - log_root)[:, None] - 0.5 * (white**2).sum(axis=2)
    return np.asarray(np.logaddexp.reduce(each, axis=0))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Planner:
    """Simulated evidence for the leading shape after further sets."""

    lead: Outlook
    rivals: tuple[Outlook, ...]
    leads: tuple[float, ...]  # log evidence of the leading shape over each rival
    noise: Noise
    block: NDArray[np.intp]  # muscle set and curve of each simulated log
    normal: Array  # (SIMULATED, MOST_STEPS)

    def leads_after(self, chosen: list[int], sets: list[int]) -> Array:
        """Log evidence over the closest rival in each simulated log."""
        if not chosen:
            return np.full(SIMULATED, min(self.leads))
        sampling = np.diag([self.noise.variance(s) for s in sets])
        mean, root = self.lead.at(chosen, sampling)
        normal = self.normal[:, : len(chosen)]
        seen = mean[self.block] + np.einsum("sij,sj->si", root[self.block], normal)
        own = _log_density(seen, self.lead, mean, root)
        after = [
            lead + own - _log_density(seen, rival, *rival.at(chosen, sampling))
            for lead, rival in zip(self.leads, self.rivals, strict=True)
        ]
        return np.asarray(np.min(after, axis=0))

    def worth(self, chosen: list[int], sets: list[int]) -> tuple[float, float]:
        """Chance of a verdict, and the median evidence."""
        after = self.leads_after(chosen, sets)
        chance = float(np.mean(after >= math.log(DECISIVE_RATIO)))
        return chance, float(np.median(after))

    def sets_needed(self, chosen: list[int], sets: list[int]) -> int:
        """Fewest sets of the last setup that suffice, or give nearly all it can."""
        least = min(ASSURANCE, WORTH_FRAC * self.worth(chosen, [*sets, NUMBERS[-1]])[0])
        return next(
            (n for n in NUMBERS if self.worth(chosen, [*sets, n])[0] >= least),
            NUMBERS[-1],
        )


def plan_sets(
    log_evidence: dict[str, float],
    comparison: Comparison,
    candidates: Comparison,
    noise: Noise,
    *,
    seed: int,
) -> pd.DataFrame:
    """Setups worth logging next, best first, with sets and expected information.

    Parameters
    ----------
    log_evidence : dict of str to float
        Log marginal likelihood of each shape so far; something must be undecided.
    comparison : Comparison
        The log so far.
    candidates : Comparison
        Setups that could be logged: labels, draws paired with those of
        ``comparison``, and ``spread`` over logged setups and candidates together
        (logged first); its ``observed`` and ``cov`` are not used.
    noise : Noise
        Of one further set.
    seed : int
        Of the simulated logs.

    Returns
    -------
    plan : DataFrame
        ``setup, step, sets, expected_log_ratio, chance, enough``: steps are taken
        in order. ``expected_log_ratio`` is the median evidence after all steps so
        far against the closest rival, ``chance`` that of a verdict, should the
        shape that leads now be true, and ``enough`` whether it is 0.9 or more.

    Notes
    -----
    New ratios are simulated from what the leading shape predicts given the log, and
    weighed under every shape; a rival may answer with any muscle set and curve.
    """
    lead, rivals = open_question(log_evidence)
    views = {s: outlook(comparison, candidates, shape=s) for s in (lead, *rivals)}
    rng = np.random.default_rng(seed)
    weight = np.exp(views[lead].log_weight)
    planner = _Planner(
        lead=views[lead],
        rivals=tuple(views[s] for s in rivals),
        leads=tuple(log_evidence[lead] - log_evidence[s] for s in rivals),
        noise=noise,
        block=rng.choice(len(weight), size=SIMULATED, p=weight / weight.sum()),
        normal=rng.standard_normal((SIMULATED, MOST_STEPS)),
    )
    rows: list[dict[str, object]] = []
    chosen: list[int] = []
    sets: list[int] = []
    chance = planner.worth(chosen, sets)[0]
    pool = list(range(len(candidates.labels)))
    while chance < ASSURANCE and pool and len(chosen) < MOST_STEPS:
        reach = {c: planner.worth([*chosen, c], [*sets, NUMBERS[-1]]) for c in pool}
        best, *pool = sorted(pool, key=lambda c: (*reach[c], -c), reverse=True)[:KEPT]
        if reach[best][0] < chance + LEAST_GAIN:
            break
        chosen.append(best)
        sets.append(planner.sets_needed(chosen, sets))
        chance, median = planner.worth(chosen, sets)
        rows.append(
            {
                "setup": candidates.labels[chosen[-1]],
                "step": len(chosen),
                "sets": sets[-1],
                "expected_log_ratio": median,
                "chance": chance,
                "enough": chance >= ASSURANCE,
            }
        )
    columns = ["setup", "step", "sets", "expected_log_ratio", "chance", "enough"]
    return pd.DataFrame(rows, columns=columns)
