"""Where a lift is slowest, and where one that is too heavy comes to rest."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from analytics.mechanics.moving import Lift, Motion

SMALLEST_DIP_FRAC = 0.02  # of the first peak of speed; a solution carries no noise


def slowest_angle_deg(lift: Lift, motion: Motion) -> NDArray[np.float64]:
    """Angle of the deepest minimum of speed between two maxima.

    Parameters
    ----------
    lift : Lift
        What moved.
    motion : Motion
        Result of `run_lift`.

    Returns
    -------
    angle_deg : ndarray, shape (n,)
        Where it came to rest if it stalled on the way; NaN where it stalled at once or
        has no such minimum. [deg]
    """
    speed = motion.rate_rad_per_s
    before = np.maximum.accumulate(speed, axis=0)
    after = np.maximum.accumulate(speed[::-1], axis=0)[::-1]
    dip = np.minimum(before, after) - speed
    where = np.argmax(dip, axis=0), np.arange(speed.shape[1])
    deep = dip[where] > SMALLEST_DIP_FRAC * before[where]
    found = np.where(deep, lift.angle_deg[where[0]], np.nan)
    # At its very limit a lift may come to rest: there it was slowest, unless at once.
    rested = np.where(motion.stalled > 0, stall_angle_deg(lift, motion), np.nan)
    return np.where(motion.stalled < 0, found, rested)


def stall_angle_deg(lift: Lift, motion: Motion) -> NDArray[np.float64]:
    """Angle at which a lift came to rest.

    Parameters
    ----------
    lift : Lift
        What moved.
    motion : Motion
        Result of `run_lift`.

    Returns
    -------
    angle_deg : ndarray, shape (n,)
        NaN where it was completed. [deg]
    """
    found = lift.angle_deg[motion.stalled]
    return np.where(motion.stalled < 0, np.nan, found)


def peaks_deg(lift: Lift, motion: Motion, low_deg: float) -> tuple[float, float]:
    """Angles of the largest speed before and after a minimum of one lift.

    Parameters
    ----------
    lift : Lift
        What moved, of one draw.
    motion : Motion
        Result of `run_lift`.
    low_deg : float
        The minimum. [deg]

    Returns
    -------
    before_deg, after_deg : float
        The ends of a level top speed that face the minimum; NaN without one. [deg]
    """
    if np.isnan(low_deg):
        return np.nan, np.nan
    angle, speed = np.rad2deg(lift.angle_rad), motion.rate_rad_per_s[:, 0]
    at = int(np.argmin(np.abs(angle - low_deg)))
    before = at - int(np.argmax(speed[at::-1]))
    return float(angle[before]), float(angle[at + np.argmax(speed[at:])])
