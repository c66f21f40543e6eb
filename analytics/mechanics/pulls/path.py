"""Where the arm is during a pull, and what a load asks of its two joints.

Quasi-static, one arm, in the sagittal plane: elbows that point outward share the
moment otherwise.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from analytics.catalogue import Body, Gravity, load_catalogue
from analytics.catalogue.pulls import Hanging, Pull
from analytics.mechanics.chain.linkage import (
    Linkage,
    linkage,
    own_moments,
    place,
    pull_arms,
    tilts_rad,
)
from analytics.units import STANDARD_GRAVITY_M_PER_S2

STEPS = 41
LAST_ELBOW_DEG = 120.0  # beyond, flesh meets flesh and muscle tables end
FULL_AT_DEG, LEAST_FRAC = 100.0, 0.2  # where departures from the path are stated
PROGRESS = np.linspace(0, 1, STEPS)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Asked:
    """Posture and moment arms of the load through a pull.

    Attributes
    ----------
    elbow_deg, shoulder_deg, trunk_deg : ndarray, shape (..., STEPS)
        Posture; the trunk of a hanging body as it settles. [deg]
    load_arm_m : tuple of two ndarray, shape (..., STEPS)
        Shoulder then elbow: moment of the load over its weight, positive where the
        angle has to be raised against it. [m]
    own_nm : tuple of two ndarray, shape (..., STEPS)
        Moment of the arm's own weight, same sense. [N m]
    """

    elbow_deg: Any
    shoulder_deg: Any
    trunk_deg: Any
    load_arm_m: tuple[Any, Any]
    own_nm: tuple[Any, Any]

    def moment_nm(self, load_kg: Any) -> tuple[Any, Any]:
        """Moments of shoulder and elbow at a load per working arm."""
        weight = load_kg * STANDARD_GRAVITY_M_PER_S2
        shoulder, elbow = (
            weight * load_arm + own
            for load_arm, own in zip(self.load_arm_m, self.own_nm, strict=True)
        )
        return shoulder, elbow


def arm_links(body: Body) -> Linkage:
    """Upper arm, and forearm with hand to the grip."""
    return linkage(load_catalogue().chains["arm"], body)


def asked(
    pull: Pull,
    *,
    body: Body,
    shoulder_off_deg: Any = 0.0,
    forearm_off_deg: Any = 0.0,
) -> Asked:
    """Posture and moment arms of the load through a pull.

    Parameters
    ----------
    pull : Pull
        Path and resistance.
    body : Body
        Segment sizes.
    shoulder_off_deg, forearm_off_deg : array_like, shape (..., 1)
        A person's departure of upper arm and forearm from the path at the full bend
        it is stated for; in proportion to the bend elsewhere, and a fifth of it even
        where the arm is straight. [deg]

    Returns
    -------
    asked : Asked
    """
    elbow, shoulder, trunk = pull.posture_deg(PROGRESS)
    grown = np.maximum(elbow / FULL_AT_DEG, LEAST_FRAC)
    off = np.asarray(shoulder_off_deg) * grown
    elbow = np.clip(
        elbow + np.asarray(forearm_off_deg) * grown - off, 0.0, LAST_ELBOW_DEG
    )
    shoulder = shoulder + off
    links = arm_links(body)
    if isinstance(pull.resistance, Hanging):
        trunk = hanging_trunk_deg(elbow, shoulder, body=body)
    hip_m = body.length_m["hip_height"] if pull.hip_m is None else pull.hip_m
    lean, length = np.deg2rad(trunk), body.length_m["trunk"]
    placed = place(
        tilts_rad(links, (shoulder, elbow), trunk_deg=trunk),
        links,
        root=(length * np.sin(lean), hip_m + length * np.cos(lean)),
    )
    if isinstance(pull.resistance, Hanging):
        first, second = pull_arms(placed, Gravity())
        load_arms = (-first, -second)  # the bar pulls up what a weight pulls down
    else:
        first, second = pull_arms(placed, pull.resistance)
        load_arms = (first, second)
    own = own_moments(placed)
    elbow, shoulder, trunk = np.broadcast_arrays(elbow, shoulder, trunk)
    return Asked(
        elbow_deg=elbow,
        shoulder_deg=shoulder,
        trunk_deg=trunk,
        load_arm_m=load_arms,
        own_nm=(own[0], own[1]),
    )


def hanging_trunk_deg(elbow_deg: Any, shoulder_deg: Any, *, body: Body) -> Any:
    """Lean at which a body hanging by both hands has its mass below the bar.

    Parameters
    ----------
    elbow_deg, shoulder_deg : array_like, shape (...)
        Posture of both arms. [deg]
    body : Body
        Segment sizes.

    Returns
    -------
    trunk_deg : ndarray, shape (...)
        From vertical, forward lean positive. [deg]

    Notes
    -----
    Joints kept, the whole body swings as one until its centre of mass is below the
    grip: its tilt about the grip, with the trunk upright, is the lean. Head, trunk and
    legs lie on one line.
    """
    links = arm_links(body)
    tilts = tilts_rad(links, (shoulder_deg, elbow_deg), trunk_deg=0.0)
    placed = place(tilts, links, root=(0.0, 0.0))
    ahead, above = placed.grip_m()
    kg, length = body.segment_kg, body.length_m
    # First moments about the shoulders: of both arms, and of what hangs upright.
    arms_x = 2 * own_moments(placed)[0] / STANDARD_GRAVITY_M_PER_S2
    upright = place(tuple(t + np.pi / 2 for t in tilts), links, root=(0.0, 0.0))
    arms_y = -2 * own_moments(upright)[0] / STANDARD_GRAVITY_M_PER_S2
    stance = load_catalogue().tables["stance"]
    head_m = (
        float(
            stance.numbers("value")[
                stance.columns["quantity"].index("head_centre_height")
            ]
        )
        * body.stature_m
        - length["shoulder_height"]
    )
    hips = -length["trunk"]
    knees, ankles = hips - length["thigh"], hips - length["thigh"] - length["shank"]
    rest_y = kg["head_neck"] * head_m + kg["trunk"] * hips * (
        1 - body.com_frac["trunk"]
    )
    rest_y += 2 * kg["thigh"] * (hips - body.com_frac["thigh"] * length["thigh"])
    rest_y += 2 * kg["shank"] * (knees - body.com_frac["shank"] * length["shank"])
    rest_y += 2 * kg["foot"] * ankles
    x = arms_x / body.mass_kg - ahead
    y = (arms_y + rest_y) / body.mass_kg - above
    return np.rad2deg(np.arctan2(x, -y))


def load_per_hand(
    pull: Pull, load_kg: Any, *, arms_share: Any, body_mass_kg: Any
) -> Any:
    """Give what one hand holds of a logged load.

    Parameters
    ----------
    pull : Pull
        Of the variant.
    load_kg : array_like
        As logged; of a hanging body what is added to it. [kg]
    arms_share : array_like
        Working arms that share it. [1]
    body_mass_kg : array_like
        Of the whole body. [kg]

    Returns
    -------
    hand_kg : array_like
        [kg]
    """
    if isinstance(pull.resistance, Hanging):
        load_kg = load_kg + body_mass_kg
    return load_kg / arms_share
