"""Repetitions and sticking regions of one smoothed set, as sample indices.

Works on any signal whose rise is the lifting phase; files and body sizes are elsewhere.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from analytics.traces.slowest import FEWEST_SAMPLES, SPREAD_FACTOR, slowest_point
from analytics.traces.smoothing import Smoothed

# Assumed: a rise of less than this part of the set's range is no attempt at a rep,
# a fall of less than it does not end one.
SMALLEST_REP_FRAC = 0.2
MOVING_FRAC = 0.05  # of the rep's peak velocity; below it the limb rests
# A sticking angle is told when it is sure by 90 % to lie this near.
NEAR_DEG = 3.0
Z90 = 1.645


@dataclass(frozen=True, slots=True, kw_only=True)
class Rep:
    """One lifting phase; indices into the smoothed grid.

    Attributes
    ----------
    start, end : int
        First and last moving sample.
    peak1, low, peak2 : int or None
        Velocity maxima around the minimum; None without a sticking region.
    dip_frac : float
        Fall from the first maximum to the minimum, as a part of that maximum; NaN
        without a sticking region. [1]
    sticking_deg, spread_deg : float
        Angle at the minimum and its standard deviation; also where it is not sure
        enough to be told, NaN where no minimum was found. [deg]
    smallest_dip_frac : float
        Shallowest dip that would have been found; NaN where a drop-out hides it. [1]
    reason : str
        Why there is no sticking region, or empty.
    """

    start: int
    end: int
    peak1: int | None = None
    low: int | None = None
    peak2: int | None = None
    dip_frac: float = np.nan
    sticking_deg: float = np.nan
    spread_deg: float = np.nan
    smallest_dip_frac: float = np.nan
    reason: str = ""


def find_reps(
    smoothed: Smoothed, angle_deg: NDArray[np.float64], *, smallest_rise: float
) -> list[Rep]:
    """Lifting phases of a set and the sticking region of each.

    Parameters
    ----------
    smoothed : Smoothed
        One set.
    angle_deg : ndarray, shape (n,)
        Elbow angle on the grid of `smoothed`. [deg]
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
            reps.append(_sticking(smoothed, angle_deg, start, end))
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


def _sticking(
    smoothed: Smoothed, angle_deg: NDArray[np.float64], start: int, end: int
) -> Rep:
    """Give the lift its sticking region, or the reason why none is told."""
    time_s = smoothed.time_s
    slow = slowest_point(
        smoothed.sampled_s,
        smoothed.sampled,
        start_s=float(time_s[start]),
        end_s=float(time_s[end]),
    )
    hidden = smoothed.gap[start : end + 1].mean() > 0.1
    if hidden and (slow is None or not slow.found):
        return Rep(start=start, end=end, reason="a drop-out hides part of the lift")
    if slow is None:
        few = f"fewer than {FEWEST_SAMPLES} samples in the lift"
        return Rep(start=start, end=end, reason=few)
    smallest = slow.smallest_dip_frac
    if not slow.found:
        return Rep(
            start=start, end=end, smallest_dip_frac=smallest, reason=_none(smallest)
        )
    peak1, low, peak2 = (
        int(np.clip(round((at_s - time_s[0]) * smoothed.rate_hz), start, end))
        for at_s in (slow.peak1_s, slow.low_s, slow.peak2_s)
    )
    here, *draws = np.interp([slow.low_s, *slow.low_draws_s], time_s, angle_deg)
    spread = SPREAD_FACTOR * float(np.sqrt(np.mean(np.square(draws - here))))
    seen = Rep(
        start=start,
        end=end,
        smallest_dip_frac=smallest,
        sticking_deg=float(here),
        spread_deg=spread,
    )
    if smoothed.gap[low]:
        return replace(seen, reason="the minimum lies in a drop-out")
    if Z90 * spread > NEAR_DEG:
        return replace(
            seen,
            reason=f"slowest at {here:.0f} ± {Z90 * spread:.0f}°, not sure to "
            f"{NEAR_DEG:g}° at this noise",
        )
    return replace(seen, peak1=peak1, low=low, peak2=peak2, dip_frac=slow.dip_frac)


def _none(smallest_dip_frac: float) -> str:
    """Say that no minimum was found, and how deep one would have had to be."""
    if smallest_dip_frac >= 1:
        return "no velocity minimum resolved: at this noise none would surely show"
    return (
        "no velocity minimum between two maxima; at this noise one surely shows from "
        f"a dip of {smallest_dip_frac:.0%} of the peak velocity"
    )
