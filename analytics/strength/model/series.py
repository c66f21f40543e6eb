"""Strength over time, one series for each lifter and setup.

Each series is a level that walks at random, seen on training days; every series has
gains of its own, so that no other lifter's or exercise's sets move it.
"""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analytics.strength.core.local_level import log_likelihood, smooth
from analytics.strength.model.outcome import Outcomes
from analytics.strength.model.relation import PARAMETERS, priors
from analytics.strength.model.sample import sampled

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

KEYS = ["lifter", "setup", "date"]
# Kinds of sets that bound strength from one side: right-censored, right and left.
CENSORED = ("unreported", "far", "below")
ROUNDS = 200  # at most, of weighing rows anew: what is minimised is convex; a dozen do
SETTLED = 1e-7  # of log strength
BOUND_Z = 2.5  # from here on a row pulls no harder the further off it is; usual
BOUND_BELOW_Z = 1.0  # the same for a set that tells little and shows less than strength
UNKNOWN_VARIANCE = 4.0  # of a log strength: says nothing
NOISE_SCALES = (1.0, 1.2, 1.5, 1.9, 2.4)  # of the published noise; never less, since
# planned repetitions scatter less than strength does
WALK_SCALES = (0.5, 0.7, 1.0, 1.4, 2.0, 2.8)
SCALE_LOG_SD = 0.35  # of both, before the log; assumed
SAMPLE = 200  # series from which the two are estimated, of the lifters in the sample
LONG_ENOUGH = 12  # rows of a series that tells them


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Rows:
    """What each day of each series was measured to be.

    Told sets of a day make one row; a set that only bounds strength from one side has
    its own, on the same day.

    Attributes
    ----------
    table : DataFrame
        ``lifter, setup, date, kind`` in order; ``kind`` is ``reported`` or one of
        ``CENSORED``.
    implied, variance : ndarray, shape (n_rows,)
    slopes : ndarray, shape (n_rows, n_parameters)
    step : ndarray, shape (n_rows,)
        Variance of the published walk since the row before; 0 at a series' first.
    row_of_set : ndarray, shape (n_sets,)
    set_share : ndarray, shape (n_sets,)
        Share of its row's precision that a set supplies.
    first : ndarray, shape (n_series,)
        First row of each series.
    """

    table: pd.DataFrame
    implied: Floats
    variance: Floats
    slopes: Floats
    step: Floats
    row_of_set: Ints
    set_share: Floats
    first: Ints

    @property
    def lengths(self) -> Ints:
        """Rows of each series."""
        return np.diff(np.append(self.first, len(self.table)))


def make_rows(sets: pd.DataFrame, outcomes: Outcomes) -> Rows:
    """Put the sets of each day together.

    Parameters
    ----------
    sets : DataFrame
        Of :class:`.observe.Observations`.
    outcomes : Outcomes
        The same sets; sides already made alike.

    Returns
    -------
    rows : Rows
    """
    kind = sets["kind"].to_numpy(str)
    part = np.where(np.isin(kind, CENSORED), np.arange(len(sets)) + 1, 0)
    numbered = sets[KEYS].assign(part=part, at=np.arange(len(sets)))
    numbered = numbered.sort_values([*KEYS, "part"], kind="stable")
    order = numbered["at"].to_numpy()
    both = numbered[[*KEYS, "part"]]
    change = (both != both.shift()).any(axis=1).to_numpy()
    row_of_set = np.empty(len(sets), dtype=np.int64)
    row_of_set[order] = np.cumsum(change) - 1
    share, variance = _together(row_of_set, outcomes)
    table = numbered[change][KEYS].reset_index(drop=True)
    table["kind"] = np.where(part > 0, kind, "reported")[order][change]
    begins = (table[KEYS[:2]] != table[KEYS[:2]].shift()).any(axis=1).to_numpy()
    return Rows(
        table=table,
        implied=np.asarray(np.bincount(row_of_set, share * outcomes.implied), float),
        variance=variance,
        slopes=np.column_stack(
            [np.bincount(row_of_set, share * column) for column in outcomes.slopes.T]
        ),
        step=np.where(begins, 0.0, _steps(table["date"])),
        row_of_set=row_of_set,
        set_share=share,
        first=np.flatnonzero(begins),
    )


def _together(row: Ints, outcomes: Outcomes) -> tuple[Floats, Floats]:
    """Share of each set in its row, and the row's variance; from the median on.

    A set further off the others than ``BOUND_Z`` pulls no harder for that (Huber
    1964), so that a slip of the pen among the sets of a day does little.
    """
    sd, y = np.sqrt(outcomes.variance), outcomes.implied
    centre = pd.Series(y).groupby(row).transform("median").to_numpy()
    for _ in range(ROUNDS):
        before = centre
        bounded = np.maximum(np.abs(y - centre) / sd / BOUND_Z, 1.0)
        weight = 1 / (outcomes.variance * bounded)
        total = np.bincount(row, weight)
        centre = np.asarray(np.bincount(row, weight * y) / total)[row]
        if np.abs(centre - before).max() < SETTLED:
            break
    return weight / total[row], 1 / total


def _steps(dates: pd.Series) -> Floats:
    """Variance of the published walk from the row before to each row."""
    days = np.diff(dates.to_numpy("datetime64[D]").astype(float), prepend=0)
    return walk_variance(np.maximum(days, 0) / 7)


def walk_variance(weeks: Floats) -> Floats:
    """Variance of the published walk over some weeks, more where they are a pause.

    Parameters
    ----------
    weeks : ndarray, shape (...)
        Since the last session. [week]

    Returns
    -------
    variance : ndarray, shape (...)
        Of log strength. [1]
    """
    known = priors("strength")
    pause = np.maximum(weeks - known["pause_after_weeks"], 0)
    return known["walk_sd"] ** 2 * (weeks + (known["pause_clock"] - 1) * pause)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Levels:
    """Smoothed strength of every row.

    Attributes
    ----------
    mean, variance : ndarray, shape (n_rows,)
        Log strength, without what the relation may also be.
    slopes : ndarray, shape (n_rows, n_parameters)
        Change of ``mean`` with each of ``relation.PARAMETERS``.
    with_last : ndarray, shape (n_rows,)
        Covariance with the series' last level.
    without_mean, without_variance : ndarray, shape (n_rows,)
        Expected of the row by all other rows; variance infinite where none.
    site_mean, site_variance : ndarray, shape (n_rows,)
        What each row counted as, the day's form included.
    noise_scale, walk_scale : float
        Of the published standard deviations.
    """

    mean: Floats
    variance: Floats
    slopes: Floats
    with_last: Floats
    without_mean: Floats
    without_variance: Floats
    site_mean: Floats
    site_variance: Floats
    noise_scale: float
    walk_scale: float


def smooth_rows(rows: Rows, scales: tuple[float, float] | None = None) -> Levels:
    """Smooth every series, and weigh its rows by how far off they are.

    Parameters
    ----------
    rows : Rows
        Of all lifters.
    scales : (float, float), optional
        Noise and walk over the published ones, where they are known.

    Returns
    -------
    levels : Levels

    Notes
    -----
    Huber's (1964) bounded pull, with less of it where a set that tells little shows
    less than strength, and none where a load was not lifted that strength would not
    lift. All is convex and the smoother's weights are positive, so a better set never
    lowers a level.
    """
    if scales is None:
        scales = _scales(rows, _weighed(rows, 1.0, 1.0))
    return _weighed(rows, *scales)


def _weighed(rows: Rows, noise_scale: float, walk_scale: float) -> Levels:
    form = priors("strength")["day_sd"] ** 2
    own = noise_scale**2 * (rows.variance + form)
    kind = rows.table["kind"].to_numpy(str)
    below, reported = kind == "below", kind == "reported"
    variance = np.where(below, UNKNOWN_VARIANCE, own)
    before = np.full(len(own), np.inf)
    for _ in range(ROUNDS):
        levels = _pass(rows, variance, noise_scale, walk_scale)
        if np.abs(levels.mean - before).max() < SETTLED:
            break
        before = levels.mean
        off = rows.implied - levels.mean
        bound = np.where(reported | below | (off > 0), BOUND_Z, BOUND_BELOW_Z)
        variance = own * np.maximum(np.abs(off) / np.sqrt(own) / bound, 1.0)
        variance = np.where(below & (off > 0), UNKNOWN_VARIANCE, variance)
    return levels


def _pass(
    rows: Rows, variance: Floats, noise_scale: float, walk_scale: float
) -> Levels:
    """Smooth rows of known mean and variance, series of about one length together."""
    mean = rows.implied
    columns = np.column_stack([mean, rows.slopes])
    n = len(mean)
    level, spread, with_last = np.empty_like(columns), np.empty(n), np.empty(n)
    for at, real in _padded(rows):
        found = smooth(
            columns[at],
            noise=np.where(real, variance[at], np.inf),
            step=np.where(real, walk_scale**2 * rows.step[at], 0.0),
        )
        level[at[real]], spread[at[real]] = found.mean[real], found.variance[real]
        with_last[at[real]] = found.covariance_with_last()[real]
    precision = 1 / spread - 1 / variance
    known = precision > 1e-6
    safe = np.where(known, precision, 1.0)
    without = (level[:, 0] / spread - mean / variance) / safe
    return Levels(
        mean=level[:, 0],
        variance=spread,
        slopes=level[:, 1:],
        with_last=with_last,
        without_mean=np.where(known, without, mean),
        without_variance=np.where(known, 1 / safe, np.inf),
        site_mean=mean,
        site_variance=variance,
        noise_scale=noise_scale,
        walk_scale=walk_scale,
    )


def _padded(rows: Rows) -> list[tuple[Ints, NDArray[np.bool_]]]:
    """Row numbers of series of about one length, and which of them are real."""
    lengths = rows.lengths
    bucket = np.ceil(np.log(np.maximum(lengths, 1)) / np.log(1.5)).astype(int)
    out = []
    for size in np.unique(bucket):
        series = np.flatnonzero(bucket == size)
        offset = np.arange(lengths[series].max())
        real = offset < lengths[series][:, None]
        out.append((np.where(real, rows.first[series][:, None] + offset, 0), real))
    return out


def _scales(rows: Rows, levels: Levels) -> tuple[float, float]:
    """Noise and walk over the published ones, mean over a grid of both.

    From a sample of series, evenly spaced over those of the sampled lifters; the
    published values where the log is short.
    """
    lifter = rows.table["lifter"].to_numpy(object)[rows.first]
    known = np.isin(lifter, sampled(pd.unique(lifter)))
    long = np.flatnonzero((rows.lengths >= LONG_ENOUGH) & known)
    if not len(long):
        return 1.0, 1.0
    chosen = long[np.linspace(0, len(long) - 1, min(SAMPLE, len(long))).astype(int)]
    longest = rows.lengths[chosen].max()
    offset = np.arange(longest)
    real = offset < rows.lengths[chosen][:, None]
    at = np.where(real, rows.first[chosen][:, None] + offset, 0)
    scales = np.array([(n, w) for n in NOISE_SCALES for w in WALK_SCALES])
    noise_of, walk_of = (s[:, None, None] ** 2 for s in scales.T)
    grid = (len(scales), *at.shape)
    told = log_likelihood(
        np.broadcast_to(levels.site_mean[at], grid).reshape(-1, longest, 1),
        noise=np.where(real, noise_of * levels.site_variance[at], np.inf).reshape(
            -1, longest
        ),
        step=np.where(real, walk_of * rows.step[at], 0.0).reshape(-1, longest),
    )
    prior = np.square(np.log(scales)).sum(axis=1) / SCALE_LOG_SD**2
    log_p = told.reshape(len(scales), -1).sum(axis=1) - prior / 2
    weight = np.exp(log_p - log_p.max())
    noise, walk = np.exp(weight / weight.sum() @ np.log(scales))
    return float(noise), float(walk)


def total_variance(
    levels: Levels, cov: Floats, own_ln_k_sd: float
) -> tuple[Floats, Floats]:
    """Variance of every level with all that the relation may be.

    Parameters
    ----------
    levels : Levels
        Smoothed.
    cov : ndarray, shape (n_rows, n_parameters, n_parameters)
        Of the relation of each row's lifter.
    own_ln_k_sd : float
        Of the exercise's own ln K about the lifter's. [1]

    Returns
    -------
    variance : ndarray, shape (n_rows,)
    with_relation : ndarray, shape (n_rows, 2)
        Covariance of the level's error with ln K and shape of the exercise.
    """
    n = len(PARAMETERS)
    cov = cov + np.diag([own_ln_k_sd**2, *[0.0] * (n - 1)])
    both = np.einsum("rp,rpq->rq", levels.slopes, cov)
    return levels.variance + (both * levels.slopes).sum(axis=1), both[:, :2]
