"""Geometry of a planar chain: where its joints are, and what pulls at them.

x forward and y up in the room's frame, from the floor below the hips, which stand
over the ankles where the root is the feet. A link's tilt is counted from hanging,
forward positive.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from analytics.catalogue import Anchored, Band, Body, Cable, Chain, Mechanics
from analytics.units import STANDARD_GRAVITY_M_PER_S2


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Linkage:
    """Links of one body.

    Attributes
    ----------
    signs : tuple of int, one a link
        Of its joint's angle.
    length_m, mass_kg, first_kg_m : tuple, one a link
        Joint to next joint, the last to the grip; mass; first moment about the joint.
    turns_deg : tuple of float, one a link
        Turn at an angle of 0; none when empty. [deg]
    """

    signs: tuple[int, ...]
    length_m: tuple[Any, ...]
    mass_kg: tuple[Any, ...]
    first_kg_m: tuple[Any, ...]
    turns_deg: tuple[float, ...] = ()


def linkage(chain: Chain, body: Body) -> Linkage:
    """Links of a chain in the sizes of a body.

    Parameters
    ----------
    chain : Chain
        Which segments are a link.
    body : Body
        Segment sizes.

    Returns
    -------
    links : Linkage
        The last link ends at the grip.
    """
    mass, first, length = [], [], []
    for link in chain.links:
        along = moment = 0.0
        for name in link.segments:
            centre = along + body.com_frac[name] * body.length_m[name]
            moment += body.segment_kg[name] * centre
            along += body.length_m[name]
        mass.append(sum(body.segment_kg[name] for name in link.segments))
        first.append(moment)
        length.append(along)
    last = chain.links[-1]
    reach = body.length_m[last.segments[0]] * last.reach_frac
    length[-1] = body.grip_m if "hand" in last.segments else reach
    return Linkage(
        signs=tuple(link.sign for link in chain.links),
        length_m=tuple(length),
        mass_kg=tuple(mass),
        first_kg_m=tuple(first),
        turns_deg=tuple(link.turn_deg for link in chain.links),
    )


def tilts_rad(
    links: Linkage, angles_deg: Sequence[Any], *, trunk_deg: Any
) -> tuple[Any, ...]:
    """Tilt of each link from the joints' angles.

    Parameters
    ----------
    links : Linkage
        Signs of the joints.
    angles_deg : sequence of array_like, one a joint
        Joint angles. [deg]
    trunk_deg : array_like
        Trunk from vertical, forward lean positive. [deg]

    Returns
    -------
    tilts_rad : tuple of ndarray, one a link
        From hanging. [rad]
    """
    tilt, tilts = -np.deg2rad(trunk_deg), []
    turns = links.turns_deg or (0.0,) * len(links.signs)
    for sign, angle, turn in zip(links.signs, angles_deg, turns, strict=True):
        tilt = tilt + sign * np.deg2rad(angle) + np.deg2rad(turn)
        tilts.append(tilt)
    return tuple(tilts)


def root_m(model: Mechanics, body: Body, *, lean_deg: Any = 0.0) -> tuple[Any, Any]:
    """Place of the first joint: that of an arm at the top of the trunk, else the hips.

    Parameters
    ----------
    model : Mechanics
        Tilt of the trunk and height of the hips.
    body : Body
        Segment lengths.
    lean_deg : array_like
        More lean than the trunk's own. [deg]

    Returns
    -------
    x_m, y_m : ndarray
        Forward of the hips, above the floor. [m]
    """
    hip = body.length_m["hip_height"] if model.hip_m is None else model.hip_m
    trunk, tilt = body.length_m["trunk"], np.deg2rad(model.trunk_deg + lean_deg)
    trunk *= model.chain.links[0].joint == "shoulder"
    return trunk * np.sin(tilt), hip + trunk * np.cos(tilt)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Placed:
    """A posture.

    Attributes
    ----------
    tilts_rad : tuple, one a link
        From hanging, forward positive.
    links : Linkage
        Sizes.
    root : tuple of two
        Place of the first joint.
    sine, ahead_m : tuple, one a link
        Of its tilt; from its joint forward to the grip.
    """

    tilts_rad: tuple[Any, ...]
    links: Linkage
    root: tuple[Any, Any]
    sine: tuple[Any, ...]
    ahead_m: tuple[Any, ...]

    def above_m(self) -> tuple[Any, ...]:
        """From each joint up to the grip."""
        cosine = (-np.cos(tilt) for tilt in self.tilts_rad)
        return _to_the_grip(self.links, tuple(cosine))

    def grip_m(self) -> tuple[Any, Any]:
        """Place of the grip in the room."""
        return self.root[0] + self.ahead_m[0], self.root[1] + self.above_m()[0]


def place(tilts_rad: Sequence[Any], links: Linkage, *, root: tuple[Any, Any]) -> Placed:
    """Place the links.

    Parameters
    ----------
    tilts_rad : sequence of array_like, one a link, shapes (...)
        From hanging. [rad]
    links : Linkage
        Their sizes.
    root : tuple of two
        Place of the first joint. [m]

    Returns
    -------
    placed : Placed
        The posture.
    """
    sine = tuple(np.sin(tilt) for tilt in tilts_rad)
    return Placed(
        tilts_rad=tuple(tilts_rad),
        links=links,
        root=root,
        sine=sine,
        ahead_m=_to_the_grip(links, sine),
    )


def _to_the_grip(links: Linkage, along: tuple[Any, ...]) -> tuple[Any, ...]:
    """Sum from the grip inwards, so that rounding stays with the outer links."""
    total, parts = 0.0, []
    for length, part in zip(links.length_m[::-1], along[::-1], strict=True):
        total = total + length * part
        parts.append(total)
    return tuple(parts[::-1])


def own_moments(placed: Placed) -> tuple[Any, ...]:
    """Moment of the links' own weight about each joint.

    Parameters
    ----------
    placed : Placed
        Posture.

    Returns
    -------
    own_nm : tuple of ndarray, one a joint
        Positive where its muscles have to raise the joint's angle. [N m]
    """
    links, moments = placed.links, []
    beyond_kg: Any = 0.0
    total: Any = 0.0
    for length, mass, first, sine in zip(
        links.length_m[::-1],
        links.mass_kg[::-1],
        links.first_kg_m[::-1],
        placed.sine[::-1],
        strict=True,
    ):
        total = total + (first + beyond_kg * length) * sine
        beyond_kg = beyond_kg + mass
        moments.append(STANDARD_GRAVITY_M_PER_S2 * total)
    return _signed(links, moments[::-1])


def _signed(links: Linkage, moments: Sequence[Any]) -> tuple[Any, ...]:
    """Moments in the sense of the joints' angles."""
    pairs = zip(links.signs, moments, strict=True)
    return tuple(moment if sign == 1 else -moment for sign, moment in pairs)


def pull_arms(
    placed: Placed,
    resistance: Any,
    *,
    forward_m: Any = 0.0,
    up_m: Any = 0.0,
    slack: Any = 1.0,
) -> tuple[Any, ...]:
    """Moment of a pull at the grip over the weight of its load, about each joint.

    Parameters
    ----------
    placed : Placed
        Posture.
    resistance : Gravity, Cable or Band
        What pulls.
    forward_m, up_m : array_like
        Shift of the pulley or band anchor. [m]
    slack : array_like
        Factor on a band's slack length. [1]

    Returns
    -------
    load_arm_m : tuple of ndarray, one a joint
        Positive where muscles have to raise the joint's angle. [m]

    Notes
    -----
    The Jacobian transposed: with r from joint to grip, u the direction of the pull and
    T its size over the load's weight, -(r x u) T. Gravity: T 1, u down, so the distance
    forward. Cable: T the pulley's ratio, towards the pulley. Band: `band_tension`.
    """
    if not isinstance(resistance, Anchored):
        return _signed(placed.links, placed.ahead_m)
    pull_x, pull_y = pull(
        placed, resistance, forward_m=forward_m, up_m=up_m, slack=slack
    )
    load_arms = [
        above * pull_x - ahead * pull_y
        for ahead, above in zip(placed.ahead_m, placed.above_m(), strict=True)
    ]
    return _signed(placed.links, load_arms)


def pull(
    placed: Placed,
    resistance: Anchored,
    *,
    forward_m: Any = 0.0,
    up_m: Any = 0.0,
    slack: Any = 1.0,
) -> tuple[Any, Any]:
    """Pull of a cable or band at the grip over the weight of its load.

    Parameters
    ----------
    placed : Placed
        Posture.
    resistance : Cable or Band
        What pulls.
    forward_m, up_m : array_like
        Shift of the pulley or band anchor. [m]
    slack : array_like
        Factor on a band's slack length. [1]

    Returns
    -------
    forward, up : ndarray, shape (...)
        [1]
    """
    grip_x, grip_y = placed.grip_m()
    x = resistance.anchor_forward_m + forward_m - grip_x
    y = resistance.anchor_height_m + up_m - grip_y
    distance = np.sqrt(x * x + y * y)
    tension: Any = 1.0
    if isinstance(resistance, Cable):
        tension = resistance.pulley_ratio
    elif isinstance(resistance, Band):
        tension = band_tension(distance, resistance=resistance, slack=slack)
    strength = tension / distance
    return x * strength, y * strength


def band_tension(distance_m: Any, *, resistance: Band, slack: Any = 1.0) -> Any:
    """Tension of a band over the weight of its load.

    Parameters
    ----------
    distance_m : array_like, shape (...)
        Anchor to grip. [m]
    resistance : Band
        Slack length and table.
    slack : array_like
        Factor on its slack length. [1]

    Returns
    -------
    tension : ndarray, shape (...)
        1 at twice the slack length, where the load is rated; nil when slack. [1]
    """
    elongation = np.maximum(distance_m / (resistance.slack_m * slack) - 1.0, 0.0)
    if not resistance.table:
        return elongation
    return np.interp(elongation, *np.array(resistance.table).T)
