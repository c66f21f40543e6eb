"""Is a lifter still gaining, since when not, and when could one tell."""

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analytics.strength.changes import (
    SMALLEST_GAIN,
    SURE,
    GainChanges,
    PresentGain,
)
from analytics.strength.results import Z90
from analytics.strength.tables import session_variance

Floats = NDArray[np.float64]

LONGEST_WEEKS = 104


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
    last: pd.DataFrame, hyper: dict[str, float], changes: list[GainChanges]
) -> pd.DataFrame:
    """Present gains with the probability that they are not positive.

    Parameters
    ----------
    last : DataFrame
        Table of the fit.
    hyper : dict
        Variance parameters.
    changes : list of GainChanges
        When the gain of each lifter changed, in the order of ``last``.

    Returns
    -------
    slopes : DataFrame
        See :class:`analytics.strength.results.StrengthFit`.
    """
    used = last[last["used"]].reset_index(drop=True)
    by_lifter = dict(zip(pd.unique(last["lifter"]), changes, strict=True))
    own = used["slope"] - used.groupby("lifter")["slope"].transform("mean")
    gains = [
        by_lifter[name].present(slope, sd, more)
        for name, slope, sd, more in zip(
            used["lifter"], used["slope"], used["slope_sd"], own, strict=True
        )
    ]
    mean, sd, p, weeks = (
        np.array([getattr(g, name) for g in gains])
        for name in ("slope", "slope_sd", "p_not_positive", "since_weeks")
    )
    days = pd.to_timedelta(np.round(7 * weeks), unit="D")
    stalled = [g.has_stalled for g in gains]
    since = (used["first_on"] + days).where(stalled).to_numpy()
    needed = _sessions_needed(mean, sd, p, hyper)
    out = used[["lifter", "setup"]].copy()
    out["slope_frac_per_week"] = mean
    out["low"], out["high"] = mean - Z90 * sd, mean + Z90 * sd
    out["p_not_positive"] = p
    out["stalled_since"] = since
    out["sessions_needed"] = needed
    out["sentence"] = [
        _sentence(*row) for row in zip(gains, needed, since, strict=True)
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


def _chance(p: float) -> str:
    """Say a high probability, which is never certainty."""
    return f"{p:.2f}" if p < 0.995 else "over 0.99"


def _sentence(now: PresentGain, needed: float, since: np.datetime64) -> str:
    mean, sd, p = now.slope, now.slope_sd, now.p_not_positive
    gain = f"{100 * mean:+z.2f} % a week (90 % interval "
    gain += f"{100 * (mean - Z90 * sd):+z.2f} to {100 * (mean + Z90 * sd):+z.2f})"
    if p >= SURE:
        return (
            f"No gain any more since about {since:.10}, with probability {_chance(p)}: "
            f"{gain}."
        )
    if now.has_stalled:
        return (
            f"Gains have more likely than not ended, since about {since:.10} "
            f"(probability {_chance(now.p_ended)}): now {gain}."
        )
    if p <= 1 - SURE:
        return f"Still gaining, with probability {_chance(1 - p)}: {gain}."
    wait = (
        "more than two years of weekly sessions would be needed to tell"
        if np.isinf(needed)
        else f"about {needed:.0f} more weekly session{'' if needed == 1 else 's'} "
        "before this can be told"
    )
    return f"Cannot be told from noise yet: {gain}; {wait}."
