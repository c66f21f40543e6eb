"""Direct points: strength at known joint angles, without any length–strength model.

Isometric holds at noted angles, and sets that failed at a noted angle.
"""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray
from scipy import linalg

from analytics.errors import InputError
from analytics.evidence.failures import FailurePoints
from analytics.evidence.features import curve_features, unanswered
from analytics.mechanics import demand

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


def direct_points(
    holds: pd.DataFrame, failures: FailurePoints
) -> tuple[pd.DataFrame, Array]:
    """Line up holds and failure angles as moments at joint angles.

    Parameters
    ----------
    holds : DataFrame
        ``lifter, variant, angle_deg, load_kg``: maximal holds, load per arm.
    failures : FailurePoints
        Result of `failure_points`.

    Returns
    -------
    points, known_cov : DataFrame, ndarray (n, n)
        ``kind, level, variant, angle_deg, moment_nm, n``, of ``n`` sets each; points of
        one ``level`` can be compared. Covariance of the log moments: zero for holds,
        whose noise is learned. [1]
    """
    moment = [
        float(demand(row.angle_deg, variant=row.variant, load_kg=row.load_kg))
        for row in holds.itertuples()
    ]
    held = pd.DataFrame(
        {
            "kind": "hold",
            "level": holds["lifter"].astype("str")
            + " "
            + holds["variant"].astype("str"),
            "variant": holds["variant"],
            "angle_deg": holds["angle_deg"].astype(float),
            "moment_nm": np.array(moment, dtype=float),
            "n": 1,
        }
    )
    held = held[held["moment_nm"] > 0]
    failed = failures.table.assign(kind="failure", level="failures")[held.columns]
    parts = [part for part in (held, failed) if len(part)]
    points = pd.concat(parts, ignore_index=True) if parts else held
    return points, linalg.block_diag(np.zeros((len(held),) * 2), failures.cov)


def measured_curve(
    points: pd.DataFrame,
    known_cov: Array,
    *,
    n_draws: int = 2000,
    seed: int = 20250106,
) -> pd.DataFrame:
    """Features of the strength curve that the points of a log draw by themselves.

    Parameters
    ----------
    points, known_cov : DataFrame, ndarray
        Result of `direct_points`.
    n_draws, seed : int
        Of the posterior.

    Returns
    -------
    table : DataFrame
        Result of `curve_features`; `unanswered` when the points are too few.
    """
    angles = points["angle_deg"].round().nunique()
    missing = max(LEAST_POINTS - len(points), LEAST_ANGLES - angles)
    if missing > 0:
        return unanswered(len(points), missing)
    curve = fit_strength_curve(
        points["angle_deg"],
        np.log(points["moment_nm"]),
        points["level"],
        known_cov=known_cov,
        n_draws=n_draws,
        seed=seed,
    )
    return curve_features(
        curve.angle_deg, curve.draws, points=curve.n_obs, angles=angles
    )
