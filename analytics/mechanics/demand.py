"""Demand: the external elbow moment a posture, a load and a body ask for.

Quasi-static and in the sagittal plane: x forward and y up from the shoulder.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from analytics.catalogue import (
    Band,
    Cam,
    Constant,
    Gravity,
    Resistance,
    Variant,
    load_catalogue,
)
from analytics.errors import InputError
from analytics.mechanics.body import Body, make_body
from analytics.mechanics.curves import Floats
from analytics.units import STANDARD_GRAVITY_M_PER_S2


def find_variant(variant: str | Variant, *, modelled: bool = True) -> Variant:
    """Return a variant by its id, or refuse with the ids that exist.

    Parameters
    ----------
    variant : str or Variant
        Id in the catalogue; a Variant passes through.
    modelled : bool
        True refuses variants that are logged only.

    Returns
    -------
    variant : Variant
        From the catalogue.

    Raises
    ------
    InputError
        If there is none, or it has no mechanics.
    """
    variants = load_catalogue().variants
    known = [v.variant for v in variants.values() if v.modelled or not modelled]
    if not isinstance(variant, Variant):
        if variant not in variants:
            raise InputError(f"no variant {variant!r}; there are: {', '.join(known)}")
        variant = variants[variant]
    if modelled and not variant.modelled:
        raise InputError(
            f"{variant.variant!r} is logged, not modelled; modelled are: "
            f"{', '.join(known)}"
        )
    return variant


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


def levers(
    elbow_deg: ArrayLike, *, variant: str | Variant, body: Body
) -> tuple[Floats, Floats]:
    """Lever of the load, and weight moment of forearm and hand.

    Parameters
    ----------
    elbow_deg : array_like, shape (...)
        Elbow. [deg]
    variant : str or Variant
        Posture path and resistance.
    body : Body
        Segment lengths and masses.

    Returns
    -------
    lever_m : ndarray, shape (...)
        Moment of the load over its weight. [m]
    own_nm : ndarray, shape (...)
        Moment of forearm and hand. [N m]

    Raises
    ------
    InputError
        If the variant does not exist or is not modelled.
    """
    chosen = find_variant(variant)
    elbow = np.asarray(elbow_deg, dtype=float)
    model = chosen.model
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


def demand(
    elbow_deg: ArrayLike,
    *,
    variant: str | Variant,
    load_kg: ArrayLike,
    body: Body | None = None,
) -> NDArray[np.float64]:
    """External elbow moment to overcome, one arm.

    Parameters
    ----------
    elbow_deg : array_like, shape (...)
        Elbow, 0 straight. [deg]
    variant : str or Variant
        Posture path and resistance.
    load_kg : array_like, broadcastable to ``elbow_deg``
        External load per working arm; a band's rated tension. [kg]
    body : Body or None
        From `make_body`; the default body when None.

    Returns
    -------
    moment_nm : ndarray, shape (...)
        Load, forearm and hand; positive where it straightens the elbow. [N m]

    Raises
    ------
    InputError
        If the load is negative or the variant unknown.

    Notes
    -----
    NaN outside elbow 0 to 146 degrees.

    References
    ----------
    winter_2009; de_leva_1996; drillis_contini_1966.
    """
    load = np.asarray(load_kg, dtype=float)
    if np.any(load < 0):
        raise InputError(f"load_kg must be 0 or more, got {np.nanmin(load):g}")
    lever, own = levers(elbow_deg, variant=variant, body=body or make_body())
    return np.asarray(load * STANDARD_GRAVITY_M_PER_S2 * lever + own)
