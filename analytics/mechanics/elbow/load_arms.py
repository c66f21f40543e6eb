"""Moment arms of load and limb about shoulder and elbow, and what both can give.

Quasi-static and in the sagittal plane. The shoulder has a row wherever nothing holds
it. Its strength is one measured torque, which the biceps is part of: no published
moment arm of the biceps there is trusted (they jump at 0 or turn negative where the
stimulated muscle still lifts), and beside the torque it would count twice.
"""

from __future__ import annotations

from functools import cache
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from analytics.catalogue import (
    Anchored,
    Body,
    Cam,
    Constant,
    Mechanics,
    Resistance,
    load_catalogue,
)
from analytics.mechanics.chain.linkage import (
    Placed,
    linkage,
    own_moments,
    place,
    pull,
    pull_arms,
    root_m,
    tilts_rad,
)
from analytics.mechanics.chain.torques import torque_level, torques
from analytics.mechanics.curves import Floats
from analytics.mechanics.elbow.strength_curve import capability, strength

# Where the arm is when the elbow's strength is set beside the shoulder's. [deg]
REFERENCE_ELBOW_DEG, REFERENCE_SHOULDER_DEG, REFERENCE_ROTATION_DEG = 90.0, 0.0, 90.0


def _placed(elbow_deg: ArrayLike, model: Mechanics, body: Body) -> Placed:
    """Place the arm on its posture path; NaN outside what the elbow can take."""
    elbow = np.asarray(elbow_deg, dtype=float)
    low, high = model.joint.range_deg
    elbow = np.where((elbow >= low) & (elbow <= high), elbow, np.nan)
    links = linkage(model.chain, body)
    angles_deg = (model.shoulder_deg(elbow), elbow)
    tilts = tilts_rad(links, angles_deg, trunk_deg=model.trunk_deg)
    return place(tilts, links, root=root_m(model, body))


def hand_m(
    elbow_deg: ArrayLike, *, model: Mechanics, body: Body
) -> tuple[Floats, Floats]:
    """Place of the grip on the posture path.

    Parameters
    ----------
    elbow_deg : array_like, shape (...)
        Elbow. [deg]
    model : Mechanics
        Posture path.
    body : Body
        Segment lengths.

    Returns
    -------
    ahead_m, above_m : ndarray, shape (...)
        Forward of the hips, above the floor. [m]
    """
    return _placed(elbow_deg, model, body).grip_m()


def load_arms(
    elbow_deg: ArrayLike, *, model: Mechanics, body: Body
) -> tuple[Floats, Floats]:
    """Moment arm of the load about the elbow, and weight moment of forearm and hand.

    Parameters
    ----------
    elbow_deg : array_like, shape (...)
        Elbow. [deg]
    model : Mechanics
        Posture path and resistance.
    body : Body
        Segment lengths and masses.

    Returns
    -------
    load_arm_m : ndarray, shape (...)
        Moment of the load over its weight. [m]
    own_nm : ndarray, shape (...)
        Moment of forearm and hand. [N m]
    """
    load_arm, own = asked(elbow_deg, model=model, body=body)
    return load_arm[0], own[0]


def asked(
    elbow_deg: ArrayLike, *, model: Mechanics, body: Body
) -> tuple[tuple[Floats, ...], tuple[Floats, ...]]:
    """Moment arm of the load and weight moment of the limb about every free joint.

    Parameters
    ----------
    elbow_deg : array_like, shape (...)
        Elbow. [deg]
    model : Mechanics
        Posture path and resistance.
    body : Body
        Segment lengths and masses.

    Returns
    -------
    load_arm_m, own_nm : tuple of ndarray, one a free joint
        Elbow first; a machine's moment arm as tabled.
    """
    placed, resistance = _placed(elbow_deg, model, body), model.resistance
    own = own_moments(placed)[::-1]
    if isinstance(resistance, Constant | Cam):
        return (machine_arm(elbow_deg, resistance) + 0.0 * own[0],), own[:1]
    load_arm = pull_arms(placed, resistance)[::-1]
    if model.holds:
        load_arm, own = load_arm[:1], own[:1]
    if model.hangs_on_grip:  # a row in newtons: what the fingers hold of the load
        load_arm, own = (*load_arm, grip_pull(placed, resistance)), (*own, 0.0 * own[0])
    return load_arm, own


def grip_pull(placed: Placed, resistance: Resistance) -> Any:
    """Pull on the fingers over the weight of the load."""
    if not isinstance(resistance, Anchored):
        return np.ones_like(placed.ahead_m[-1])
    return np.hypot(*pull(placed, resistance))


@cache
def grip_force_n() -> float:
    """Force that the fingers of one hand hold: a man's, as the muscle sets are."""
    table = load_catalogue().tables["hand_grip"]
    return float(table.numbers("force")[table.columns["sex"].index("male")])


def machine_arm(elbow_deg: ArrayLike, pull: Constant | Cam) -> Floats:
    """Moment arm that a machine gives its load about the elbow."""
    elbow = np.asarray(elbow_deg, dtype=float)
    if isinstance(pull, Constant):
        return np.full_like(elbow, pull.load_arm_m)
    return np.interp(elbow, *np.array(pull.table).T)


def able(
    elbow_deg: ArrayLike, *, model: Mechanics, muscles: str, curve: str
) -> tuple[tuple[Any, ...], tuple[Any, ...]]:
    """Moments that the muscles of every free joint can give.

    Parameters
    ----------
    elbow_deg : array_like, shape (...)
        Elbow. [deg]
    model : Mechanics
        Posture path.
    muscles, curve : str
        Published muscle set and curve.

    Returns
    -------
    least_nm, most_nm : tuple, one a free joint
        Elbow first. What pulls the elbow into flexion meets no limit: extensors are
        no part of a curl's strength.
    """
    most = strength(elbow_deg, model=model, muscles=muscles, curve=curve)
    parts: list[tuple[Any, Any]] = [(-np.inf, most)]
    for joint in model.free[1:]:
        if joint == "grip":
            parts.append((-np.inf, grip_force_n() + 0.0 * most))
            continue
        level = torque_level(joint, model.chain.lead) * capability(
            REFERENCE_ELBOW_DEG,
            shoulder_deg=REFERENCE_SHOULDER_DEG,
            rotation_deg=REFERENCE_ROTATION_DEG,
            muscles=muscles,
            curve=curve,
        )
        shoulder_deg = model.shoulder_deg(elbow_deg)
        parts.append(torques(joint, shoulder_deg, flexion_at_0_nm=level))
    least_nm, most_nm = zip(*parts, strict=True)
    return least_nm, most_nm
