"""What the chain does to the body that carries it: at its root, and under the feet."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from analytics.catalogue import Anchored, Body, Variant, load_catalogue
from analytics.errors import InputError
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
from analytics.mechanics.curves import Floats
from analytics.units import STANDARD_GRAVITY_M_PER_S2


def _placed(joint_deg: ArrayLike, variant: Variant, body: Body) -> Placed:
    model, lead = variant.model, np.asarray(joint_deg, dtype=float)
    links = linkage(model.chain, body)
    angles = [
        lead if link.joint == model.chain.lead else model.shoulder_deg(lead)
        for link in model.chain.links
    ]
    tilts = tilts_rad(links, angles, trunk_deg=model.trunk_deg)
    return place(tilts, links, root=root_m(model, body))


def _pull_n(placed: Placed, variant: Variant, load_kg: ArrayLike) -> Floats:
    """Pull at one grip, forward and up, shape (2, ...)."""
    weight = np.asarray(load_kg) * STANDARD_GRAVITY_M_PER_S2
    resistance = variant.model.resistance
    if not isinstance(resistance, Anchored):
        weight = weight + 0.0 * placed.ahead_m[0]
        return np.stack([0.0 * weight, -weight])
    return np.stack([weight * part for part in pull(placed, resistance)])


def root_reaction(
    joint_deg: ArrayLike, *, variant: Variant, load_kg: ArrayLike, body: Body
) -> tuple[Floats, Floats, Floats]:
    """Force and moment that the trunk gives the first joint of one arm, at rest.

    Parameters
    ----------
    joint_deg : array_like, shape (...)
        Angle of the lead joint. [deg]
    variant : Variant
        Posture path and resistance; no machine, which pulls at no known place.
    load_kg : array_like, broadcastable to ``joint_deg``
        Per working arm. [kg]
    body : Body
        Segment sizes.

    Returns
    -------
    forward_n, up_n : ndarray, shape (...)
        Force. [N]
    moment_nm : ndarray, shape (...)
        Raising the first joint's angle. [N m]
    """
    placed = _placed(joint_deg, variant, body)
    pulled = _pull_n(placed, variant, load_kg)
    weight = sum(placed.links.mass_kg) * STANDARD_GRAVITY_M_PER_S2
    load_arm = pull_arms(placed, variant.model.resistance)[0]
    load_nm = np.asarray(load_kg) * STANDARD_GRAVITY_M_PER_S2 * load_arm
    return -pulled[0], weight - pulled[1], own_moments(placed)[0] + load_nm


def centre_of_pressure_m(
    joint_deg: ArrayLike, *, variant: Variant, load_kg: ArrayLike, body: Body
) -> Floats:
    r"""Where body and load press on the floor, at rest.

    Parameters
    ----------
    joint_deg : array_like, shape (...)
        Angle of the lead joint. [deg]
    variant : Variant
        Of a standing body: posture path, resistance and arms that work.
    load_kg : array_like, broadcastable to ``joint_deg``
        Per working arm. [kg]
    body : Body
        Segment sizes.

    Returns
    -------
    ahead_m : ndarray, shape (...)
        Ahead of the ankles; between them in a split stance. [m]

    Raises
    ------
    InputError
        If the body does not stand.

    Notes
    -----
    Moments about the ankles over the force on the floor, with F the pull at the grip:

    .. math:: x = \frac{g \sum m_i x_i + n (x_g (-F_y) + y_g F_x)}{g M - n F_y}

    Legs upright, trunk and head on the trunk's line, an arm that does not work
    hanging. Without a load and with hanging arms it is the natural stance's.

    References
    ----------
    winter_2009; de_leva_1996; stance table.
    """
    if variant.stance not in ("parallel", "split"):
        raise InputError(f"{variant.variant!r} does not stand on its feet")
    placed, arms = _placed(joint_deg, variant, body), variant.arms
    pulled = _pull_n(placed, variant, load_kg)
    (x_grip, y_grip), root = placed.grip_m(), placed.root
    kg, links, height = body.segment_kg, placed.links, body.length_m
    trunk_x = root[0] * (1 - body.com_frac["trunk"])
    head = _stance("head_centre_height") * body.stature_m - height["hip_height"]
    upper = kg["trunk"] * trunk_x + kg["head_neck"] * root[0] * head / height["trunk"]
    arm = own_moments(placed)[0] / STANDARD_GRAVITY_M_PER_S2
    upper = upper + 2 * sum(links.mass_kg) * root[0] + arms * arm
    natural = _stance("natural_com_ahead_of_ankle") * body.stature_m
    own = STANDARD_GRAVITY_M_PER_S2 * (upper + body.mass_kg * natural)
    loaded = arms * (-(x_grip + natural) * pulled[1] + y_grip * pulled[0])
    down = body.mass_kg * STANDARD_GRAVITY_M_PER_S2 - arms * pulled[1]
    return np.asarray((own + loaded) / down)


def _stance(quantity: str) -> float:
    table = load_catalogue().tables["stance"]
    return float(table.numbers("value")[table.columns["quantity"].index(quantity)])
