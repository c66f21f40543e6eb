"""Observed log ratios against draws of predicted ones: the numeric core.

Arrays only: no catalogue, no store, no words. One `Comparison` holds what was
observed, how well, and what every rival shape of the length–strength curve
predicts; the functions weigh the shapes and test the fit.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy import linalg, special, stats

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Comparison:
    """What was observed and what each shape predicts.

    Attributes
    ----------
    labels : tuple of str
        Name of each compared setup.
    observed : ndarray, shape (n,)
        Observed log ratio to the reference; simulations have one row a log. [1]
    cov : ndarray, shape (n, n)
        Covariance of ``observed``. [1]
    spread : ndarray, shape (n, n)
        Covariance of what neither the log nor the parameters explain. [1]
    draws : dict of str to ndarray, shape (n_draws, n)
        Predicted log ratios per shape; draw b uses the same published parameters
        under every shape. [1]
    structures : tuple of slice
        Draws of one published muscle set and curve each; the sets and curves
        are alternatives, each as likely as it has draws, not one cloud.
    further : tuple of ndarray, shape (n, n)
        Other sizes of ``spread`` that are as likely: how far a good model may be
        off is not known.
    """

    labels: tuple[str, ...]
    observed: Array
    cov: Array
    spread: Array
    draws: dict[str, Array]
    structures: tuple[slice, ...] = (slice(None),)
    further: tuple[Array, ...] = ()

    def subset(self, keep: NDArray[np.intp] | NDArray[np.bool_]) -> "Comparison":
        """Return the comparison restricted to some setups."""
        index = np.arange(len(self.labels))[keep]
        square = np.ix_(index, index)
        return replace(
            self,
            labels=tuple(self.labels[i] for i in index),
            observed=self.observed[..., index],
            cov=self.cov[square],
            spread=self.spread[square],
            further=tuple(other[square] for other in self.further),
            draws={shape: x[:, index] for shape, x in self.draws.items()},
        )

    def at(self, observed: Array, cov: Array | None = None) -> "Comparison":
        """Return the comparison with other observations, as simulations need."""
        return replace(self, observed=observed, cov=self.cov if cov is None else cov)

    def totals(self) -> list[Array]:
        """Covariance of log and unexplained spread, for each size of the latter."""
        return [self.cov + spread for spread in (self.spread, *self.further)]

    def sizes(self) -> list["Comparison"]:
        """Return the comparison once with each size of unexplained spread."""
        return [
            replace(self, spread=spread, further=())
            for spread in (self.spread, *self.further)
        ]

    def settled(self, shape: str) -> "Comparison":
        """Return the comparison with the likeliest size of spread under a shape."""
        sizes = self.sizes()
        return sizes[int(np.argmax([shape_evidence(x, shape=shape) for x in sizes]))]

    def blocks(self, shape: str) -> list[Array]:
        """Return the draws of one shape, structure by structure."""
        return [self.draws[shape][one] for one in self.structures]


def _cov(draws: Array) -> Array:
    return np.atleast_2d(np.cov(draws, rowvar=False))


def smoothed(draws: Array) -> tuple[Array, Array]:
    """Smooth a cloud of draws, keeping its mean and covariance.

    Parameters
    ----------
    draws : ndarray, shape (n_draws, n)
        Predicted log ratios. [1]

    Returns
    -------
    centres, kernel : ndarray (n_draws, n), ndarray (n, n)
        Middle of each kernel, and the covariance of all. [1]
    """
    n_draws, n = draws.shape
    width2 = ((4.0 / (n + 2)) / n_draws) ** (2.0 / (n + 4))
    mean = draws.mean(axis=0)
    centres = mean + np.sqrt(1.0 - width2) * (draws - mean)
    return centres, width2 * _cov(draws)


def log_densities(observed: Array, cov: Array, draws: Array) -> Array:
    r"""Log density of the observation under every draw of one structure.

    Parameters
    ----------
    observed : ndarray, shape (..., n)
        Observed log ratios. [1]
    cov : ndarray, shape (n, n)
        Covariance of observation and unexplained spread together. [1]
    draws : ndarray, shape (n_draws, n)
        Predicted log ratios. [1]

    Returns
    -------
    log_density : ndarray, shape (..., n_draws)
        Their mean on the natural scale is the marginal likelihood. [1]

    Notes
    -----
    .. math:: p(d) = \frac{1}{B} \sum_b N(d;\; \bar m + a (m_b - \bar m),\;
              S + D + h^2 M), \quad a^2 + h^2 = 1

    A mixture over the draws whose kernels keep mean and covariance of the draws
    (shrinkage kernel of West 1993; width by the normal reference rule), so that it
    is smooth in many dimensions and still not only a Gaussian.
    """
    centres, kernel = smoothed(draws)
    factor = linalg.cholesky(cov + kernel, lower=True)
    unfold = np.linalg.inv(factor).T  # a triangular solver starts threads for 5 rows
    middle = centres.mean(axis=0)
    seen, drawn = (observed - middle) @ unfold, (centres - middle) @ unfold
    square = (seen**2).sum(axis=-1)[..., None] + (drawn**2).sum(axis=-1)
    constant = -0.5 * len(cov) * np.log(2 * np.pi) - np.log(np.diag(factor)).sum()
    return np.asarray(constant - 0.5 * square + seen @ drawn.T)


def structure_evidence(comparison: Comparison, *, shape: str) -> Array:
    """Log marginal likelihood under one shape, for each muscle set and curve.

    Parameters
    ----------
    comparison : Comparison
        What was observed and predicted.
    shape : str
        Which shape.

    Returns
    -------
    log_evidence : ndarray, shape (..., n_structures)
        Natural logs, the share of the draws that a structure has included. [1]
    """
    totals = comparison.totals()
    each = [
        np.concatenate(
            [log_densities(comparison.observed, total, block) for total in totals],
            axis=-1,
        )
        for block in comparison.blocks(shape)
    ]
    usual = np.mean([x.shape[-1] for x in each])
    return np.stack([special.logsumexp(x, axis=-1) for x in each], -1) - np.log(usual)


def shape_evidence(comparison: Comparison, *, shape: str) -> Array:
    """Log marginal likelihood under one shape, averaged over muscle sets and curves.

    Parameters
    ----------
    comparison : Comparison
        What was observed and predicted.
    shape : str
        Which shape.

    Returns
    -------
    log_evidence : ndarray, shape (...)
        Natural log, one per row of what was observed. [1]
    """
    each = structure_evidence(comparison, shape=shape)
    return np.asarray(special.logsumexp(each, axis=-1) - np.log(each.shape[-1]))


def log_evidence(comparison: Comparison) -> dict[str, float]:
    """Log marginal likelihood of the observation under each shape.

    Parameters
    ----------
    comparison : Comparison
        What was observed and predicted.

    Returns
    -------
    log_evidence : dict of str to float
        One natural log per shape that has draws. [1]
    """
    return {s: float(shape_evidence(comparison, shape=s)) for s in comparison.draws}


def misfit(comparison: Comparison, *, shape: str = "peaked") -> Array:
    r"""Squared distance of log and prediction in units of all their spread.

    Parameters
    ----------
    comparison : Comparison
        What was observed and predicted.
    shape : str
        Which shape is tested.

    Returns
    -------
    chi2 : ndarray, shape (...)
        One per row of what was observed. [1]

    Notes
    -----
    .. math:: (d - m)^T (S + M + D)^{-1} (d - m)

    with D of the likeliest size, and the mean m and covariance M of the muscle set
    and curve that fits best.
    """
    sizes = comparison.sizes()
    likely = np.argmax([shape_evidence(one, shape=shape) for one in sizes], axis=0)
    least = []
    for one in sizes:
        distances = []
        for block in one.blocks(shape):
            gap = one.observed - block.mean(axis=0)
            weight = linalg.inv(one.cov + one.spread + _cov(block))
            distances.append(np.einsum("...i,ij,...j->...", gap, weight, gap))
        least.append(np.min(distances, axis=0))
    return np.asarray(np.take_along_axis(np.array(least), likely[None], axis=0)[0])


def goodness_of_fit(
    comparison: Comparison, *, shape: str = "peaked"
) -> tuple[float, int, float]:
    """Test whether log and prediction differ by more than their spread explains.

    Parameters
    ----------
    comparison : Comparison
        What was observed and predicted.
    shape : str
        Which shape is tested.

    Returns
    -------
    chi2, dof, p_value : float, int, float
        `misfit`, degrees of freedom, upper-tail probability: the largest over the
        muscle sets and curves, so it tests that *some* published one holds, and is
        never too small for the one that does. [1]
    """
    chi2, dof = float(misfit(comparison, shape=shape)), len(comparison.labels)
    return chi2, dof, float(stats.chi2.sf(chi2, dof))


def length_information(
    comparison: Comparison, *, rival: str = "flat"
) -> tuple[Array, float]:
    """How far a rival predicts from the peaked shape, in units of spread.

    Parameters
    ----------
    comparison : Comparison
        Only its draws and spreads are used, not what was observed.
    rival : str
        What is set against ``peaked``: another shape, or leverage alone.

    Returns
    -------
    per_setup, together : ndarray (n,), float
        Distance for each setup alone, and of all setups together. [1]

    Notes
    -----
    Mean difference over the root of the two shapes' average covariance plus the
    unexplained spread, averaged over muscle sets and curves; sampling noise of the
    log is left out, so this is what no amount of sets can exceed.
    """
    each, together = [], []
    for one in comparison.structures:
        peaked, other = comparison.draws["peaked"][one], comparison.draws[rival][one]
        gap = peaked.mean(axis=0) - other.mean(axis=0)
        cov = 0.5 * (_cov(peaked) + _cov(other)) + comparison.spread
        each.append(np.abs(gap) / np.sqrt(np.diag(cov)))
        together.append(np.sqrt(gap @ linalg.solve(cov, gap, assume_a="pos")))
    return np.mean(each, axis=0), float(np.mean(together))


def predictive(comparison: Comparison, *, shape: str = "peaked") -> tuple[Array, Array]:
    """Mean and standard deviation of the ratios the log itself leaves plausible.

    Parameters
    ----------
    comparison : Comparison
        What was observed and predicted.
    shape : str
        Shape that predicts.

    Returns
    -------
    mean, sd : ndarray, shape (n,)
        Over muscle sets and curves by their posterior weight, parameters at their
        published spread, unexplained spread included. [1]
    """
    comparison = comparison.settled(shape)
    weights = special.softmax(structure_evidence(comparison, shape=shape))
    blocks = comparison.blocks(shape)
    means = np.array([block.mean(axis=0) for block in blocks])
    mean = weights @ means
    within = weights @ np.array([block.var(axis=0) for block in blocks])
    between = weights @ (means - mean) ** 2
    return mean, np.sqrt(within + between + np.diag(comparison.spread))


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
    comparison = comparison.settled(shape)
    total = comparison.cov + comparison.spread
    parts = [
        log_densities(comparison.observed, total, block)
        for block in comparison.blocks(shape)
    ]
    return np.asarray(special.softmax(np.concatenate(parts)))
