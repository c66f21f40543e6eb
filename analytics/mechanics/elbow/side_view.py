"""The curl from the side: bones, equipment, lines of pull and the flexors, to scale.

Every line of pull lies as far from the elbow as the model says, at every angle. Where
muscles start and end on the bones is for the eye: nothing is computed from it.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike

from analytics.catalogue import Anchored, Body, Cam, Constant, Mechanics, Variant
from analytics.mechanics.chain.linkage import (
    Placed,
    linkage,
    place,
    root_m,
    tilts_rad,
)
from analytics.mechanics.curves import Floats
from analytics.mechanics.elbow.load_arms import machine_arm
from analytics.mechanics.elbow.muscles import Muscle, muscle_set
from analytics.mechanics.elbow.strength_curve import muscle_work
from analytics.scene import SideView

# Origin: share of the upper arm from the shoulder, and metres in front of its axis;
# insertion: share of the forearm from the elbow. Biceps: the middle of 3.8 to 7.5 cm in
# cadavers and scans; the others from memory of anatomy, for the eye alone.
_ENDS = {
    "biceps_long": (-0.03, 0.0, 0.22),
    "biceps_short": (0.0, 0.025, 0.22),
    "brachialis": (0.5, 0.012, 0.16),
    "brachioradialis": (0.78, 0.01, 0.97),
    "ecrl": (0.87, 0.008, 1.0),
    "pronator_teres": (0.94, 0.01, 0.5),
}
_RING_M = {"bar": 0.11, "dumbbell": 0.06}  # of a plate; a handle is a dot
_PULL_M = 0.22  # drawn of a line of pull


def side_view(variant: Variant, elbow_deg: ArrayLike, *, body: Body) -> SideView:
    """Place all that is drawn of a lift, at each of several angles.

    Parameters
    ----------
    variant : Variant
        Posture path and resistance.
    elbow_deg : array_like, shape (n,)
        Elbow. [deg]
    body : Body
        Segment lengths.

    Returns
    -------
    view : SideView
        A frame for each angle.
    """
    model, angle = variant.model, np.asarray(elbow_deg, dtype=float)
    links = linkage(model.chain, body)
    angles_deg = (model.shoulder_deg(angle), angle)
    tilts = tilts_rad(links, angles_deg, trunk_deg=model.trunk_deg)
    posture = place(tilts, links, root=root_m(model, body))
    hand = np.stack(posture.grip_m(), axis=-1)
    ahead, above = posture.ahead_m[-1], posture.above_m()[-1]
    elbow = hand - np.stack([ahead, above], axis=-1)
    foot, end = _line_of_pull(model, angle, elbow, hand)
    shoulder = np.broadcast_to(np.array(posture.root), hand.shape)
    lines = {
        "upper arm": (shoulder, elbow),
        "forearm": (elbow, hand),
        "line of pull": (foot, hand, end),
        "moment arm of the load": (elbow, foot),
    }
    if isinstance(model.resistance, Anchored):
        lines["cable"] = (hand, end)
    muscles, feet = _muscles(variant, angle, elbow, posture, body)
    lines["moment arm of the muscle"] = (elbow, feet)
    column = model.joint.column
    arms = {
        column: angle,
        "load_arm_m": np.linalg.norm(foot - elbow, axis=-1),
        "muscle_arm_m": np.linalg.norm(feet - elbow, axis=-1),
    }
    moving = [_rows(part, points, {column: angle}) for part, points in lines.items()]
    return SideView(
        fixed=pd.DataFrame(_fixed(model, variant.stance, body)),
        moving=pd.concat(moving, ignore_index=True),
        muscles=muscles,
        arms=pd.DataFrame(arms),
        ring_m=_RING_M.get(variant.implement, 0.02),
    )


def _rows(
    part: str, points: tuple[Floats, ...], keys: dict[str, Floats]
) -> pd.DataFrame:
    """Rows of one line by frame, its points in order."""
    return pd.concat(
        [
            pd.DataFrame(
                {**keys, "part": part, "order": i, "x_m": at[:, 0], "y_m": at[:, 1]}
            )
            for i, at in enumerate(points)
        ],
        ignore_index=True,
    )


def _line_of_pull(
    model: Mechanics, angle: Floats, elbow: Floats, hand: Floats
) -> tuple[Floats, Floats]:
    """Foot of the load's moment arm on the line of pull, and where the line ends."""
    pull = model.resistance
    if isinstance(pull, Constant | Cam):  # moment arm tabled: square to the forearm
        along = (hand - elbow) / np.linalg.norm(hand - elbow, axis=-1, keepdims=True)
        foot = elbow + machine_arm(angle, pull)[:, None] * along
        square = np.stack([along[:, 1], -along[:, 0]], axis=-1)
        return foot, foot + _PULL_M * square
    if not isinstance(pull, Anchored):
        foot = np.stack([hand[:, 0], elbow[:, 1]], axis=-1)
        return foot, hand - np.array([0.0, _PULL_M])
    anchor = np.array([pull.anchor_forward_m, pull.anchor_height_m])
    way = (anchor - hand) / np.linalg.norm(anchor - hand, axis=-1, keepdims=True)
    along_m = np.sum((elbow - hand) * way, axis=-1, keepdims=True)
    return hand + along_m * way, np.broadcast_to(anchor, hand.shape)


def _muscles(
    variant: Variant, angle: Floats, elbow: Floats, posture: Placed, body: Body
) -> tuple[pd.DataFrame, Floats]:
    """Lines of the flexors, and the foot of the main one's moment arm."""
    model, column = variant.model, variant.model.joint.column
    work = muscle_work(
        angle,
        shoulder_deg=model.shoulder_deg(angle),
        rotation_deg=model.rotation_deg,
    ).set_index("muscle")
    parts, main = [], elbow
    for muscle in muscle_set(model.joint.muscle_sets[0]):
        arm_m = muscle.moment_arm_m(angle, model.rotation_deg)
        line = _line(muscle, arm_m, elbow, posture, body.length_m)
        own = work.loc[muscle.name]
        keys = {name: own[name].to_numpy() for name in (column, *_LENGTH)}
        rows = _rows(muscle.name, line, keys)
        parts.append(rows.rename(columns={"part": "muscle"}))
        main = line[1] if muscle.name == model.joint.main_muscle else main
    return pd.concat(parts, ignore_index=True), main


_LENGTH = ("active", "fibre_length", "zone")


def _line(
    muscle: Muscle,
    arm_m: Floats,
    elbow: Floats,
    posture: Placed,
    length_m: dict[str, float],
) -> tuple[Floats, Floats, Floats]:
    """Origin, foot of the moment arm, and insertion of one muscle.

    The line of pull runs from the insertion as a tangent to the circle about the elbow
    whose radius is the moment arm, on the side of flexion.
    """
    from_frac, front_m, to_frac = _ENDS[muscle.name]
    upper, fore = posture.tilts_rad
    along_up, front_up = _axes(upper)
    along, front = _axes(fore)
    # Moment arms are of one size: the end stays outside them on small bodies too.
    out_m = max(to_frac * length_m["forearm"], 1.02 * float(np.nanmax(arm_m)))
    origin = (
        elbow - (1 - from_frac) * length_m["upper_arm"] * along_up + front_m * front_up
    )
    cosine = arm_m / out_m
    sine = np.sqrt(1 - cosine**2)
    foot = elbow + arm_m[:, None] * (cosine[:, None] * along + sine[:, None] * front)
    return origin, foot, elbow + out_m * along


def _axes(tilt: Floats) -> tuple[Floats, Floats]:
    """Directions along a link and to its side of flexion."""
    sine, cosine = np.sin(tilt), np.cos(tilt)
    return np.stack([sine, -cosine], axis=-1), np.stack([cosine, sine], axis=-1)


def _fixed(model: Mechanics, stance: str, body: Body) -> Iterator[dict[str, object]]:
    """Trunk, head, legs, support and anchor, one dict a point."""
    shoulder = np.array(root_m(model, body), dtype=float)
    tilt = np.deg2rad(model.trunk_deg)
    up, front = (
        np.array([np.sin(tilt), np.cos(tilt)]),
        np.array([np.cos(tilt), -np.sin(tilt)]),
    )
    hip = shoulder - body.length_m["trunk"] * up
    knee = hip + np.array([body.length_m["thigh"], 0.0])
    lines = {"trunk": [hip, shoulder], "head": [shoulder + 0.19 * up]}
    lines["legs"] = [hip, hip * [1, 0]]
    if stance == "seated":
        lines["legs"] = [hip, knee, knee * [1, 0]]
    elif stance == "prone":
        lines["legs"] = [hip, hip - up * hip[1] / up[1]]
    if model.support == "bench":
        side = 0.1 if stance == "prone" else -0.1
        lines["bench"] = [
            hip - 0.05 * up + side * front,
            shoulder + 0.1 * up + side * front,
        ]
    if model.support == "pad":
        along, over = (x[0] for x in _axes(np.deg2rad(model.arm_deg([0.0]))))
        start, end = (
            shoulder + s * body.length_m["upper_arm"] * along for s in (0.3, 1.1)
        )
        lines["pad"] = [start - 0.055 * over, end - 0.055 * over]
    if isinstance(model.resistance, Anchored):
        pull = model.resistance
        lines["anchor"] = [np.array([pull.anchor_forward_m, pull.anchor_height_m])]
    for part, points in lines.items():
        for order, (x, y) in enumerate(points):
            yield {"part": part, "order": order, "x_m": x, "y_m": y}
