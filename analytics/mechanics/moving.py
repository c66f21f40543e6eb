"""The heaviest load that one lift from rest completes, along the lead joint's angle.

Plain arrays, angles first, so that a step reads one row of all draws; nothing here
knows a joint.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from typing import Any

import numpy as np
from numpy.typing import NDArray

from analytics.mechanics.start import Start, force_velocity
from analytics.units import STANDARD_GRAVITY_M_PER_S2

SECANTS = 3  # to 1 % of the load in steps of 2 degrees
LARGEST_GAIN = 1.4  # over the load held everywhere; beyond, a throw
SLOWEST_RAD_PER_S = 1e-3  # so that a step from rest to rest takes a time


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Moved:
    """What a lift sets in motion, by angle of the lead joint.

    Attributes
    ----------
    inertia, inertia_per_kg : ndarray, shape (n_angles, n or 1)
        Moment per acceleration: of the limb, and of each kilogram of load.
        [kg m2], [m2]
    bias, bias_per_kg : ndarray, shape (n_angles, n or 1)
        Moment per squared rate; half the slope of the inertia where one joint moves.
        [kg m2], [m2]
    shortening : ndarray, shape (n_angles, n or 1)
        Of the fibres by angle, weighted by what each gives. [optimal lengths/rad]
    hand_m : ndarray, shape (n_angles, n or 1)
        Way of the hand by angle of the lead joint alone. [m/rad]
    """

    inertia: NDArray[Any]
    inertia_per_kg: NDArray[Any]
    bias: NDArray[Any]
    bias_per_kg: NDArray[Any]
    shortening: NDArray[Any]
    hand_m: NDArray[Any]

    def at(self, angles: slice) -> Moved:
        """Return some angles only, as a column of single precision."""
        parts = {f.name: getattr(self, f.name)[angles, None] for f in fields(self)}
        return Moved(**{k: v.astype(np.float32) for k, v in parts.items()})


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Lift:
    """A limb with its muscles, ready to lift.

    Attributes
    ----------
    angle_rad : ndarray, shape (n_angles,)
        Of the lead joint, even and rising. [rad]
    capability_nm : ndarray, shape (n_angles, n)
        Moment at rest, fully active. [N m]
    lever_m, own_nm : ndarray, shape (n_angles, n or 1)
        Moment of the load over its weight; moment of the limb. [m], [N m]
    moved : Moved
        At these angles.
    start : Start
        Of n draws.
    """

    angle_rad: NDArray[Any]
    capability_nm: NDArray[Any]
    lever_m: NDArray[Any]
    own_nm: NDArray[Any]
    moved: Moved
    start: Start

    @property
    def angle_deg(self) -> NDArray[np.float64]:
        """Angles of the lead joint, free of rounding."""
        return np.round(np.rad2deg(self.angle_rad), 6)

    def alone(self, draw: int, *, step_deg: float) -> Lift:
        """Return one draw on finer angles.

        Parameters
        ----------
        draw : int
            Which.
        step_deg : float
            Between the angles. [deg]

        Returns
        -------
        lift : Lift
            With one draw.
        """
        ends = np.rad2deg(self.angle_rad[[0, -1]])
        count = round(float(ends[1] - ends[0]) / step_deg) + 1
        angle = np.deg2rad(np.linspace(ends[0], ends[1], count))

        def column(part: NDArray[Any]) -> NDArray[Any]:
            mine = part[:, min(draw, part.shape[1] - 1)]
            return np.interp(angle, self.angle_rad, mine)[:, None]

        def parts(of: Any) -> dict[str, NDArray[Any]]:
            return {f.name: getattr(of, f.name) for f in fields(of)}

        moved = {name: column(part) for name, part in parts(self.moved).items()}
        start = {
            k: np.ravel(v)[[draw]].astype(float) for k, v in parts(self.start).items()
        }
        return Lift(
            angle_rad=angle,
            capability_nm=column(self.capability_nm),
            lever_m=column(self.lever_m),
            own_nm=column(self.own_nm),
            moved=Moved(**moved),
            start=Start(**start),
        )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Motion:
    """How lifts went, by draw and angle.

    Attributes
    ----------
    rate_rad_per_s : ndarray, shape (n_angles, n)
        Of the lead joint; 0 from where it stalls. [rad/s]
    moment_nm, time_s, activation : ndarray, shape (n_angles, n)
        What the muscles gave on average up to this angle from the one before, when it
        was passed, and the drive. [N m], [s], [1]
    stalled : ndarray, shape (n,)
        Index of the last angle that was reached, -1 where the lift was completed.
    least : ndarray, shape (n,)
        Energy of motion left where the muscles can give least over what is asked; below
        0 by what was missing. [J]
    """

    rate_rad_per_s: NDArray[Any]
    moment_nm: NDArray[Any]
    time_s: NDArray[Any]
    activation: NDArray[Any]
    stalled: NDArray[np.intp]
    least: NDArray[Any]


def run_lift(lift: Lift, load_kg: NDArray[Any]) -> Motion:
    r"""Lift loads from rest under full drive.

    Parameters
    ----------
    lift : Lift
        What moves, of n draws.
    load_kg : ndarray, shape (n,)
        One load a draw. [kg]

    Returns
    -------
    motion : Motion
        Over the angles of ``lift``.

    Notes
    -----
    With q the lead joint, m its inertia, b the bias, C the capability, D the demand and
    E the energy of motion,

    .. math:: \frac{dE}{dq} = a\,f(v)\,C - D + (m'/2 - b)\,\dot q^2, \quad
              E = m \dot q^2 / 2

    by the trapezoid rule with one correction, so that work and energy balance in every
    step. Activation rises from what holds the load to 1 with the time constant
    ``rise``; the first step is the closed form for even moments. The lift begins at
    the first angle where the load resists, and where the hand would pass ``top_speed``
    the drive gives way: nothing is thrown. Antagonists, fatigue and help of the body
    are left out.
    """
    load = np.asarray(load_kg, dtype=lift.capability_nm.dtype)
    gravity = STANDARD_GRAVITY_M_PER_S2
    moved, start = lift.moved, lift.start
    mass = moved.inertia + load * moved.inertia_per_kg
    bias = moved.bias + load * moved.bias_per_kg
    demand = load * gravity * lift.lever_m + lift.own_nm
    width = float(lift.angle_rad[1] - lift.angle_rad[0])
    slope = (mass[1:] - mass[:-1]) / width
    # Of the squared rate; nil where one joint moves.
    swing = slope / 2 - (bias[1:] + bias[:-1]) / 2
    speeds = moved.shortening / start.greatest_velocity
    most = mass / 2 * (start.top_speed / moved.hand_m) ** 2
    return _integrate(lift, demand, mass, speeds, most, swing, width)


def _integrate(
    lift: Lift,
    demand: NDArray[Any],
    mass: NDArray[Any],
    speeds: NDArray[Any],
    most: NDArray[Any],
    swing: NDArray[Any],
    width: float,
) -> Motion:
    """Step over the angles."""
    strength = lift.capability_nm
    begun = np.maximum.accumulate(demand >= 0, axis=0)
    starts = begun.copy()
    starts[1:] &= ~begun[:-1]
    energy, moment, time = (np.zeros_like(demand) for _ in range(3))
    drive = np.clip(demand / strength, 0, 1)  # what holds the load
    rate = np.zeros_like(demand[0])
    starting = np.any(starts, axis=1)
    waiting = np.any(~begun, axis=1)
    for i in range(len(demand) - 1):
        asked = (demand[i] + demand[i + 1]) / 2
        here = drive[i] * force_velocity(-rate * speeds[i]) * strength[i]
        doubled = 2 / mass[i + 1]
        guess = np.sqrt(np.maximum(energy[i] + (here - asked) * width, 0) * doubled)
        dt = 2 * width / np.maximum(rate + guess, SLOWEST_RAD_PER_S)
        after = 1 - (1 - drive[i]) * np.exp(-dt / lift.start.rise)
        there = after * force_velocity(-guess * speeds[i + 1]) * strength[i + 1]
        swung = swing[i] * (rate * rate + guess * guess) / 2
        end = energy[i] + ((here + there) / 2 - asked + swung) * width
        if starting[i]:
            net = (strength[i] + strength[i + 1]) / 2 - asked
            first: tuple[Any, ...] = _first_step(
                lift.start.rise, net, mass[i + 1], drive[i], width
            )
            usual: tuple[Any, ...] = (end, dt, after, swung)
            first = (*first, np.zeros_like(end))
            end, dt, after, swung = (
                np.where(starts[i], one, other)
                for one, other in zip(first, usual, strict=True)
            )
        if waiting[i]:
            end, dt = end * begun[i], dt * begun[i]
            after = np.where(begun[i], after, drive[i + 1])
        energy[i + 1] = np.minimum(end, most[i + 1])
        moment[i + 1] = asked + (energy[i + 1] - energy[i]) / width - swung
        time[i + 1], drive[i + 1] = time[i] + dt, after
        rate = np.sqrt(np.maximum(energy[i + 1], 0) * doubled)
    ends = begun[:-1] & (energy[1:] <= 0)
    stalled = np.where(ends.any(axis=0), np.argmax(ends, axis=0), -1)
    used = np.where(begun, demand / strength, 0)
    # Where it may come to rest: where more is asked than is given at rest.
    hard = used[1:] >= np.minimum(used[1:].max(axis=0), 1)
    least = np.where(hard, energy[1:], np.inf).min(axis=0)
    reached = (stalled < 0) | (np.arange(len(demand))[:, None] <= stalled)
    return Motion(
        rate_rad_per_s=np.sqrt(np.maximum(energy, 0) * 2 / mass) * reached,
        moment_nm=moment,
        time_s=time,
        activation=drive,
        stalled=stalled,
        least=least,
    )


def _chosen(
    mask: NDArray[np.bool_], some: Sequence[Any], others: Sequence[Any]
) -> list[Any]:
    """Take some where the mask says so, else the others."""
    pairs = zip(some, others, strict=True)
    return [np.where(mask, one, other) for one, other in pairs]


def _first_step(
    rise: NDArray[Any],
    net_nm: NDArray[Any],
    mass: NDArray[Any],
    held: NDArray[Any],
    width: float,
) -> tuple[NDArray[Any], NDArray[Any], NDArray[Any]]:
    r"""Energy, duration and drive after the first step from rest.

    With even moments and x the time over ``rise``, the way is
    :math:`x^2/2 - x + 1 - e^{-x}` and the rate :math:`x - 1 + e^{-x}`, in units of
    ``net_nm`` over ``mass``.
    """
    push = np.maximum(net_nm, 1e-6) / mass
    way = width / (push * rise * rise)
    x = np.cbrt(6 * way) + np.sqrt(way)
    for _ in range(4):  # Newton, from above
        x = x - (x * x / 2 - x - np.expm1(-x) - way) / (x + np.expm1(-x))
    speed = push * rise * (x + np.expm1(-x))
    energy = np.where(net_nm > 0, mass / 2 * speed * speed, net_nm * width)
    return energy, x * rise, 1 - (1 - held) * np.exp(-x)


def moving_limit_kg(
    lift: Lift, held_kg: NDArray[Any], *, start_kg: NDArray[Any]
) -> NDArray[np.float64]:
    """Heaviest load that one lift from rest completes.

    Parameters
    ----------
    lift : Lift
        What moves, of n draws.
    held_kg : ndarray, shape (n,)
        Load held at every angle. [kg]
    start_kg : ndarray, shape (n,)
        Load held where the lift begins. [kg]

    Returns
    -------
    load_kg : ndarray, shape (n,)
        At most `LARGEST_GAIN` times ``held_kg``. [kg]

    Notes
    -----
    Never below ``held_kg``: as a lift slows to rest its fibres give what they give in a
    hold, so a load that every angle holds is lifted everywhere, however slowly, and
    force lost to speed only costs time. Where the start is the hardest angle the two
    are the same. Between, the least energy of motion falls nearly in a straight line
    with the load: secants find where it is spent.
    """
    held = np.asarray(held_kg, dtype=float)
    low = np.maximum(held, 0)  # an arm that cannot hold its own weight lifts nothing
    high = np.clip(start_kg, low, low * LARGEST_GAIN)
    loads = [low, np.minimum(low * 1.04, high)]
    spare = [run_lift(lift, load).least.astype(float) for load in loads]
    for step in range(SECANTS):
        run = loads[-1] - loads[-2]
        fall = spare[-2] - spare[-1]
        ahead = loads[-1] + spare[-1] * run / np.where(run * fall > 0, fall, np.inf)
        loads.append(np.clip(ahead, low, high))
        if step < SECANTS - 1:
            spare.append(run_lift(lift, loads[-1]).least.astype(float))
    return np.where(high > low, loads[-1], held)
