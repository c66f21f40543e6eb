"""Moment arms and inertia of a limb whose lead joint alone is balanced."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from analytics.catalogue import Band, Body, Cam, Constant, Gravity, Mechanics
from analytics.mechanics.chain.linkage import (
    Linkage,
    Placed,
    linkage,
    own_moments,
    place,
    pull_arms,
    root_m,
    tilts_rad,
)
from analytics.mechanics.curves import Floats

GYRATION = (
    0.3  # of a link about its centre over its reach; between published 0.25 and 0.33
)
LEAST_INERTIA_FRAC = 0.1  # of the limb kept still, where the pull passes the joint


def placed(
    joint_deg: ArrayLike,
    *,
    model: Mechanics,
    body: Body,
    links: Linkage | None = None,
    off_deg: Any = 0.0,
) -> Placed:
    """Place the links on a posture path; NaN outside what the joint can take.

    Parameters
    ----------
    joint_deg : array_like, shape (...)
        Angle of the lead joint. [deg]
    model : Mechanics
        Posture path.
    body : Body
        Segment sizes.
    links : Linkage or None
        In place of the body's.
    off_deg : array_like
        Turn of the first link off the path. [deg]

    Returns
    -------
    placed : Placed
    """
    angle = np.asarray(joint_deg, dtype=float)
    low, high = model.joint.range_deg
    angle = np.where((angle >= low) & (angle <= high), angle, np.nan)
    links = links or linkage(model.chain, body)
    near = model.shoulder_deg(angle) + off_deg * links.signs[0]
    tilts = tilts_rad(links, (near, angle), trunk_deg=model.trunk_deg)
    return place(tilts, links, root=root_m(model, body))


def load_arms(
    joint_deg: ArrayLike, where: Placed, model: Mechanics, **pulled: Any
) -> tuple[Any, Any]:
    """Moment arm of the load about the lead joint, and the limb's own moment.

    Parameters
    ----------
    joint_deg : array_like, shape (...)
        Angle of the lead joint. [deg]
    where : Placed
        Posture.
    model : Mechanics
        Resistance.
    **pulled
        Shifts of a pulley or band, as in `pull_arms`.

    Returns
    -------
    load_arm_m, own_nm : ndarray, shape (...)
        The limb weighs nothing where the ground pushes.
    """
    own, pull = own_moments(where)[-1], model.resistance
    if model.chain.pushes:
        own = 0.0 * own
    if isinstance(pull, Constant):
        return pull.load_arm_m + 0.0 * own, own
    if isinstance(pull, Cam):
        return np.interp(
            np.asarray(joint_deg), *np.array(pull.table).T
        ) + 0.0 * own, own
    load_arm = pull_arms(where, pull, **pulled)[-1]
    return -load_arm if model.chain.pushes else load_arm, own


def inertia(
    joint_deg: Floats, *, model: Mechanics, body: Body
) -> tuple[Floats, Floats, Floats]:
    """Inertia of the limb, of a kilogram of load, and half the latter's slope.

    Parameters
    ----------
    joint_deg : ndarray, shape (n,)
        The joint's grid. [deg]
    model : Mechanics
        Resistance.
    body : Body
        Segment sizes.

    Returns
    -------
    own, per_kg, bias_per_kg : ndarray, shape (n,)
        [kg m2], [m2], [m2]
    """
    where = placed(joint_deg, model=model, body=body)
    links, reach = where.links, where.links.length_m[-1]
    mass, first = links.mass_kg[-1], links.first_kg_m[-1]
    own = first**2 / mass + mass * (GYRATION * reach) ** 2
    load_arm, _ = load_arms(joint_deg, where, model)
    if isinstance(model.resistance, Band):
        per_kg = np.zeros_like(load_arm)
    elif isinstance(model.resistance, Gravity) and not model.chain.pushes:
        per_kg = np.full_like(load_arm, reach**2)
    else:  # what hangs or is pushed rises by its moment arm
        per_kg = np.maximum(load_arm**2, LEAST_INERTIA_FRAC * reach**2)
    slope = np.gradient(per_kg, np.deg2rad(joint_deg)) / 2
    return np.full_like(load_arm, own), per_kg, slope
