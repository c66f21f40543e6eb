"""A lift from the side: bones, equipment, lines of pull and muscles, to scale.

Every line of pull lies as far from the joint as the model says, at every angle. Where
muscles start and end on the bones is schematic: nothing is computed from it.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from importlib.resources import files

import numpy as np
import pandas as pd

from analytics.catalogue import Anchored, Body, Cam, Constant, Mechanics, Variant
from analytics.mechanics.chain.linkage import (
    Placed,
    linkage,
    place,
    root_m,
    tilts_rad,
)
from analytics.mechanics.curves import Floats
from analytics.mechanics.joints import JointModel, find_variant, joint_model
from analytics.scene import SideView

FRAME_DEG = 2.0
_RING_M = {"bar": 0.11, "dumbbell": 0.06}  # of a plate; a handle is a dot
_PULL_M = 0.22  # drawn of a line of pull
_BLOCK_M = 0.1  # under the ball of a foot that pushes
_HEEL_FRAC = -0.17  # of the foot's length from the ankle, for the eye
_LENGTH = ("active", "fibre_length", "zone")
Lines = dict[str, tuple[Floats, ...]]


def side_view(
    variant: str | Variant, *, body: Body, step_deg: float = FRAME_DEG
) -> SideView:
    """Place all that is drawn of a lift from the side, frame by frame.

    Parameters
    ----------
    variant : str or Variant
        One that is modelled.
    body : Body
        Whose.
    step_deg : float
        From frame to frame of the joint's grid. [deg]

    Returns
    -------
    view : SideView
        Lines in metres of the room, facing right.
    """
    chosen = find_variant(variant)
    model, joint = chosen.model, chosen.model.joint
    angle = np.arange(joint.grid_deg[0], joint.grid_deg[1] + step_deg / 2, step_deg)
    anatomy, posture = joint_model(joint), _placed(model, angle, body)
    near, centre, hand = _ends(posture)
    names = [link.segments[0] for link in model.chain.links]
    bones = tuple(name.replace("_", " ") for name in names)
    foot, held, end = _line_of_pull(model, anatomy, angle, posture, body)
    lines: Lines = {bones[0]: (near, centre), bones[1]: (centre, hand)}
    if model.chain.pushes:
        along, _ = _axes(posture.tilts_rad[1])
        bones += ("heel",)
        lines["heel"] = (centre, centre + _HEEL_FRAC * body.length_m[names[1]] * along)
        lines["thigh"] = (near + _up(model) * body.length_m["thigh"], near)
    lines["line of pull"] = (foot, held, end)
    lines["moment arm of the load"] = (centre, foot)
    if isinstance(model.resistance, Anchored):
        lines["cable"] = (held, end)
    muscles = _muscles(chosen, anatomy, angle, posture, body)
    main = muscles[muscles["muscle"] == joint.main_muscle]
    feet = main.loc[main["order"] == 1, ["x_m", "y_m"]].to_numpy()
    lines["moment arm of the muscle"] = (centre, feet)
    keys = {joint.column: angle}
    arms = {
        "load_arm_m": np.linalg.norm(foot - centre, axis=-1),
        "muscle_arm_m": np.linalg.norm(feet - centre, axis=-1),
    }
    moving = [_rows(part, points, keys) for part, points in lines.items()]
    return SideView(
        fixed=pd.DataFrame(_fixed(model, chosen.stance, body)),
        moving=pd.concat(moving, ignore_index=True),
        muscles=muscles,
        arms=pd.DataFrame(keys | arms),
        bones=bones,
        seen_from="ball of the foot" if model.chain.pushes else "hips",
        pull="the ground's push" if model.chain.pushes else "the load's pull",
        ring_m=_RING_M.get(chosen.implement, 0.02),
    )


def _placed(model: Mechanics, angle: Floats, body: Body) -> Placed:
    """Place the links in the room; who pushes stands with the load's end on a block."""
    links = linkage(model.chain, body)
    angles_deg = (model.shoulder_deg(angle), angle)
    tilts = tilts_rad(links, angles_deg, trunk_deg=model.trunk_deg)
    posture = place(tilts, links, root=root_m(model, body))
    if model.chain.pushes:
        x, y = posture.grip_m()
        root = (posture.root[0] - x, posture.root[1] - y + _BLOCK_M)
        posture = place(tilts, links, root=root)
    return posture


def _ends(posture: Placed) -> tuple[Floats, Floats, Floats]:
    """Near joint, lead joint, and where the last link ends."""
    hand = np.stack(posture.grip_m(), axis=-1)
    beyond = np.stack([posture.ahead_m[-1], posture.above_m()[-1]], axis=-1)
    near = np.stack(np.broadcast_arrays(*posture.root, hand[:, 0])[:2], axis=-1)
    return near, hand - beyond, hand


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
    model: Mechanics,
    anatomy: JointModel,
    angle: Floats,
    posture: Placed,
    body: Body,
) -> tuple[Floats, Floats, Floats]:
    """Foot of the load's moment arm, where the load acts, and where the line ends."""
    pull, (_, centre, hand) = model.resistance, _ends(posture)
    if isinstance(pull, Constant | Cam):  # moment arm tabled: square to the last link
        along, front = _axes(posture.tilts_rad[1])
        (arm_m, *_), _ = anatomy.asked(angle, model=model, body=body)
        foot = centre + np.asarray(arm_m)[:, None] * along
        return foot, foot, foot - posture.links.signs[1] * _PULL_M * front
    if not isinstance(pull, Anchored):
        foot = np.stack([hand[:, 0], centre[:, 1]], axis=-1)
        way = 1 if model.chain.pushes else -1
        return foot, hand, hand + np.array([0.0, way * _PULL_M])
    anchor = np.array([pull.anchor_forward_m, pull.anchor_height_m])
    unit = (anchor - hand) / np.linalg.norm(anchor - hand, axis=-1, keepdims=True)
    along_m = np.sum((centre - hand) * unit, axis=-1, keepdims=True)
    return hand + along_m * unit, hand, np.broadcast_to(anchor, hand.shape)


def _muscles(
    variant: Variant,
    anatomy: JointModel,
    angle: Floats,
    posture: Placed,
    body: Body,
) -> pd.DataFrame:
    """Origin, foot of the moment arm, and insertion of each muscle.

    The line of pull runs from the insertion as a tangent to the circle about the joint
    whose radius is the moment arm, on the side from which it lifts.
    """
    model, column = variant.model, variant.model.joint.column
    work = anatomy.muscle_work(
        angle,
        shoulder_deg=model.shoulder_deg(angle),
        rotation_deg=model.rotation_deg,
    ).set_index("muscle")
    near, centre, _ = _ends(posture)
    sign = posture.links.signs[1]
    (along_near, front_near), (along, front) = map(_axes, posture.tilts_rad)
    near_m, last_m = (body.length_m[link.segments[0]] for link in model.chain.links)
    parts = []
    for name, arm_m in anatomy.muscle_arms_m(angle, model=model).items():
        at = muscle_ends().loc[(model.joint.joint, name)]
        origin = near + at["origin_frac"] * near_m * along_near
        origin = origin + sign * at["origin_m"] * front_near
        out = at["insertion_frac"] * last_m * along + sign * at["insertion_m"] * front
        out_m = np.linalg.norm(out, axis=-1, keepdims=True)
        towards = out / out_m
        # Moment arms are of one size: the end stays outside them on small bodies too.
        out_m = np.maximum(out_m, 1.02 * np.nanmax(np.abs(arm_m)))
        cosine = arm_m[:, None] / out_m
        square = sign * np.stack([-towards[:, 1], towards[:, 0]], axis=-1)
        foot = centre + arm_m[:, None] * (
            cosine * towards + np.sqrt(1 - cosine**2) * square
        )
        own = work.loc[name]
        keys = {key: own[key].to_numpy() for key in (column, *_LENGTH)}
        parts.append(_rows(name, (origin, foot, centre + out_m * towards), keys))
    return pd.concat(parts, ignore_index=True).rename(columns={"part": "muscle"})


@cache
def muscle_ends() -> pd.DataFrame:
    """Read where drawn muscles begin and end, by joint and muscle.

    Returns
    -------
    ends : DataFrame
        ``origin_frac, origin_m`` on the link before the joint, ``insertion_frac,
        insertion_m`` on the one behind it; see the file.
    """
    path = files("analytics.mechanics") / "data" / "muscle_ends.csv"
    with path.open(encoding="utf-8") as file:
        return pd.read_csv(file, comment="#").set_index(["joint", "muscle"])


def _axes(tilt: Floats) -> tuple[Floats, Floats]:
    """Directions along a link and forward of it when it hangs."""
    sine, cosine = np.sin(tilt), np.cos(tilt)
    return np.stack([sine, -cosine], axis=-1), np.stack([cosine, sine], axis=-1)


def _up(model: Mechanics) -> Floats:
    """Direction up the trunk, or up the thigh where that stands in for it."""
    tilt = np.deg2rad(model.trunk_deg)
    return np.array([np.sin(tilt), np.cos(tilt)])


def _fixed(model: Mechanics, stance: str, body: Body) -> Iterator[dict[str, object]]:
    """Trunk, head, legs, support and anchor, one dict a point."""
    if model.chain.pushes:
        at = {"pad": [np.array([-0.06, 0.08]), np.array([0.07, 0.08])]}
        yield from _points(at)
        return
    up, size = _up(model), body.length_m
    front = np.array([up[1], -up[0]])
    carried = model.chain.links[0].joint == "shoulder"
    root = np.array(root_m(model, body), dtype=float)
    hip = root - size["trunk"] * up * carried
    shoulder = hip + size["trunk"] * up
    lines = {"trunk": [hip, shoulder], "head": [shoulder + 0.19 * up]}
    if carried:
        lines["legs"] = _legs(stance, hip, up, body)
    if model.support == "bench" and stance in ("seated", "prone"):
        side = 0.1 if stance == "prone" else -0.1
        lines["bench"] = [
            hip - 0.05 * up + side * front,
            shoulder + 0.1 * up + side * front,
        ]
    if model.support == "pad":
        along, over = (x[0] for x in _axes(np.deg2rad(model.arm_deg([0.0]))))
        start, end = (shoulder + s * size["upper_arm"] * along for s in (0.3, 1.1))
        lines["pad"] = [start - 0.055 * over, end - 0.055 * over]
    if isinstance(model.resistance, Anchored):
        pull = model.resistance
        lines["anchor"] = [np.array([pull.anchor_forward_m, pull.anchor_height_m])]
    yield from _points(lines)


def _legs(stance: str, hip: Floats, up: Floats, body: Body) -> list[Floats]:
    """Legs of somebody whose arms lift: upright, bent to a seat, or along the trunk."""
    knee = hip + np.array([body.length_m["thigh"], 0.0])
    if stance == "seated":
        return [hip, knee, knee * [1, 0]]
    if stance == "prone":
        return [hip, hip - up * hip[1] / up[1]]
    return [hip, hip * [1, 0]]


def _points(lines: dict[str, list[Floats]]) -> Iterator[dict[str, object]]:
    for part, points in lines.items():
        for order, (x, y) in enumerate(points):
            yield {"part": part, "order": order, "x_m": x, "y_m": y}
