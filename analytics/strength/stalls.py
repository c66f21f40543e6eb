"""Is a lifter still gaining, since when not, and when could one tell."""

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.special import ndtr

from analytics.strength.results import Z90
from analytics.strength.tables import session_variance

Floats = NDArray[np.float64]

SURE = 0.9  # probability from which a stall or a gain is called one
LONGEST_WEEKS = 104
SMALLEST_GAIN = 0.0025  # per week; half the trial log's mean gain, assumed


def slope_sd_by_sessions(hyper: dict[str, float]) -> Floats:
    """SD of one lifter's slope after 1, 2, ... weekly sessions.

    Parameters
    ----------
    hyper : dict
        Variance parameters.

    Returns
    -------
    sd : ndarray, shape (104,)
        Under a level with a free start and a random walk. [1/week]

    Notes
    -----
    Generalised least squares of a line through a random walk seen with noise,
    combined with the prior spread of slopes.
    """
    weeks = np.arange(LONGEST_WEEKS, dtype=float)
    cov = hyper["walk_sd"] ** 2 * np.minimum(weeks[:, None], weeks)
    cov += session_variance(hyper) * np.eye(LONGEST_WEEKS)
    prior = hyper["slope_sd"] ** 2 + hyper["setup_slope_sd"] ** 2
    out = np.full(LONGEST_WEEKS, np.sqrt(prior))
    for n in range(3, LONGEST_WEEKS + 1):
        line = np.stack([np.ones(n), weeks[:n]], axis=1)
        precision = line.T @ np.linalg.solve(cov[:n, :n], line)
        free = np.linalg.inv(precision)[1, 1]
        out[n - 1] = np.sqrt(1 / (1 / free + 1 / prior))
    return out


def slope_table(
    last: pd.DataFrame, trend: pd.DataFrame, hyper: dict[str, float]
) -> pd.DataFrame:
    """Slopes with the probability that they are not positive.

    Parameters
    ----------
    last, trend : DataFrame
        Tables of the fit.
    hyper : dict
        Variance parameters.

    Returns
    -------
    slopes : DataFrame
        See :class:`analytics.strength.results.StrengthFit`.
    """
    used = last[last["used"]].reset_index(drop=True)
    mean, sd = used["slope"].to_numpy(), used["slope_sd"].to_numpy()
    p = ndtr(-mean / sd)
    needed = _sessions_needed(mean, sd, p, hyper)
    since = _stalled_since(used, trend, p)
    out = used[["lifter", "setup"]].copy()
    out["slope_frac_per_week"] = mean
    out["low"], out["high"] = mean - Z90 * sd, mean + Z90 * sd
    out["p_not_positive"] = p
    out["stalled_since"] = since
    out["sessions_needed"] = needed
    out["sentence"] = [
        _sentence(*row) for row in zip(mean, sd, p, needed, since, strict=True)
    ]
    return out


def _sessions_needed(
    mean: Floats, sd: Floats, p: Floats, hyper: dict[str, float]
) -> Floats:
    """Weekly sessions until a slope of the present size could be told from 0."""
    by_sessions = slope_sd_by_sessions(hyper)
    target = np.maximum(np.abs(mean), SMALLEST_GAIN) / 1.2815515655446004
    falling = by_sessions[::-1]
    now = LONGEST_WEEKS - np.searchsorted(falling, sd, side="right")
    then = LONGEST_WEEKS - np.searchsorted(falling, target, side="right")
    wait = np.maximum(then - now, 1).astype(float)
    wait[then >= LONGEST_WEEKS] = np.inf
    return np.where((p >= SURE) | (p <= 1 - SURE), 0.0, wait)


def _stalled_since(
    used: pd.DataFrame, trend: pd.DataFrame, p: Floats
) -> NDArray[np.datetime64]:
    """First day after which strength has not risen, for surely stalled ones."""
    out = np.full(len(used), np.datetime64("NaT", "ns"))
    stalled = np.flatnonzero(p >= SURE)
    best = trend.loc[trend.groupby(["lifter", "setup"])["log_strength"].idxmax()]
    days = best.set_index(["lifter", "setup"])["date"]
    keys = pd.MultiIndex.from_frame(used.iloc[stalled][["lifter", "setup"]])
    out[stalled] = days.reindex(keys).to_numpy()
    return out


def _sentence(
    mean: float, sd: float, p: float, needed: float, since: np.datetime64
) -> str:
    gain = f"{100 * mean:+.2f} % a week (90 % interval "
    gain += f"{100 * (mean - Z90 * sd):+.2f} to {100 * (mean + Z90 * sd):+.2f})"
    if p >= SURE:
        return (
            f"No gain any more, with probability {p:.2f}: {gain}; best on {since:.10}."
        )
    if p <= 1 - SURE:
        return f"Still gaining, with probability {1 - p:.2f}: {gain}."
    wait = (
        "more than two years of weekly sessions would be needed to tell"
        if np.isinf(needed)
        else f"about {needed:.0f} more weekly sessions before this can be told"
    )
    return f"Cannot be told from noise yet: {gain}; {wait}."
