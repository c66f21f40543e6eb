"""Levers of load and forearm about the elbow.

Quasi-static and in the sagittal plane: x forward and y up from the shoulder.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from analytics.catalogue import (
    Band,
    Body,
    Cam,
    Constant,
    Gravity,
    Mechanics,
    Resistance,
)
from analytics.mechanics.curves import Floats
from analytics.units import STANDARD_GRAVITY_M_PER_S2


def resistance_lever(
    elbow_rad: Any,
    *,
    arm_rad: Any,
    resistance: Resistance,
    upper_arm_m: Any,
    grip_m: Any,
    shoulder_height_m: Any,
    forward_m: Any = 0.0,
    up_m: Any = 0.0,
    slack: Any = 1.0,
) -> Any:
    """Moment of the resistance over the weight of its load, in metres.

    Parameters
    ----------
    elbow_rad, arm_rad : array_like, shape (...)
        Elbow angle; upper arm from hanging. [rad]
    resistance : Resistance
        Kind of resistance and its geometry.
    upper_arm_m, grip_m, shoulder_height_m : array_like
        Shoulder to elbow, elbow to grip, shoulder above the floor. [m]
    forward_m, up_m : array_like
        Shift of the pulley or band anchor. [m]
    slack : array_like
        Factor on a band's slack length. [1]

    Returns
    -------
    lever_m : ndarray, shape (...)
        Positive where the resistance straightens the elbow. [m]

    Notes
    -----
    With T the pull over the load's weight, u its direction and r from elbow to
    grip, the lever is -(r x u) T. Gravity: T = 1, u down, so grip length times
    sin(arm + elbow). Cable: T = 1 towards the pulley. Band: `band_tension` towards
    its anchor. Constant and cam: as tabled.
    """
    if isinstance(resistance, Constant):
        return resistance.lever_m + 0.0 * elbow_rad
    if isinstance(resistance, Cam):
        angle, lever = np.array(resistance.table).T
        return np.interp(np.rad2deg(elbow_rad), angle, lever)
    forearm = arm_rad + elbow_rad
    sine = np.sin(forearm)
    if isinstance(resistance, Gravity):
        return grip_m * sine
    cosine = np.cos(forearm)
    ahead = resistance.anchor_forward_m + forward_m - upper_arm_m * np.sin(arm_rad)
    ahead = ahead - grip_m * sine
    above = resistance.anchor_height_m + up_m - shoulder_height_m
    above = above + upper_arm_m * np.cos(arm_rad) + grip_m * cosine
    distance = np.sqrt(ahead * ahead + above * above)
    lever = -grip_m * (sine * above + cosine * ahead) / distance
    if isinstance(resistance, Band):
        lever = lever * band_tension(distance, resistance=resistance, slack=slack)
    return lever


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


def shoulder_height_m(body: Body, trunk_deg: ArrayLike) -> Floats:
    """Height of the shoulder of a standing body with an inclined trunk.

    Parameters
    ----------
    body : Body
        Segment lengths.
    trunk_deg : array_like, shape (...)
        Trunk from vertical. [deg]

    Returns
    -------
    height_m : ndarray, shape (...)
        Above the floor. [m]
    """
    trunk = np.deg2rad(np.asarray(trunk_deg, dtype=float))
    return np.asarray(
        body.length_m["hip_height"] + body.length_m["trunk"] * np.cos(trunk)
    )


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
        Forward of the shoulder, above the floor. [m]
    """
    arm = np.deg2rad(model.arm_deg(elbow_deg))
    forearm, upper_m = arm + np.deg2rad(elbow_deg), body.length_m["upper_arm"]
    ahead = upper_m * np.sin(arm) + body.grip_m * np.sin(forearm)
    below = upper_m * np.cos(arm) + body.grip_m * np.cos(forearm)
    return ahead, shoulder_height_m(body, model.trunk_deg) - below


def levers(
    elbow_deg: ArrayLike, *, model: Mechanics, body: Body
) -> tuple[Floats, Floats]:
    """Lever of the load, and weight moment of forearm and hand.

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
    lever_m : ndarray, shape (...)
        Moment of the load over its weight. [m]
    own_nm : ndarray, shape (...)
        Moment of forearm and hand. [N m]
    """
    elbow = np.asarray(elbow_deg, dtype=float)
    arm = np.deg2rad(model.arm_deg(elbow))
    lever = resistance_lever(
        np.deg2rad(elbow),
        arm_rad=arm,
        resistance=model.resistance,
        upper_arm_m=body.length_m["upper_arm"],
        grip_m=body.grip_m,
        shoulder_height_m=shoulder_height_m(body, model.trunk_deg),
    )
    weight_n_m = STANDARD_GRAVITY_M_PER_S2 * body.forearm_and_hand_kg_m
    own = weight_n_m * np.sin(arm + np.deg2rad(elbow))
    low, high = model.joint.range_deg
    valid = (elbow >= low) & (elbow <= high)
    return np.where(valid, lever, np.nan), np.where(valid, own, np.nan)
