"""Direct points: strength at known joint angles, without any length–strength model."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray
from scipy import linalg

from analytics.errors import InputError
from analytics.mechanics import demand

Array = NDArray[np.float64]

PLATEAU_FRAC = 0.95
STEP_DEG = 10.0
LEAST_ANGLES = 4
LEAST_POINTS = 6

# Grid over which the smoothness and the noise of the curve are averaged: from a
# bend over 20 degrees to nearly a parabola; noise of one hold from 2 to 15 %.
LENGTHS_DEG = np.array([20.0, 30.0, 45.0, 65.0, 90.0])
SIGNALS = np.array([0.1, 0.2, 0.4, 0.8])
NOISES = np.array([0.02, 0.035, 0.06, 0.1, 0.15])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StrengthCurve:
    """Log strength against joint angle, from holds at known angles.

    Attributes
    ----------
    elbow_deg : ndarray, shape (n_grid,)
        Angles between the smallest and the largest that were logged. [deg]
    draws : ndarray, shape (n_draws, n_grid)
        Posterior draws of log strength, up to a constant per draw. [1]
    noise_sd : float
        Posterior mean of one hold's standard deviation. [1]
    n_obs : int
        Holds used.
    """

    elbow_deg: Array
    draws: Array
    noise_sd: float
    n_obs: int


def fit_strength_curve(
    elbow_deg: ArrayLike,
    log_strength: ArrayLike,
    block: ArrayLike,
    *,
    n_draws: int = 2000,
    seed: int = 20250106,
) -> StrengthCurve:
    """Smooth curve through holds at several angles.

    Parameters
    ----------
    elbow_deg : array_like, shape (n,)
        Joint angle of each hold. [deg]
    log_strength : array_like, shape (n,)
        Log of the held moment. [1]
    block : array_like, shape (n,)
        Holds with the same label share an unknown level (lifter and variant).
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
        If there are fewer than 4 different angles or 6 holds.

    Notes
    -----
    Gaussian process with squared-exponential covariance and a free level per
    block; length scale, height and noise are drawn from their posterior on a grid
    with equal priors, so their uncertainty is in the intervals.
    """
    angle = np.asarray(elbow_deg, dtype=float)
    y = np.asarray(log_strength, dtype=float)
    if len(np.unique(angle)) < LEAST_ANGLES or len(angle) < LEAST_POINTS:
        raise InputError(
            f"{len(angle)} holds at {len(np.unique(angle))} angles are too few for a "
            f"curve; it needs {LEAST_POINTS} holds at {LEAST_ANGLES} angles"
        )
    _, index = np.unique(np.asarray(block, dtype=str), return_inverse=True)
    same = (index[:, None] == index[None, :]).astype(float)
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
                cov = signal**2 * unit + 9.0 * same + noise**2 * np.eye(len(y))
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
        elbow_deg=grid, draws=np.vstack(draws), noise_sd=noise_mean, n_obs=len(y)
    )


def _interval(values: Array) -> tuple[float, float, float]:
    low, middle, high = np.quantile(values, [0.05, 0.5, 0.95])
    return float(middle), float(low), float(high)


def plateau_width(elbow_deg: Array, log_strength: Array) -> Array:
    """Width around the peak where strength stays within 5 % of it.

    Parameters
    ----------
    elbow_deg : ndarray, shape (n_grid,)
        Equally spaced angles. [deg]
    log_strength : ndarray, shape (n_draws, n_grid)
        Curves. [1]

    Returns
    -------
    width_deg : ndarray, shape (n_draws,)
        Of the stretch that holds the peak; cut off where the angles end. [deg]
    """
    top = log_strength.argmax(axis=1)
    drop = log_strength - log_strength.max(axis=1, keepdims=True)
    below = drop < np.log(PLATEAU_FRAC)
    n = len(elbow_deg)
    column = np.arange(n)
    left = np.where(below & (column < top[:, None]), column, -1).max(axis=1) + 1
    right = np.where(below & (column > top[:, None]), column, n).min(axis=1) - 1
    return np.asarray(elbow_deg[right] - elbow_deg[left])


def steepest_fall(elbow_deg: Array, log_strength: Array) -> Array:
    """Largest relative loss of strength over 10 degrees away from the peak.

    Parameters
    ----------
    elbow_deg : ndarray, shape (n_grid,)
        Equally spaced angles. [deg]
    log_strength : ndarray, shape (n_draws, n_grid)
        Curves. [1]

    Returns
    -------
    fall_frac : ndarray, shape (n_draws,)
        0.1 is a loss of 10 % per 10 degrees; NaN if fewer than 10 degrees are
        covered. [1]
    """
    step = round(STEP_DEG / (elbow_deg[1] - elbow_deg[0]))
    if step >= len(elbow_deg):
        return np.full(len(log_strength), np.nan)
    top = log_strength.argmax(axis=1)[:, None]
    start = np.arange(len(elbow_deg) - step)
    rise = log_strength[:, step:] - log_strength[:, :-step]
    outward = np.where(start >= top, rise, np.where(start + step <= top, -rise, 0.0))
    return np.asarray(-np.expm1(outward.min(axis=1)))


def largest_dip(log_strength: Array) -> Array:
    """Deepest valley of each curve, zero for a curve with one hump.

    Parameters
    ----------
    log_strength : ndarray, shape (n_draws, n_grid)
        Curves. [1]

    Returns
    -------
    dip : ndarray, shape (n_draws,)
        How far the curve falls and rises again, as a log ratio. [1]
    """
    from_left = np.maximum.accumulate(log_strength, axis=1)
    from_right = np.maximum.accumulate(log_strength[:, ::-1], axis=1)[:, ::-1]
    return np.asarray((np.minimum(from_left, from_right) - log_strength).max(axis=1))


def measured_curve(
    holds: pd.DataFrame, *, n_draws: int = 2000, seed: int = 20250106
) -> pd.DataFrame:
    """Features of the strength curve that the holds of a log draw by themselves.

    Parameters
    ----------
    holds : DataFrame
        ``lifter, variant, angle_deg, load_kg``: maximal holds, load per arm.
    n_draws, seed : int
        Of the posterior.

    Returns
    -------
    table : DataFrame
        Result of `curve_features`; empty when the holds are too few.
    """
    moment = pd.Series(np.nan, index=holds.index)
    for variant, group in holds.groupby("variant"):
        moment[group.index] = demand(
            group["angle_deg"].to_numpy(),
            variant=str(variant),
            load_kg=group["load_kg"].to_numpy(),
        )
    known = holds[moment > 0]
    few = len(known) < LEAST_POINTS
    if few or known["angle_deg"].nunique() < LEAST_ANGLES:
        return pd.DataFrame(columns=FEATURE_COLUMNS)
    curve = fit_strength_curve(
        known["angle_deg"],
        np.log(moment[known.index]),
        known["lifter"] + "|" + known["variant"],
        n_draws=n_draws,
        seed=seed,
    )
    return curve_features(curve)


FEATURE_COLUMNS = ["quantity", "unit", "value", "low", "high", "n", "sentence"]


def curve_features(curve: StrengthCurve) -> pd.DataFrame:
    """Peak, plateau, steepness and contrasts of a measured curve.

    Parameters
    ----------
    curve : StrengthCurve
        Result of `fit_strength_curve`.

    Returns
    -------
    table : DataFrame
        ``quantity, unit, value, low, high, n, sentence`` with 90 % intervals.
    """
    grid, draws = curve.elbow_deg, curve.draws
    middle = len(grid) // 2
    ends = 0.5 * (draws[:, 0] + draws[:, -1])
    quantities = {
        "peak_deg": ("deg", grid[draws.argmax(axis=1)]),
        "plateau_deg": ("deg", plateau_width(grid, draws)),
        "fall_per_10_deg": ("1", steepest_fall(grid, draws)),
        "extremes_over_middle": ("1", np.exp(ends - draws[:, middle])),
        "low_end_over_middle": ("1", np.exp(draws[:, 0] - draws[:, middle])),
        "high_end_over_middle": ("1", np.exp(draws[:, -1] - draws[:, middle])),
        "dip_frac": ("1", -np.expm1(-largest_dip(draws))),
    }
    rows = []
    for name, (unit, values) in quantities.items():
        value, low, high = _interval(values)
        rows.append(
            {
                "quantity": name,
                "unit": unit,
                "value": value,
                "low": low,
                "high": high,
                "n": curve.n_obs,
                "sentence": _sentence(name, value, low, high, grid, draws, middle),
            }
        )
    return pd.DataFrame(rows, columns=FEATURE_COLUMNS)


def _sentence(
    name: str,
    value: float,
    low: float,
    high: float,
    grid: Array,
    draws: Array,
    middle: int,
) -> str:
    first, last, mid = grid[0], grid[-1], grid[middle]
    ends = {
        "extremes_over_middle": f"the mean of {first:.0f}° and {last:.0f}°",
        "low_end_over_middle": f"{first:.0f}°",
        "high_end_over_middle": f"{last:.0f}°",
    }
    if name == "peak_deg":
        text = f"Strength peaks at {value:.0f}° ({low:.0f} to {high:.0f}°)."
        at_end = np.mean(np.isin(draws.argmax(axis=1), (0, len(grid) - 1)))
        if at_end > 0.05:
            text += f" It may lie outside the logged angles (chance {at_end:.0%})."
        return text
    if name == "plateau_deg":
        return (
            f"Strength stays within 5 % of its peak over {value:.0f}° "
            f"({low:.0f} to {high:.0f}°)."
        )
    if name == "fall_per_10_deg":
        return (
            f"Beyond it the steepest loss is {value:.0%} per 10° "
            f"({low:.0%} to {high:.0%})."
        )
    if name in ends:
        said = "below" if high < 1 else "above" if low > 1 else "not told apart from"
        return (
            f"Strength at {ends[name]} is {said} that at {mid:.0f}°: "
            f"ratio {value:.2f} ({low:.2f} to {high:.2f})."
        )
    one_hump = float(np.mean(largest_dip(draws) < 0.02))
    return (
        f"Chance of a single hump (no dip over 2 %): {one_hump:.0%}; "
        f"largest dip {value:.0%} ({low:.0%} to {high:.0%})."
    )
