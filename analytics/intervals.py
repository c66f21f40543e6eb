"""Intervals of belief, all of 90 %, and of time: the one place of both."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy import special

LEVEL = 0.90
QUANTILES = (0.05, 0.5, 0.95)  # low, middle, high
Z90 = float(special.ndtri(QUANTILES[2]))


def low_middle_high(draws: NDArray[Any], *, axis: int = 0) -> NDArray[np.float64]:
    """Give ends and middle of the 90 % interval of draws.

    Parameters
    ----------
    draws : ndarray, shape (..., n_draws, ...)
        Draws along ``axis``.
    axis : int
        That of the draws.

    Returns
    -------
    quantiles : ndarray, shape (3, ...)
        Low, median and high.
    """
    return np.asarray(np.quantile(draws, QUANTILES, axis=axis))


def week_of(days: pd.Series) -> pd.Series:
    """Give the Monday of each day's week.

    Parameters
    ----------
    days : Series of datetime
        Days.

    Returns
    -------
    mondays : Series of datetime
    """
    return days.dt.to_period("W-SUN").dt.start_time
