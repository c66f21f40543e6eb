"""Observed log ratios against draws of predicted ones: the numeric core.

Arrays only: no catalogue, no store, no words. One `Comparison` holds what was
observed, how well, and what every rival shape of the length–strength curve
predicts; the functions weigh the shapes, test the fit and predict what was left
out.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy import linalg, special, stats

Array = NDArray[np.float64]

SHAPES = ("peaked", "flat", "inverted")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Comparison:
    """What was observed and what each shape predicts.

    Attributes
    ----------
    labels : tuple of str
        Name of each compared setup.
    observed : ndarray, shape (n,)
        Observed log ratio to the reference. [1]
    cov : ndarray, shape (n, n)
        Covariance of ``observed``. [1]
    spread : ndarray, shape (n, n)
        Covariance of what neither the log nor the parameters explain. [1]
    draws : dict of str to ndarray, shape (n_draws, n)
        Predicted log ratios per shape; draw b uses the same published
        parameters under every shape. [1]
    """

    labels: tuple[str, ...]
    observed: Array
    cov: Array
    spread: Array
    draws: dict[str, Array]

    def subset(self, keep: NDArray[np.intp] | NDArray[np.bool_]) -> "Comparison":
        """Return the comparison restricted to some setups."""
        index = np.arange(len(self.labels))[keep]
        square = np.ix_(index, index)
        return Comparison(
            labels=tuple(self.labels[i] for i in index),
            observed=self.observed[index],
            cov=self.cov[square],
            spread=self.spread[square],
            draws={shape: x[:, index] for shape, x in self.draws.items()},
        )

    def at(self, observed: Array, cov: Array | None = None) -> "Comparison":
        """Return the comparison with other observations, as simulations need."""
        return replace(self, observed=observed, cov=self.cov if cov is None else cov)


def _smoothed(draws: Array) -> tuple[Array, Array]:
    """Centres and kernel covariance of draws, keeping their mean and covariance."""
    n_draws, n = draws.shape
    width2 = ((4.0 / (n + 2)) / n_draws) ** (2.0 / (n + 4))
    mean = draws.mean(axis=0)
    centres = mean + np.sqrt(1.0 - width2) * (draws - mean)
    return centres, width2 * np.atleast_2d(np.cov(draws, rowvar=False, ddof=0))


def log_densities(observed: Array, cov: Array, draws: Array) -> Array:
    r"""Log density of the observation under every draw.

    Parameters
    ----------
    observed : ndarray, shape (n,)
        Observed log ratios. [1]
    cov : ndarray, shape (n, n)
        Covariance of observation and unexplained spread together. [1]
    draws : ndarray, shape (n_draws, n)
        Predicted log ratios. [1]

    Returns
    -------
    log_density : ndarray, shape (n_draws,)
        Their mean on the natural scale is the marginal likelihood. [1]

    Notes
    -----
    .. math:: p(d) = \frac{1}{B} \sum_b N(d;\; \bar m + a (m_b - \bar m),\;
              S + D + h^2 M), \quad a^2 + h^2 = 1

    A mixture over the draws whose kernels keep mean and covariance of the draws
    (shrinkage kernel of West 1993; width by the normal reference rule), so that it
    is smooth in many dimensions and still not only a Gaussian.
    """
    centres, kernel = _smoothed(draws)
    factor = linalg.cholesky(cov + kernel, lower=True)
    white = linalg.solve_triangular(factor, (observed - centres).T, lower=True)
    n = len(observed)
    constant = -0.5 * n * np.log(2 * np.pi) - np.log(np.diag(factor)).sum()
    return np.asarray(constant - 0.5 * np.einsum("ib,ib->b", white, white))


def log_evidence(comparison: Comparison) -> dict[str, float]:
    """Log marginal likelihood of the observation under each shape.

    Parameters
    ----------
    comparison : Comparison
        What was observed and predicted.

    Returns
    -------
    log_evidence : dict of str to float
        One natural log per shape. [1]
    """
    total = comparison.cov + comparison.spread
    return {
        shape: float(
            special.logsumexp(log_densities(comparison.observed, total, draws))
            - np.log(len(draws))
        )
        for shape, draws in comparison.draws.items()
    }


def shape_weights(evidence: dict[str, float]) -> dict[str, float]:
    """Posterior weight of each shape from equal priors.

    Parameters
    ----------
    evidence : dict of str to float
        Log marginal likelihoods.

    Returns
    -------
    weights : dict of str to float
        They sum to 1. [1]
    """
    values = special.softmax(np.array(list(evidence.values())))
    return dict(zip(evidence, values.tolist(), strict=True))


def goodness_of_fit(
    comparison: Comparison, *, shape: str = "peaked"
) -> tuple[float, int, float]:
    r"""Squared distance of log and prediction in units of all their spread.

    Parameters
    ----------
    comparison : Comparison
        What was observed and predicted.
    shape : str
        Which shape is tested.

    Returns
    -------
    chi2, dof, p_value : float, int, float
        Statistic, degrees of freedom, upper-tail probability. [1]

    Notes
    -----
    .. math:: (d - m)^T (S + M + D)^{-1} (d - m)
    """
    draws = comparison.draws[shape]
    gap = comparison.observed - draws.mean(axis=0)
    total = comparison.cov + comparison.spread + np.atleast_2d(np.cov(draws.T))
    chi2 = float(gap @ linalg.solve(total, gap, assume_a="pos"))
    return chi2, len(gap), float(stats.chi2.sf(chi2, len(gap)))


def length_information(
    comparison: Comparison, *, rival: str = "flat"
) -> tuple[Array, float]:
    """How far a rival shape predicts from the peaked one, in units of spread.

    Parameters
    ----------
    comparison : Comparison
        Only its draws and spreads are used, not what was observed.
    rival : str
        The shape set against ``peaked``.

    Returns
    -------
    per_setup, together : ndarray (n,), float
        Distance for each setup alone, and of all setups together. [1]

    Notes
    -----
    Mean difference over the root of the two shapes' average covariance plus the
    unexplained spread; sampling noise of the log is left out, so this is what
    no amount of sets can exceed.
    """
    peaked, other = comparison.draws["peaked"], comparison.draws[rival]
    gap = peaked.mean(axis=0) - other.mean(axis=0)
    cov = 0.5 * (np.cov(peaked.T) + np.cov(other.T)) + comparison.spread
    cov = np.atleast_2d(cov)
    together = np.sqrt(gap @ linalg.solve(cov, gap, assume_a="pos"))
    return np.abs(gap) / np.sqrt(np.diag(cov)), float(together)


def left_out_prediction(
    comparison: Comparison, *, shape: str = "peaked"
) -> tuple[Array, Array, Array]:
    """Predict each setup's log ratio from all the others.

    Parameters
    ----------
    comparison : Comparison
        What was observed and predicted.
    shape : str
        Shape that predicts.

    Returns
    -------
    mean, sd, log_score : ndarray, shape (n,)
        Predicted log ratio, its standard deviation including the sampling noise
        of the left-out observation, and the log density of what was observed. [1]
    """
    n = len(comparison.labels)
    mean, sd, score = np.empty(n), np.empty(n), np.empty(n)
    centres, kernel = _smoothed(comparison.draws[shape])
    total = comparison.cov + comparison.spread + kernel
    d = comparison.observed
    for j in range(n):
        rest = np.arange(n) != j
        if rest.any():
            gain = linalg.solve(
                total[np.ix_(rest, rest)], total[rest, j], assume_a="pos"
            )
            residual = d[rest] - centres[:, rest]
            distance = residual @ linalg.inv(total[np.ix_(rest, rest)])
            weight = special.softmax(-0.5 * np.einsum("bi,bi->b", distance, residual))
            at = centres[:, j] + residual @ gain
            var = total[j, j] - total[rest, j] @ gain
        else:
            weight = np.full(len(centres), 1.0 / len(centres))
            at, var = centres[:, j], total[j, j]
        mean[j] = weight @ at
        sd[j] = np.sqrt(var + weight @ (at - mean[j]) ** 2)
        score[j] = special.logsumexp(
            stats.norm.logpdf(d[j], at, np.sqrt(var)), b=weight
        )
    return mean, sd, score


def draw_weights(comparison: Comparison, *, shape: str = "peaked") -> Array:
    """Posterior weight of every parameter draw under one shape.

    Parameters
    ----------
    comparison : Comparison
        What was observed and predicted.
    shape : str
        Shape whose draws are weighed.

    Returns
    -------
    weights : ndarray, shape (n_draws,)
        They sum to 1. [1]
    """
    total = comparison.cov + comparison.spread
    draws = comparison.draws[shape]
    return np.asarray(special.softmax(log_densities(comparison.observed, total, draws)))
