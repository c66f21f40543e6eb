"""Is a lifter still gaining, since when not, and when could one tell."""

from functools import lru_cache

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.special import ndtri

from analytics.intervals import Z90
from analytics.strength.model.changes import (
    SURE,
    PresentGain,
    all_gain_changes,
)
from analytics.strength.model.ratios import Ratios
from analytics.strength.model.relation import priors
from analytics.strength.model.series import Levels, Rows
from analytics.strength.model.tables import Measured

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
    names = ("walk_sd", "day_sd", "set_sd", "slope_sd")
    return _slope_sd(*(float(hyper[name]) for name in names))


@lru_cache(maxsize=64)  # the same for every lifter of a fit
def _slope_sd(walk_sd: float, day_sd: float, set_sd: float, slope_sd: float) -> Floats:
    weeks = np.arange(LONGEST_WEEKS, dtype=float)
    cov = walk_sd**2 * np.minimum(weeks[:, None], weeks)
    cov += (day_sd**2 + set_sd**2) * np.eye(LONGEST_WEEKS)
    prior = slope_sd**2
    out = np.full(LONGEST_WEEKS, np.sqrt(prior))
    for n in range(3, LONGEST_WEEKS + 1):
        line = np.stack([np.ones(n), weeks[:n]], axis=1)
        precision = line.T @ np.linalg.solve(cov[:n, :n], line)
        free = np.linalg.inv(precision)[1, 1]
        out[n - 1] = np.sqrt(1 / (1 / free + 1 / prior))
    out.flags.writeable = False
    return out


def day_levels(
    measured: Measured, rows: Rows, levels: Levels, ratios: Ratios
) -> pd.DataFrame:
    """Return what the sets of each day say of the lifter, all setups on one scale.

    Parameters
    ----------
    measured, rows, levels, ratios :
        Stages of the fit.

    Returns
    -------
    days : DataFrame
        See :class:`analytics.strength.model.results.StrengthFit`.
    """
    days = rows.table[["lifter", "setup", "date"]].reset_index(drop=True)
    lifter = pd.Index(measured.seen.lifters).get_indexer(days["lifter"])
    setup = pd.Index(measured.seen.setups["setup"]).get_indexer(days["setup"])
    return days.assign(
        log_level=levels.site_mean - ratios.own_mean[lifter, setup],
        variance=levels.site_variance,
    )


def slope_table(
    measured: Measured,
    rows: Rows,
    levels: Levels,
    days: pd.DataFrame,
    last: pd.DataFrame,
    hyper: dict[str, float],
) -> pd.DataFrame:
    """Present gains, and strength now against four and eight weeks ago.

    Parameters
    ----------
    measured, rows, levels :
        Stages of the fit.
    days, last : DataFrame
        Tables of the fit.
    hyper : dict
        Of the fit.

    Returns
    -------
    slopes : DataFrame
        See :class:`analytics.strength.model.results.StrengthFit`.
    """
    used = last[last["used"]].reset_index(drop=True)
    out = gain_table(days, used[["lifter", "setup"]], hyper=hyper)
    for name, weeks_ago in (("change_4w", 4), ("change_8w", 8)):
        change, change_sd = _change(measured, rows, levels, weeks_ago)
        out[name] = change
        out[f"{name}_low"] = change - Z90 * change_sd
        out[f"{name}_high"] = change + Z90 * change_sd
    return out[[*(name for name in out if name != "sentence"), "sentence"]]


def gain_table(
    days: pd.DataFrame, done: pd.DataFrame, *, hyper: dict[str, float]
) -> pd.DataFrame:
    """Say what lifters gain now, the same for every setup of one of them.

    Parameters
    ----------
    days : DataFrame
        As in the fit, of all these lifters.
    done : DataFrame
        ``lifter, setup``: the rows wanted.
    hyper : dict
        Of the fit.

    Returns
    -------
    gains : DataFrame
        ``lifter, setup`` and the gain's columns of the fit's ``slopes``.
    """
    days = days.sort_values("lifter", kind="stable")
    number, lifters = pd.factorize(days["lifter"])
    changes = all_gain_changes(
        number,
        days["date"].to_numpy("datetime64[D]").astype(float) / 7,
        days["log_level"].to_numpy(float),
        days["variance"].to_numpy(float),
        hyper["walk_sd"],
    )
    by_lifter = [c.present() for c in changes]
    gains = [by_lifter[at] for at in pd.Index(lifters).get_indexer(done["lifter"])]
    mean, sd, p, weeks = (
        np.array([getattr(g, name) for g in gains])
        for name in ("slope", "slope_sd", "p_not_positive", "since_weeks")
    )
    first_on = done["lifter"].map(days.groupby("lifter")["date"].min())
    since = first_on + pd.to_timedelta(np.round(7 * weeks), unit="D")
    since = since.where([g.has_stalled for g in gains]).to_numpy()
    needed = _sessions_needed(mean, sd, p, hyper)
    return done.assign(
        slope_frac_per_week=mean,
        low=mean - Z90 * sd,
        high=mean + Z90 * sd,
        p_not_positive=p,
        stalled_since=since,
        sessions_needed=needed,
        sentence=[_sentence(*row) for row in zip(gains, needed, since, strict=True)],
    )


def _change(
    measured: Measured, rows: Rows, levels: Levels, weeks_ago: int
) -> tuple[Floats, Floats]:
    """Log strength of each series now less that some weeks ago, and its SD.

    NaN where the series has no session in the three weeks before that.
    """
    last = np.append(rows.first[1:], len(rows.table)) - 1
    day = rows.table["date"].to_numpy("datetime64[D]").astype(np.int64)
    series = np.repeat(np.arange(len(last)), rows.lengths)
    wanted = day[last] - 7 * weeks_ago
    early = np.bincount(series, day <= wanted[series], len(last)).astype(int)
    then = np.where(early > 0, rows.first + early - 1, last)
    known = (early > 0) & (day[then] > wanted - 21)
    lifter = pd.Index(measured.seen.lifters).get_indexer(
        rows.table["lifter"].iloc[last]
    )
    variance = levels.variance[last] + levels.variance[then]
    variance -= 2 * levels.with_last[then]
    slopes = levels.slopes[last] - levels.slopes[then]
    cov = measured.relation.cov[lifter]
    variance += np.einsum("sp,spq,sq->s", slopes, cov, slopes)
    change = levels.mean[last] - levels.mean[then]
    sd = np.sqrt(np.maximum(variance, 0))
    return np.where(known, change, np.nan), np.where(known, sd, np.nan)


def _sessions_needed(
    mean: Floats, sd: Floats, p: Floats, hyper: dict[str, float]
) -> Floats:
    """Weekly sessions until a slope of the present size could be told from 0."""
    by_sessions = slope_sd_by_sessions(hyper)
    smallest = priors("strength")["smallest_gain"]
    target = np.maximum(np.abs(mean), smallest) / ndtri(SURE)
    falling = by_sessions[::-1]
    now = LONGEST_WEEKS - np.searchsorted(falling, sd, side="right")
    then = LONGEST_WEEKS - np.searchsorted(falling, target, side="right")
    wait = np.maximum(then - now, 1).astype(float)
    wait[then >= LONGEST_WEEKS] = np.inf
    return np.where((p >= SURE) | (p <= 1 - SURE), 0.0, wait)


def _chance(p: float) -> str:
    """Say a high probability, which is never certainty."""
    return f"{100 * p:.0f} %" if p < 0.995 else "over 99 %"


def gain_words(gain: pd.Series | None) -> str:
    """Say in a few words whether somebody still gains.

    Parameters
    ----------
    gain : Series or None
        Row of :func:`gain_table`; None where there is none.

    Returns
    -------
    words : str
    """
    if gain is None or pd.isna(gain["p_not_positive"]):
        return "cannot be told yet"
    if abs(gain["slope_frac_per_week"]) > priors("strength")["largest_gain"]:
        return "doubtful: look at the sets"
    if pd.notna(gain["stalled_since"]):
        return f"no gain since about {gain['stalled_since']:%Y-%m-%d}"
    if gain["p_not_positive"] <= 1 - SURE:
        return f"still gaining, {_chance(1 - gain['p_not_positive'])}"
    return "cannot be told yet"


def _sentence(now: PresentGain, needed: float, since: np.datetime64) -> str:
    mean, sd, p = now.slope, now.slope_sd, now.p_not_positive
    gain = f"{100 * mean:+z.2f} % a week (90 % interval "
    gain += f"{100 * (mean - Z90 * sd):+z.2f} to {100 * (mean + Z90 * sd):+z.2f})"
    if abs(mean) > priors("strength")["largest_gain"]:
        return f"Doubtful data: {gain} is more than people change; look at the sets."
    if p >= SURE:
        return f"No gain any more since about {since:.10} ({_chance(p)}): {gain}."
    if now.has_stalled:
        return (
            f"Gains have more likely than not ended, since about {since:.10} "
            f"({_chance(now.p_ended)}): now {gain}."
        )
    if p <= 1 - SURE:
        return f"Still gaining ({_chance(1 - p)}): {gain}."
    wait = (
        "more than two years of weekly sessions would be needed to tell"
        if np.isinf(needed)
        else f"about {needed:.0f} more weekly session{'' if needed == 1 else 's'} "
        "before this can be told"
    )
    return f"Cannot be told from noise yet: {gain}; {wait}."
