"""The heaviest load that one lift from rest completes, for many lifts side by side."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import fields
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from analytics.mechanics.moving import Lift, Moved, last_hard, least_energy_j
from analytics.mechanics.start import Start

LARGEST_GAIN = 1.4  # over the load held everywhere; beyond, a throw
LOADS = 5  # tried at most: rms 0.3 % of a reference in half degrees
GAINS = (1.002, 1.006, 1.02)  # the middle one is tried first; half need no more
CLOSE_FRAC = 0.006  # of the load: no further one is tried between
COLUMNS = 4096  # draws at a time, within a processor's cache

Floats = NDArray[np.float64]


def moving_limits_kg(
    lifts: Sequence[Lift], held_kg: Sequence[Any], *, start_kg: Sequence[Any]
) -> list[Floats]:
    """Heaviest load that one lift from rest completes, of each lift and draw.

    Parameters
    ----------
    lifts : sequence of Lift
        What moves, each of n draws.
    held_kg : sequence of ndarray, shape (n,)
        Load held at every angle. [kg]
    start_kg : sequence of ndarray, shape (n,)
        Load held where the lift begins. [kg]

    Returns
    -------
    load_kg : list of ndarray, shape (n,)
        At most `LARGEST_GAIN` times ``held_kg``. [kg]

    Notes
    -----
    Never below ``held_kg``: as a lift slows to rest its fibres give what they give in a
    hold, so a load that every angle holds is lifted everywhere, however slowly, and
    force lost to speed only costs time. Where the start is the hardest angle the two
    are the same. Between, the least speed falls nearly in a straight line with the
    load: that finds where it is spent.
    """
    if not lifts:
        return []
    found = np.concatenate([np.asarray(x, dtype=float) for x in held_kg])
    low = np.maximum(found, 0)  # an arm that cannot hold its own weight lifts nothing
    high = np.clip(np.concatenate(start_kg), low, low * LARGEST_GAIN)
    edges = np.cumsum([0, *map(len, held_kg)])
    own = list(zip(lifts, edges[:-1], edges[1:], strict=True))
    last = [last_hard(lift, low[a:b] * GAINS[1]) for lift, a, b in own]
    faster = np.flatnonzero(high > low)
    # Those that are hard early need no more angles: they go together.
    owner = np.repeat(np.arange(len(lifts)), np.diff(edges))
    faster = faster[np.lexsort((np.concatenate(last)[faster], owner[faster]))]
    for start in range(0, faster.size, COLUMNS):
        mine = np.sort(faster[start : start + COLUMNS])
        places = [mine[slice(*np.searchsorted(mine, ends))] for ends in pairwise(edges)]
        parts = [
            lift.some(place - a)
            for (lift, a, _), place in zip(own, places, strict=True)
            if place.size
        ]
        found[mine] = _heaviest(_side_by_side(parts), low[mine], high[mine])
    return np.split(found, edges[1:-1])


def _heaviest(lift: Lift, low: Floats, high: Floats) -> Floats:
    """Close in on the load whose least speed is spent, from below and above."""
    found, left = low.copy(), np.arange(low.size)
    below, above = low, high
    speed, over = np.full((2, low.size), np.nan)  # there, where they were tried
    load = np.minimum(low * GAINS[1], high)
    for _ in range(LOADS):
        now = _least_speed(lift, load)
        passed, falls = now > 0, speed > now
        run = (load - below) / np.where(falls, speed - now, np.nan)
        ahead = np.where(np.isnan(speed), low * GAINS[2], above)
        ahead = np.minimum(np.where(falls, load + now * run, ahead), above)
        below, above = np.where(passed, load, below), np.where(passed, above, load)
        speed, over = np.where(passed, now, speed), np.where(passed, over, now)
        between = below + (above - below) * speed / (speed - over)
        between = np.where(np.isnan(speed), low * GAINS[0], between)
        guess = np.where(np.isnan(over), ahead, np.minimum(between, above))
        found[left] = guess
        far = above - below > CLOSE_FRAC * below
        if not far.any():
            break
        inside = CLOSE_FRAC / 10 * below
        top = np.where(np.isnan(over), above, above - inside)
        load = np.clip(guess, below + inside, top)
        lift, left = lift.some(far), left[far]
        low, below, above, speed, over, load = (
            x[far] for x in (low, below, above, speed, over, load)
        )
    return found


def _least_speed(lift: Lift, load_kg: Floats) -> Floats:
    """Root of the least energy with its sign, nearly straight in the load."""
    energy = least_energy_j(lift, load_kg)
    return np.sign(energy) * np.sqrt(np.abs(energy))


def _side_by_side(parts: Sequence[Lift]) -> Lift:
    """Draws of several lifts as one lift of as many angles as the longest has."""
    if len(parts) == 1:
        return parts[0]
    rows = max(len(part.angle_rad) for part in parts)

    def joined(columns: Iterable[Any], beyond: Any = "edge") -> Any:
        wide = (
            np.broadcast_to(x, (len(x), part.start.rise.size))
            for x, part in zip(columns, parts, strict=True)
        )
        padded = [np.pad(x, ((0, rows - len(x)), (0, 0)), mode=beyond) for x in wide]
        return np.concatenate(padded, axis=1)

    def moved(name: str) -> Any:
        return joined(getattr(part.moved, name) for part in parts)

    def start(name: str) -> Any:
        return np.concatenate([getattr(part.start, name) for part in parts])

    return Lift(
        angle_rad=joined(part.angle_rad[:, None] for part in parts),
        capability_nm=joined(part.capability_nm for part in parts),
        # Beyond its own angles a lift is asked for nothing: none of them is hard.
        load_arm_m=joined((part.load_arm_m for part in parts), "constant"),
        own_nm=joined((part.own_nm for part in parts), "constant"),
        moved=Moved(**{f.name: moved(f.name) for f in fields(Moved)}),
        start=Start(**{f.name: start(f.name) for f in fields(Start)}),
    )
