"""Exact solution of the linear part: posterior, likelihood and its gradient.

Every lifter's own columns are eliminated first, which leaves one small system
for the cohort means. The gradient in the variances follows from the posterior
moments (Fisher's identity), so no derivative of a likelihood is coded.
"""

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from analytics.strength.core.panel import (
    Batch,
    Panel,
    Prior,
    day_covariance,
    local_variances,
    walk_covariance,
)

Floats = NDArray[np.float64]


@dataclass(slots=True, kw_only=True, eq=False)
class LocalPart:
    """Posterior of one batch, given and with the cohort means.

    Attributes
    ----------
    mean : ndarray, shape (B, C)
        Posterior mean of every column, cohort mean included.
    cov : ndarray, shape (B, C, C)
        Its covariance.
    own_mean : ndarray, shape (B, n_local)
        Of the lifter's own deviations.
    inverse : ndarray, shape (B, n_local, n_local)
        Covariance of the deviations, given the cohort means.
    shift : ndarray, shape (B, n_local, p)
        How far a cohort mean moves the deviations down.
    with_fixed : ndarray, shape (B, C, p)
        Covariance of the columns with the cohort means.
    fixed_cov : ndarray, shape (p, p)
        Of the cohort means; 0 if they are maximised over.
    """

    mean: Floats
    cov: Floats
    own_mean: Floats
    inverse: Floats
    shift: Floats
    with_fixed: Floats
    fixed_cov: Floats

    @property
    def own_cov(self) -> Floats:
        """Covariance of the lifter's own deviations, shape (B, n_local, n_local)."""
        moved = self.shift @ self.fixed_cov
        return self.inverse + moved @ self.shift.transpose(0, 2, 1)


@dataclass(slots=True, kw_only=True, eq=False)
class Solution:
    """Posterior of all columns under Gaussian sets.

    Attributes
    ----------
    log_z : float
        Log of the integral over everything of prior times sets, without the
        factors of 2 pi of the sets.
    fixed_mean, fixed_cov : ndarray
        Cohort means.
    parts : list of LocalPart
        One per batch.
    """

    log_z: float
    fixed_mean: Floats
    fixed_cov: Floats
    parts: list[LocalPart] = field(default_factory=list)


def prior_precision(panel: Panel, batch: Batch, prior: Prior) -> tuple[Floats, float]:
    """Prior precision of a batch's own columns and half its log determinant."""
    n = len(batch.local)
    out = np.zeros((len(batch.lifters), n, n))
    half_log = 0.0
    nd = batch.n_days
    if nd:
        cov = day_covariance(batch, prior)
        out[:, :nd, :nd] = np.linalg.inv(cov)
        half_log -= 0.5 * float(np.linalg.slogdet(cov)[1].sum())
    top = 1 + panel.slope
    level = np.linalg.inv(prior.level_covariance()[:top, :top])
    out[:, nd : nd + top, nd : nd + top] = level
    half_log += 0.5 * len(out) * float(np.linalg.slogdet(level)[1])
    variances = local_variances(panel, batch, prior)
    at = np.arange(nd + top, n)
    out[:, at, at] = 1 / variances
    half_log -= 0.5 * float(np.log(variances).sum())
    return out, half_log


@dataclass(slots=True, kw_only=True, eq=False)
class Eliminated:
    """What is left of the system once every lifter's own columns are eliminated.

    Attributes
    ----------
    system : ndarray, shape (p, p)
    right : ndarray, shape (p,)
        Of the cohort means, without their prior; those of several groups of lifters
        add up.
    log_z : float
        What the elimination adds to the log evidence.
    held : list of tuple
        ``inverse, shift, mean0`` of each batch.
    """

    system: Floats
    right: Floats
    log_z: float
    held: list[tuple[Floats, Floats, Floats]]


def eliminate(
    panel: Panel,
    groups: list[Batch],
    prior: Prior,
    *,
    grams: list[tuple[Floats, Floats]],
) -> Eliminated:
    """Eliminate the columns of every lifter.

    Parameters
    ----------
    panel, groups, prior, grams :
        As of :func:`solve`.

    Returns
    -------
    eliminated : Eliminated
    """
    p = panel.n_fixed
    out = Eliminated(system=np.zeros((p, p)), right=np.zeros(p), log_z=0.0, held=[])
    for k, batch in enumerate(groups):
        g, vec = grams[k]
        own_prior, half_log = prior_precision(panel, batch, prior)
        loc = batch.local
        inverse, half_det = _inverse(g[:, loc[:, None], loc] + own_prior)
        to_fixed = g @ batch.fixed
        cross = to_fixed[:, loc]
        shift = inverse @ cross
        mean0 = (inverse @ vec[:, loc, None])[..., 0]
        out.system += np.einsum("bcp,bcq->pq", batch.fixed, to_fixed)
        out.system -= np.einsum("blp,blq->pq", cross, shift)
        out.right += np.einsum("bcp,bc->p", batch.fixed, vec)
        out.right -= np.einsum("blp,bl->p", cross, mean0)
        out.log_z += half_log - half_det + 0.5 * float((mean0 * vec[:, loc]).sum())
        out.held.append((inverse, shift, mean0))
    return out


def solve(
    panel: Panel,
    groups: list[Batch],
    prior: Prior,
    *,
    grams: list[tuple[Floats, Floats]],
    constant: float = 0.0,
    restricted: bool = True,
) -> Solution:
    """Posterior of lifters and cohort means, exactly.

    Parameters
    ----------
    panel : Panel
        Sets and cells.
    groups : list of Batch
        From :func:`analytics.strength.core.panel.batches`.
    prior : Prior
        Variances.
    grams : list of tuple
        Precision and weighted mean of each batch's columns, from
        :func:`analytics.strength.core.panel.gram`.
    constant : float
        Part of the log evidence the sums already know. [1]
    restricted : bool
        Integrate over the cohort means; False maximises over them instead.

    Returns
    -------
    solution : Solution
        Mean, covariance and log evidence.
    """
    left = eliminate(panel, groups, prior, grams=grams)
    return solve_means(groups, prior, left, constant=constant, restricted=restricted)


def solve_means(
    groups: list[Batch],
    prior: Prior,
    left: Eliminated,
    *,
    constant: float = 0.0,
    restricted: bool = True,
) -> Solution:
    """Solve for the cohort means, then for the lifters.

    Parameters
    ----------
    groups, prior, constant, restricted :
        As of :func:`solve`.
    left : Eliminated
        Of these lifters; ``system`` and ``right`` may be those of a larger cohort.

    Returns
    -------
    solution : Solution
    """
    p = len(left.right)
    system = np.diag(prior.fixed_precision) + left.system
    right = prior.fixed_precision * prior.fixed_mean + left.right
    log_z = constant - 0.5 * float(prior.fixed_precision @ np.square(prior.fixed_mean))
    log_z += left.log_z
    fixed_cov, half_det = _inverse(system[None])
    cov = fixed_cov[0]
    fixed = cov @ right
    proper = prior.fixed_precision > 0
    log_z += 0.5 * float(right @ fixed)
    if restricted:
        log_z += 0.5 * float(np.log(prior.fixed_precision[proper]).sum()) - half_det
        log_z += 0.5 * (p - int(proper.sum())) * np.log(2 * np.pi)
    parts = [
        _finish(batch, *pieces, fixed=fixed, cov=cov if restricted else 0 * cov)
        for batch, pieces in zip(groups, left.held, strict=True)
    ]
    return Solution(log_z=log_z, fixed_mean=fixed, fixed_cov=cov, parts=parts)


def _inverse(a: Floats) -> tuple[Floats, float]:
    """Inverses of symmetric positive matrices and half their log determinants."""
    scale = 1 / np.sqrt(np.einsum("bii->bi", a))
    scaled = a * scale[:, :, None] * scale[:, None, :]
    half = float(
        np.log(np.einsum("bii->bi", np.linalg.cholesky(scaled))).sum()
        - np.log(scale).sum()
    )
    out = np.linalg.inv(scaled) * scale[:, :, None] * scale[:, None, :]
    return out, half


def _finish(
    batch: Batch,
    inverse: Floats,
    shift: Floats,
    mean0: Floats,
    *,
    fixed: Floats,
    cov: Floats,
) -> LocalPart:
    loc = batch.local
    own_mean = mean0 - shift @ fixed
    direct = batch.fixed.copy()
    direct[:, loc] -= shift
    mean = batch.fixed @ fixed
    mean[:, loc] += own_mean
    with_fixed = direct @ cov
    full = with_fixed @ direct.transpose(0, 2, 1)
    full[:, loc[:, None], loc] += inverse
    return LocalPart(
        mean=mean,
        cov=full,
        own_mean=own_mean,
        inverse=inverse,
        shift=shift,
        with_fixed=with_fixed,
        fixed_cov=cov,
    )


def prior_gradient(
    panel: Panel, groups: list[Batch], prior: Prior, solution: Solution
) -> dict[str, Floats]:
    """Gradient of the log evidence in the logs of the standard deviations.

    Returns
    -------
    gradient : dict
        Keys as the fields of :class:`Prior`; ``setup_sd`` per setup,
        ``set_term_sd`` per local set term, ``level_slope_correlation`` in the
        correlation itself. The cell effects are the caller's.
    """
    out: dict[str, Floats] = {
        k: np.zeros(())
        for k in ("level_sd", "slope_sd", "level_slope_correlation", "walk_sd")
    }
    out |= {"day_sd": np.zeros(()), "setup_slope_sd": np.zeros(())}
    out["setup_sd"] = np.zeros(panel.n_setups)
    out["set_term_sd"] = np.zeros(len(panel.local_set_terms))
    top = 1 + panel.slope
    for batch, part in zip(groups, solution.parts, strict=True):
        nd = batch.n_days
        second = part.own_cov + part.own_mean[:, :, None] * part.own_mean[:, None, :]
        if nd:
            _day_gradient(out, batch, prior, second[:, :nd, :nd])
        level = second[:, nd : nd + top, nd : nd + top]
        _level_gradient(out, prior, level.sum(0), len(level), top)
        variances = local_variances(panel, batch, prior)
        at = np.arange(nd + top, second.shape[1])
        gain = second[:, at, at] / variances - 1
        v = batch.n_slots
        used = batch.slots >= 0
        np.add.at(out["setup_sd"], batch.slots[used], gain[:, :v][used])
        if panel.setup_slopes:
            slopes = gain[:, v : 2 * v]
            out["setup_slope_sd"] = out["setup_slope_sd"] + slopes[used].sum()
        n_terms = len(panel.local_set_terms)
        out["set_term_sd"] += gain[:, gain.shape[1] - n_terms :].sum(0)
    return out


def _day_gradient(
    out: dict[str, Floats], batch: Batch, prior: Prior, second: Floats
) -> None:
    cov = day_covariance(batch, prior)
    inverse = np.linalg.inv(cov)
    middle = inverse @ (second - cov) @ inverse
    both = batch.day_used[:, :, None] & batch.day_used[:, None, :]
    walk = np.where(both, walk_covariance(batch.day_weeks, prior.walk_sd), 0.0)
    out["walk_sd"] = out["walk_sd"] + (middle * walk).sum()
    diagonal = np.einsum("bii->bi", middle)
    out["day_sd"] = out["day_sd"] + prior.day_sd**2 * diagonal[batch.day_used].sum()


def _level_gradient(
    out: dict[str, Floats], prior: Prior, second: Floats, n: int, top: int
) -> None:
    cov = prior.level_covariance()
    inverse = np.linalg.inv(cov[:top, :top])
    middle = inverse @ (second - n * cov[:top, :top]) @ inverse / 2
    names = ("level_sd", "slope_sd")[:top]
    for k, name in enumerate(names):
        change = np.zeros_like(cov)
        change[k] += cov[k]
        change[:, k] += cov[:, k]
        out[name] = out[name] + (middle * change[:top, :top]).sum()
    if top == 2:
        change = np.array([[0, 1], [1, 0]]) * prior.level_sd * prior.slope_sd
        key = "level_slope_correlation"
        out[key] = out[key] + (middle * change).sum()
