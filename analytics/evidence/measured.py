"""The strength curve that points at known angles draw, without any muscle model."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import linalg

from analytics.errors import InputError

Array = NDArray[np.float64]

LEAST_ANGLES = 4
LEAST_POINTS = 6

# Grid over which the smoothness and the noise of the curve are averaged: from a
# bend over 20 degrees to nearly a parabola; noise of one hold from 2 to 15 %.
LENGTHS_DEG = np.array([20.0, 30.0, 45.0, 65.0, 90.0])
SIGNALS = np.array([0.1, 0.2, 0.4, 0.8])
NOISES = np.array([0.02, 0.035, 0.06, 0.1, 0.15])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StrengthCurve:
    """Log strength against joint angle, from points at known angles.

    Attributes
    ----------
    angle_deg : ndarray, shape (n_grid,)
        Angles between the smallest and the largest that were logged. [deg]
    draws : ndarray, shape (n_draws, n_grid)
        Posterior draws of log strength, up to a constant per draw. [1]
    noise_sd : float
        Posterior mean of one hold's standard deviation. [1]
    n_obs : int
        Points used.
    """

    angle_deg: Array
    draws: Array
    noise_sd: float
    n_obs: int


def fit_strength_curve(
    angle_deg: ArrayLike,
    log_strength: ArrayLike,
    block: ArrayLike,
    *,
    known_cov: ArrayLike | None = None,
    n_draws: int = 2000,
    seed: int = 20250106,
) -> StrengthCurve:
    """Smooth curve through points at several angles.

    Parameters
    ----------
    angle_deg : array_like, shape (n,)
        Joint angle of each point. [deg]
    log_strength : array_like, shape (n,)
        Log of the moment. [1]
    block : array_like, shape (n,)
        Points with the same label share an unknown level (lifter and variant).
    known_cov : array_like, shape (n, n), or None
        Covariance of points whose noise is known; points without any are holds, whose
        noise is learned. [1]
    n_draws : int
        Posterior draws.
    seed : int
        Of the draws.

    Returns
    -------
    curve : StrengthCurve
        On a grid of one degree inside the logged angles.

    Raises
    ------
    InputError
        If there are fewer than 4 different angles or 6 points.

    Notes
    -----
    Gaussian process with squared-exponential covariance and a free level per
    block; length scale, height and noise are drawn from their posterior on a grid
    with equal priors, so their uncertainty is in the intervals.
    """
    angle = np.asarray(angle_deg, dtype=float)
    y = np.asarray(log_strength, dtype=float)
    if len(np.unique(angle)) < LEAST_ANGLES or len(angle) < LEAST_POINTS:
        raise InputError(
            f"{len(angle)} points at {len(np.unique(angle))} angles are too few for a "
            f"curve; it needs {LEAST_POINTS} points at {LEAST_ANGLES} angles"
        )
    _, index = np.unique(np.asarray(block, dtype=str), return_inverse=True)
    same = (index[:, None] == index[None, :]).astype(float)
    known = np.zeros((len(y), len(y))) if known_cov is None else np.asarray(known_cov)
    held = np.diag((np.diag(known) == 0).astype(float))
    grid = np.arange(np.ceil(angle.min()), np.floor(angle.max()) + 1.0)
    rng = np.random.default_rng(seed)
    fits, scores = [], []
    for length in LENGTHS_DEG:
        unit = np.exp(-0.5 * ((angle[:, None] - angle) / length) ** 2)
        cross = np.exp(-0.5 * ((grid[:, None] - angle) / length) ** 2)
        prior = np.exp(-0.5 * ((grid[:, None] - grid) / length) ** 2)
        for signal in SIGNALS:
            for noise in NOISES:
                # A level sd of 3 is a factor of 20: flat for any lifter.
                cov = signal**2 * unit + 9.0 * same + noise**2 * held + known
                factor = linalg.cho_factor(cov, lower=True)
                resid = y - y.mean()
                alpha = linalg.cho_solve(factor, resid)
                scores.append(-0.5 * resid @ alpha - np.log(np.diag(factor[0])).sum())
                fits.append((signal, noise, cross, prior, factor, alpha))
    weight = np.exp(np.array(scores) - max(scores))
    weight /= weight.sum()
    counts = rng.multinomial(n_draws, weight)
    draws = []
    for count, (signal, _, cross, prior, factor, alpha) in zip(
        counts, fits, strict=True
    ):
        if count == 0:
            continue
        mean = signal**2 * cross @ alpha
        cov = signal**2 * prior - signal**4 * cross @ linalg.cho_solve(factor, cross.T)
        root = linalg.cholesky(cov + 1e-9 * np.eye(len(grid)), lower=True)
        draws.append(mean + rng.standard_normal((count, len(grid))) @ root.T)
    noise_mean = float(weight @ np.array([fit[1] for fit in fits]))
    return StrengthCurve(
        angle_deg=grid, draws=np.vstack(draws), noise_sd=noise_mean, n_obs=len(y)
    )
