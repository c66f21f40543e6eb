"""The heaviest load that one lift from rest completes, along the lead joint's angle.

Plain arrays, angles first, so that a step reads one row of all draws; nothing here
knows a joint.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, fields
from typing import Any

import numpy as np
from numpy.typing import NDArray

from analytics.mechanics.start import Start, force_velocity
from analytics.units import STANDARD_GRAVITY_M_PER_S2

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

    def each(self, change: Callable[[NDArray[Any]], NDArray[Any]]) -> Moved:
        """Return every part changed alike, in single precision."""
        parts = {f.name: change(getattr(self, f.name)) for f in fields(self)}
        return Moved(**{k: v.astype(np.float32) for k, v in parts.items()})


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Lift:
    """A limb with its muscles, ready to lift.

    Attributes
    ----------
    angle_rad : ndarray, shape (n_angles,) or (n_angles, n)
        Of the lead joint, even and rising. [rad]
    capability_nm : ndarray, shape (n_angles, n)
        Moment at rest, fully active. [N m]
    load_arm_m, own_nm : ndarray, shape (n_angles, n or 1)
        Moment of the load over its weight; moment of the limb. [m], [N m]
    moved : Moved
        At these angles.
    start : Start
        Of n draws.
    """

    angle_rad: NDArray[Any]
    capability_nm: NDArray[Any]
    load_arm_m: NDArray[Any]
    own_nm: NDArray[Any]
    moved: Moved
    start: Start

    @property
    def width_rad(self) -> Any:
        """Of a step, the same for all angles."""
        return (self.angle_rad[1] - self.angle_rad[0]).astype(self.capability_nm.dtype)

    @property
    def angle_deg(self) -> NDArray[np.float64]:
        """Angles of the lead joint, free of rounding."""
        return np.round(np.rad2deg(self.angle_rad), 6)

    def some(self, draws: NDArray[Any]) -> Lift:
        """Return some draws only, by index or mask.

        Parameters
        ----------
        draws : ndarray of int or bool
            Which.

        Returns
        -------
        lift : Lift
            Of the same angles.
        """

        def column(part: NDArray[Any]) -> Any:
            return part if part.shape[-1] == 1 else part[..., draws]

        def parts(of: Any) -> dict[str, Any]:
            return {f.name: column(getattr(of, f.name)) for f in fields(of)}

        angle = self.angle_rad
        return Lift(
            angle_rad=angle if angle.ndim == 1 else column(angle),
            capability_nm=column(self.capability_nm),
            load_arm_m=column(self.load_arm_m),
            own_nm=column(self.own_nm),
            moved=Moved(**parts(self.moved)),
            start=Start(**parts(self.start)),
        )

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
            load_arm_m=column(self.load_arm_m),
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
    """

    rate_rad_per_s: NDArray[Any]
    moment_nm: NDArray[Any]
    time_s: NDArray[Any]
    activation: NDArray[Any]
    stalled: NDArray[np.intp]


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
    demand, begun = _demand(lift, load)
    energy, moment, time = (np.zeros_like(demand) for _ in range(3))
    drive = np.clip(demand / lift.capability_nm, 0, 1)  # what holds the load
    steps = _steps(lift, load, demand, begun, len(demand) - 1)
    for i, (energy[i + 1], dt, drive[i + 1], needed) in enumerate(steps):
        moment[i + 1] = needed + (energy[i + 1] - energy[i]) / lift.width_rad
        time[i + 1] = time[i] + dt
    ends = begun[:-1] & (energy[1:] <= 0)
    stalled = np.where(ends.any(axis=0), np.argmax(ends, axis=0), -1)
    reached = (stalled < 0) | (np.arange(len(demand))[:, None] <= stalled)
    mass = lift.moved.inertia + load * lift.moved.inertia_per_kg
    return Motion(
        rate_rad_per_s=np.sqrt(np.maximum(energy, 0) * 2 / mass) * reached,
        moment_nm=moment,
        time_s=time,
        activation=drive,
        stalled=stalled,
    )


def least_energy_j(lift: Lift, load_kg: NDArray[Any]) -> NDArray[np.float64]:
    """Energy of motion left where the muscles can give least over what is asked.

    Parameters
    ----------
    lift : Lift
        What moves, of n draws.
    load_kg : ndarray, shape (n,)
        One load a draw. [kg]

    Returns
    -------
    least : ndarray, shape (n,)
        Below 0 by what was missing. [J]
    """
    load = np.asarray(load_kg, dtype=lift.capability_nm.dtype)
    demand, begun = _demand(lift, load)
    hard = _hard(lift, demand, begun)
    rows: NDArray[np.bool_] = np.any(hard, axis=1)
    least = np.full(hard.shape[1], np.inf, dtype=demand.dtype)
    for i, (energy, *_) in enumerate(_steps(lift, load, demand, begun, _last(rows))):
        if rows[i + 1]:
            least = np.minimum(least, np.where(hard[i + 1], energy, np.inf))
    return least.astype(float)


def last_hard(lift: Lift, load_kg: NDArray[Any]) -> NDArray[np.intp]:
    """Return the last angle where a lift may come to rest.

    Parameters
    ----------
    lift : Lift
        What moves, of n draws.
    load_kg : ndarray, shape (n,)
        One load a draw. [kg]

    Returns
    -------
    last : ndarray of int, shape (n,)
        Index into the angles.
    """
    load = np.asarray(load_kg, dtype=lift.capability_nm.dtype)
    return _last(_hard(lift, *_demand(lift, load)))


def _hard(lift: Lift, demand: NDArray[Any], begun: Any) -> NDArray[np.bool_]:
    """Whether more is asked than is given at rest, at one angle at least."""
    used = np.where(begun, demand / lift.capability_nm, 0)
    hard = used >= np.minimum(used[1:].max(axis=0), 1)
    hard[0] = False  # nothing has moved yet
    return hard


def _last(rows: NDArray[np.bool_]) -> Any:
    """Index of the last row that is true."""
    return len(rows) - 1 - np.argmax(rows[::-1], axis=0)


def _demand(lift: Lift, load: NDArray[Any]) -> tuple[Any, Any]:
    """Moment asked, and whether the load has begun to resist."""
    demand = load * STANDARD_GRAVITY_M_PER_S2 * lift.load_arm_m + lift.own_nm
    return demand, np.maximum.accumulate(demand >= 0, axis=0)


def _swings(lift: Lift) -> tuple[Any, Any]:
    """Moment per squared rate between two angles, of the limb and each kilogram.

    Nil where one joint moves.
    """
    moved, width = lift.moved, lift.width_rad
    pairs = (moved.inertia, moved.bias), (moved.inertia_per_kg, moved.bias_per_kg)
    own, per_kg = (
        ((mass[1:] - mass[:-1]) / width - bias[1:] - bias[:-1]) / 2
        for mass, bias in pairs
    )
    return own, per_kg


def _steps(
    lift: Lift, load: NDArray[Any], demand: NDArray[Any], begun: Any, count: int
) -> Iterator[tuple[Any, Any, Any, Any]]:
    """Step over the angles: energy, time taken, drive; moment besides energy."""
    strength, moved, width = lift.capability_nm, lift.moved, lift.width_rad
    rise, wide = (np.broadcast_to(x, demand[0].shape) for x in (lift.start.rise, width))
    own_swing, swing_per_kg = _swings(lift)
    pace = -1 / lift.start.greatest_velocity
    fastest = lift.start.top_speed**2 / 2
    begins = begun.copy()
    begins[1:] &= ~begun[:-1]
    beginning, waiting = begins.any(axis=1), ~begun.all(axis=1)
    energy = rate = none = np.zeros_like(demand[0])
    drive = np.clip(demand[0] / strength[0], 0, 1)  # what holds the load
    for i in range(count):
        needed = (demand[i] + demand[i + 1]) / 2
        here = drive * force_velocity(rate * pace * moved.shortening[i]) * strength[i]
        mass = moved.inertia[i + 1] + load * moved.inertia_per_kg[i + 1]
        doubled = 2 / mass
        guess = np.sqrt(np.maximum(energy + (here - needed) * width, none) * doubled)
        dt = 2 * width / np.maximum(rate + guess, SLOWEST_RAD_PER_S)
        after = 1 - (1 - drive) * np.exp(-dt / rise)
        there = force_velocity(guess * pace * moved.shortening[i + 1])
        there = after * there * strength[i + 1]
        swung = own_swing[i] + load * swing_per_kg[i]
        swung = swung * (rate * rate + guess * guess) / 2
        end = energy + ((here + there) / 2 - needed + swung) * width
        if beginning[i]:
            at = np.flatnonzero(begins[i])
            net = (strength[i][at] + strength[i + 1][at]) / 2 - needed[at]
            end[at], dt[at], after[at] = _first_step(
                rise[at], net, mass[at], drive[at], wide[at]
            )
            swung[at] = 0
        if waiting[i]:
            end, dt = end * begun[i], dt * begun[i]
            holds = np.clip(demand[i + 1] / strength[i + 1], 0, 1)
            after = np.where(begun[i], after, holds)
        end = np.minimum(end, mass * fastest / moved.hand_m[i + 1] ** 2)
        yield end, dt, after, needed - swung
        energy, drive = end, after
        rate = np.sqrt(np.maximum(energy, none) * doubled)


def _first_step(
    rise: NDArray[Any],
    net_nm: NDArray[Any],
    mass: NDArray[Any],
    held: NDArray[Any],
    width: NDArray[Any],
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
