"""Where lean begins, and what it changes by: least squares on watched sets."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import stats

from analytics.intervals import LEVEL, QUANTILES

ENOUGH = 12  # watched sets below which nothing is said, assumed
_STARTS = np.round(np.arange(0.50, 1.01, 0.01), 2)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LeanStart:
    """Relative load at which lean begins.

    Attributes
    ----------
    start_frac, low_frac, high_frac : float
        Load over that day's one-repetition maximum, with its interval; NaN if
        lean does not rise with load in this log. [1]
    deg_per_frac : float
        Rise of lean per unit of relative load beyond the start. [deg]
    deg_per_set : float
        Rise of lean from one set to the next of the same exercise. [deg]
    deg_per_set_low, deg_per_set_high : float
        Its interval at the start found. [deg]
    p_value : float
        Of the rise with load against lean that depends on set number only.
    sets : int
        Sets with a lean written down.
    """

    start_frac: float
    low_frac: float
    high_frac: float
    deg_per_frac: float
    deg_per_set: float
    deg_per_set_low: float
    deg_per_set_high: float
    p_value: float
    sets: int


def lean_start(
    relative_load: NDArray[np.float64],
    lean_deg: NDArray[np.float64],
    *,
    set_number: NDArray[np.float64],
) -> LeanStart:
    r"""Find the relative load at which lean begins.

    Parameters
    ----------
    relative_load : ndarray, shape (n,)
        Load over that day's one-repetition maximum. [1]
    lean_deg : ndarray, shape (n,)
        Lean written down. [deg]
    set_number : ndarray, shape (n,)
        Number of the set in its exercise, from 1. [1]

    Returns
    -------
    start : LeanStart
        NaN where lean does not rise with load (p above 0.05) or fewer than 12
        sets say.

    Notes
    -----
    .. math:: y = a + b \max(0, x - c) + d k

    by least squares over a grid of c; the interval holds every c whose residual
    sum of squares passes the F test against the best one.
    """
    n = len(lean_deg)
    nothing = LeanStart(
        start_frac=np.nan,
        low_frac=np.nan,
        high_frac=np.nan,
        deg_per_frac=np.nan,
        deg_per_set=np.nan,
        deg_per_set_low=np.nan,
        deg_per_set_high=np.nan,
        p_value=np.nan,
        sets=n,
    )
    if n < ENOUGH:
        return nothing
    base = np.column_stack([np.ones(n), set_number])
    flat = _residual_square(base, lean_deg)[0]
    fits = [
        _residual_square(
            np.column_stack([base, np.maximum(0, relative_load - c)]), lean_deg
        )
        for c in _STARTS
    ]
    squares = np.array([square for square, _ in fits])
    # A start so high that only a set or two lies beyond it is no start.
    beyond = (relative_load[None, :] > _STARTS[:, None]).sum(axis=1)
    rising = np.array([beta[2] > 0 for _, beta in fits]) & (beyond >= 4)
    if not rising.any():
        return nothing
    squares = np.where(rising, squares, np.inf)
    best = int(np.argmin(squares))
    dof = n - 4
    scale = squares[best] / dof
    p_value = float(stats.f.sf((flat - squares[best]) / 2 / scale, 2, dof))
    if p_value > 0.05:
        return nothing
    inside = _STARTS[squares <= squares[best] + scale * stats.f.ppf(LEVEL, 1, dof)]
    design = np.column_stack([base, np.maximum(0, relative_load - _STARTS[best])])
    beta, half = least_squares(design, lean_deg)
    return LeanStart(
        start_frac=float(_STARTS[best]),
        low_frac=float(inside.min()),
        high_frac=float(inside.max()),
        deg_per_frac=float(beta[2]),
        deg_per_set=float(beta[1]),
        deg_per_set_low=float(beta[1] - half[1]),
        deg_per_set_high=float(beta[1] + half[1]),
        p_value=p_value,
        sets=n,
    )


def _residual_square(
    design: NDArray[np.float64], value: NDArray[np.float64]
) -> tuple[float, NDArray[np.float64]]:
    beta, *_ = np.linalg.lstsq(design, value, rcond=None)
    return float(((value - design @ beta) ** 2).sum()), np.asarray(beta, dtype=float)


def least_squares(
    design: NDArray[np.float64], value: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Fit a linear model and give each coefficient the half width of its interval.

    Parameters
    ----------
    design : ndarray, shape (n, k)
        One column for each coefficient.
    value : ndarray, shape (n,)
        What was measured.

    Returns
    -------
    beta, half : ndarray, shape (k,)
        Coefficients and half widths by Student's t, infinite where the columns do
        not tell coefficients apart.
    """
    square, beta = _residual_square(design, value)
    dof = len(value) - design.shape[1]
    if np.linalg.matrix_rank(design) < design.shape[1] or dof < 1:
        return beta, np.full(design.shape[1], np.inf)
    spread = np.diag(np.linalg.inv(design.T @ design)) * square / dof
    return beta, stats.t.ppf(QUANTILES[2], dof) * np.sqrt(spread)
