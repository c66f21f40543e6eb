"""Local-level smoother at irregular times, for many series and right-hand sides.

A level that walks at random is seen with noise of known variance (Durbin and Koopman
2012, section 2). The gains do not depend on what was measured, so further columns of
the right-hand side share them: what each column of measured values would do to the
smoothed level comes at no further factorisation.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Smoothed:
    """Smoothed level of every series.

    Attributes
    ----------
    mean : ndarray, shape (n_series, n_times, n_columns)
    variance : ndarray, shape (n_series, n_times)
    to_next : ndarray, shape (n_series, n_times)
        Covariance with the next level over the next level's variance; 0 at the end.
    log_likelihood : ndarray, shape (n_series,)
        Of the first column, given the first value (diffuse start).
    """

    mean: Floats
    variance: Floats
    to_next: Floats
    log_likelihood: Floats

    def covariance_with_last(self) -> Floats:
        """Covariance of each level with the last one, shape (n_series, n_times)."""
        chain = np.cumprod(self.to_next[:, -2::-1], axis=1)[:, ::-1]
        last = self.variance[:, -1:]
        return np.concatenate([chain * last, last], axis=1)


def smooth(y: Floats, *, noise: Floats, step: Floats) -> Smoothed:
    """Smooth all series at once.

    Parameters
    ----------
    y : ndarray, shape (n_series, n_times, n_columns)
        What was measured; padded at the end with any finite value.
    noise : ndarray, shape (n_series, n_times)
        Variance of the measurement; infinite where nothing was measured, but not at
        the first time.
    step : ndarray, shape (n_series, n_times)
        Variance of the walk since the time before; the first is not used.

    Returns
    -------
    smoothed : Smoothed

    Notes
    -----
    Durbin and Koopman 2012, equations 2.15 (filter) and 2.45 (smoother, in the form
    of Rauch, Tung and Striebel 1965). All weights are positive: a level never falls
    because something measured rose.
    """
    mean, var, log_l = _filter(y, noise, step)
    times = y.shape[1]
    to_next = np.zeros(noise.shape)
    for t in range(times - 2, -1, -1):
        before = var[:, t] + step[:, t + 1]
        back = np.where(before > 0, var[:, t] / np.where(before > 0, before, 1), 1.0)
        to_next[:, t] = back
        mean[:, t] += back[:, None] * (mean[:, t + 1] - mean[:, t])
        var[:, t] += back**2 * (var[:, t + 1] - before)
    return Smoothed(mean=mean, variance=var, to_next=to_next, log_likelihood=log_l)


def log_likelihood(y: Floats, *, noise: Floats, step: Floats) -> Floats:
    """Log likelihood of every series, given its first value (diffuse start).

    Parameters
    ----------
    y, noise, step : ndarray
        As of :func:`smooth`, ``y`` of one column.

    Returns
    -------
    log_likelihood : ndarray, shape (n_series,)
    """
    return _filter(y, noise, step)[2]


def _filter(y: Floats, noise: Floats, step: Floats) -> tuple[Floats, Floats, Floats]:
    n, times, _ = y.shape
    mean, var = np.empty_like(y), np.empty((n, times))
    mean[:, 0], var[:, 0] = y[:, 0], noise[:, 0]
    log_l = np.zeros(n)
    for t in range(1, times):
        before = var[:, t - 1] + step[:, t]
        gain = before / (before + noise[:, t])
        off = y[:, t] - mean[:, t - 1]
        mean[:, t] = mean[:, t - 1] + gain[:, None] * off
        var[:, t] = before * (1 - gain)
        total = before + noise[:, t]
        seen = np.isfinite(total)
        spread = np.where(seen, total, 1.0)
        part = -0.5 * (np.log(2 * np.pi * spread) + off[:, 0] ** 2 / spread)
        log_l += np.where(seen, part, 0.0)
    return mean, var, log_l
