"""Repetitions and sticking regions of one smoothed set, as sample indices.

Works on any signal whose rise is the lifting phase; files and body sizes are elsewhere.
"""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter1d
from scipy.signal import find_peaks

from analytics.traces.smoothing import Smoothed, derivative_noise

# Assumed: a rise of less than this part of the set's range is no attempt at a rep,
# a fall of less than it does not end one.
SMALLEST_REP_FRAC = 0.2
MOVING_FRAC = 0.05  # of the rep's peak velocity; below it the limb rests
# A dip counts when both humps stand above it by this part of the peak velocity: the
# filter's own overshoot on an abrupt start is 3.5 % (measured in the tests).
SMALLEST_DIP_FRAC = 0.06
# and by this many standard deviations of the velocity noise: the largest of some ten
# noise ripples on a level velocity reaches about 6 (simulated in the tests).
SMALLEST_DIP_SD = 7.0
WELL_PLACED_FRAC = 0.005  # of the rep's rise: half a degree in a usual curl
BLURS_S = (0.0, 0.05, 0.075, 0.11, 0.15, 0.2)


@dataclass(frozen=True, slots=True, kw_only=True)
class Rep:
    """One lifting phase; indices into the smoothed grid.

    Attributes
    ----------
    start, end : int
        First and last moving sample.
    peak1, low, peak2 : int or None
        Velocity maxima around the minimum; None without a sticking region.
    reason : str
        Why there is none, or empty.
    """

    start: int
    end: int
    peak1: int | None = None
    low: int | None = None
    peak2: int | None = None
    reason: str = ""


def find_reps(smoothed: Smoothed, *, smallest_rise: float) -> list[Rep]:
    """Lifting phases of a set and the sticking region of each.

    Parameters
    ----------
    smoothed : Smoothed
        One set.
    smallest_rise : float
        A rise below this is never a rep. [unit of the signal]

    Returns
    -------
    reps : list of Rep
        In time order. A partial rep counts from a fifth of the set's range (assumed).

    Notes
    -----
    Turning points with hysteresis: a pause anywhere, a touch-and-go and a small slip
    within the lift leave the count alone.
    """
    position = smoothed.position
    low, high = np.quantile(position, [0.02, 0.98])
    threshold = max(SMALLEST_REP_FRAC * (high - low), smallest_rise, 4 * smoothed.noise)
    reps = []
    for bottom, top in _rises(position, threshold):
        start, end = _moving(smoothed, bottom, top)
        if end - start >= 3:
            reps.append(_sticking(smoothed, start, end))
    return reps


def _rises(position: NDArray[np.float64], threshold: float) -> list[tuple[int, int]]:
    """Pairs of turning points (bottom, top) at least `threshold` apart."""
    turns = np.flatnonzero(np.diff(np.sign(np.diff(position))) != 0) + 1
    candidates = [0, *turns.tolist(), len(position) - 1]
    rises = []
    bottom = top = candidates[0]
    rising = False
    for i in candidates:
        here = position[i]
        if rising:
            if here >= position[top]:
                top = i
            elif position[top] - here >= threshold:
                rises.append((bottom, top))
                rising, bottom = False, i
        elif here <= position[bottom]:
            bottom = i
        elif here - position[bottom] >= threshold:
            rising, top = True, i
    return [*rises, (bottom, top)] if rising else rises


def _moving(smoothed: Smoothed, bottom: int, top: int) -> tuple[int, int]:
    """First and last moving sample of a rise, without the rests at its ends."""
    position = smoothed.position[bottom : top + 1]
    velocity = smoothed.velocity[bottom : top + 1]
    rise = position[-1] - position[0]
    resting = velocity < MOVING_FRAC * velocity.max()
    under = np.flatnonzero(position > position[0] + 0.15 * rise)[0]
    over = np.flatnonzero(position < position[-1] - 0.15 * rise)[-1]
    before = np.flatnonzero(resting[: under + 1])
    after = np.flatnonzero(resting[over:])
    start = before[-1] if before.size else 0
    end = over + after[0] if after.size else len(position) - 1
    return int(bottom + start), int(bottom + end)


def _sticking(smoothed: Smoothed, start: int, end: int) -> Rep:
    """Find the deepest velocity minimum between two maxima that exceeds the noise.

    A dip that noise hides at the trace's own cut-off may show after more smoothing, and
    a broad one is placed better. The finest scale that places the minimum well enough
    wins, else the one that does best.
    """
    speed = smoothed.velocity[start : end + 1].max()
    rise = smoothed.position[end] - smoothed.position[start]
    best: _Dip | None = None
    for blur_s in BLURS_S:
        velocity = _blurred(smoothed, start, end, blur_s)
        noise, shake = (
            smoothed.noise
            * derivative_noise(order, smoothed.cutoff_hz, smoothed.rate_hz, blur_s)
            for order in (1, 2)
        )
        least = max(SMALLEST_DIP_FRAC * speed, SMALLEST_DIP_SD * noise)
        dip = _deepest(velocity, least, shake, smoothed.rate_hz)
        if dip and (best is None or dip.spread < best.spread):
            best = dip
        placed = best is not None and best.spread < WELL_PLACED_FRAC * rise
        if placed or (best is None and least > 2 * SMALLEST_DIP_SD * noise):
            break
    if best is None:
        hidden = smoothed.gap[start : end + 1].mean() > 0.1
        return Rep(
            start=start,
            end=end,
            reason="a drop-out hides part of the lift"
            if hidden
            else "no velocity minimum between two maxima; at this noise one shows from "
            f"a dip of {min(least / speed, 1.0):.0%} of the peak velocity",
        )
    peak1, low, peak2 = (start + i for i in (best.peak1, best.low, best.peak2))
    if smoothed.gap[low]:
        return Rep(start=start, end=end, reason="the minimum lies in a drop-out")
    return Rep(start=start, end=end, peak1=peak1, low=low, peak2=peak2)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Dip:
    """Indices of a dip from the start of its rep, and how well its minimum is placed.

    ``spread`` is the standard deviation of the position there, from the noise of the
    acceleration over the curvature of the dip. [unit of the signal]
    """

    spread: float
    peak1: int
    low: int
    peak2: int


def _blurred(
    smoothed: Smoothed, start: int, end: int, blur_s: float
) -> NDArray[np.float64]:
    """Velocity of one rep, smoothed further with its surroundings.

    Twice a Gaussian less a Gaussian of that: level to fourth order, so that an uneven
    dip keeps its place.
    """
    if not blur_s:
        return smoothed.velocity[start : end + 1]
    blur = blur_s * smoothed.rate_hz
    first = max(0, start - int(5 * blur))
    wide = smoothed.velocity[first : end + int(5 * blur) + 1]
    once = gaussian_filter1d(wide, blur)
    twice = gaussian_filter1d(once, blur)
    return (2 * once - twice)[start - first : end - first + 1]


def _deepest(
    velocity: NDArray[np.float64], least: float, shake: float, rate_hz: float
) -> _Dip | None:
    """Deepest minimum that both maxima around it exceed by `least`, if any."""
    lows, found = find_peaks(-velocity, prominence=least, width=0, rel_height=0.5)
    if not lows.size:
        return None
    at = int(np.argmax(found["prominences"]))
    low, fall = int(lows[at]), float(found["prominences"][at])
    # A parabola of this depth and width at half depth has this curvature.
    curvature = 4 * fall * (rate_hz / found["widths"][at]) ** 2
    return _Dip(
        spread=float(max(velocity[low], 0.0) * shake / curvature),
        peak1=int(np.argmax(velocity[:low])),
        low=low,
        peak2=low + int(np.argmax(velocity[low:])),
    )


def reps_in_words(reps: pd.DataFrame) -> str:
    """Say how many repetitions were found and where they stuck.

    Parameters
    ----------
    reps : DataFrame
        ``sticking_deg``, one row a repetition, NaN without a sticking region.

    Returns
    -------
    sentence : str
        Without a full stop.
    """
    stuck = reps["sticking_deg"].dropna()
    found = f"{len(reps)} repetition{'s' * (len(reps) != 1)}"
    if stuck.empty:
        return f"{found}, no sticking region found"
    average = " on average" * (len(stuck) > 1)
    return (
        f"{found}, {len(stuck)} with a sticking region, at {stuck.mean():.0f}°{average}"
    )
