"""What a lift is drawn from: lines that pass the joint where the model has them."""

import numpy as np
import pytest

from analytics.catalogue import Band, load_catalogue
from analytics.mechanics import make_body, side_view
from analytics.mechanics.elbow.load_arms import load_arms
from analytics.mechanics.elbow.muscles import muscle_set
from analytics.mechanics.joints import joint_model

CURL = load_catalogue().variants["standing_barbell_curl"]


@pytest.mark.analytic
def test_a_hanging_arm_bent_square_has_its_hand_straight_ahead():
    # Trunk upright, shoulder 0, elbow 90: the forearm is level, one grip's distance
    # ahead of an elbow that hangs one upper arm below the shoulder.
    body = make_body()
    still = CURL.bent(trunk_deg=0.0, path=((0.0, 0.0), (140.0, 0.0)))
    moving = side_view(still, body=body).moving
    arm = moving[moving["elbow_deg"] == 90].set_index(["part", "order"])
    hand, elbow = arm.loc[("forearm", 1)], arm.loc[("forearm", 0)]
    shoulder = arm.loc[("upper arm", 0)]
    assert hand.x_m - elbow.x_m == pytest.approx(body.grip_m)
    assert hand.y_m == pytest.approx(elbow.y_m)
    assert shoulder.y_m - elbow.y_m == pytest.approx(body.length_m["upper_arm"])


def points(rows, order):
    return rows.loc[rows["order"] == order, ["x_m", "y_m"]].to_numpy()


def joint_of(view):
    return points(view.moving[view.moving["part"] == view.bones[1]], 0)


def passes_at(rows, first, last, centre):
    start, end = points(rows, first), points(rows, last)
    way = (end - start) / np.linalg.norm(end - start, axis=1, keepdims=True)
    off = centre - start
    return np.abs(way[:, 0] * off[:, 1] - way[:, 1] * off[:, 0])


@pytest.mark.analytic
@pytest.mark.parametrize("stature_m", [1.4, 1.75, 2.1])
@pytest.mark.parametrize("variant", ["standing_barbell_curl", "high_cable_curl"])
def test_drawn_lines_of_pull_pass_the_elbow_at_the_modelled_distance(
    variant, stature_m
):
    # Distance of a line from a point: |d x (p - a)| / |d|. A weight and a cable with
    # ratio 1 have as moment arm the distance itself.
    body, setup = make_body(stature_m=stature_m), load_catalogue().variants[variant]
    view = side_view(variant, body=body)
    angle, centre = view.arms["elbow_deg"].to_numpy(), joint_of(view)
    load_arm = np.abs(load_arms(angle, model=setup.model, body=body)[0])
    pull = view.moving[view.moving["part"] == "line of pull"]
    np.testing.assert_allclose(passes_at(pull, 1, 2, centre), load_arm, atol=1e-9)
    np.testing.assert_allclose(view.arms["load_arm_m"], load_arm, atol=1e-9)
    for muscle in muscle_set("printed"):
        rows = view.muscles[view.muscles["muscle"] == muscle.name]
        arm_m = muscle.moment_arm_m(angle, setup.model.rotation_deg)
        np.testing.assert_allclose(passes_at(rows, 1, 2, centre), arm_m, atol=1e-9)


@pytest.mark.published
@pytest.mark.parametrize(
    ("variant", "muscle"),
    [
        ("cable_pushdown", "trimed"), ("overhead_bar_extension", "trilat"),
        ("leg_extension", "vas_lat"), ("cable_leg_extension", "vas_int"),
        ("standing_calf_raise", "soleus"), ("seated_calf_raise", "soleus"),
    ],
)  # fmt: skip
def test_drawn_muscles_pass_other_joints_at_the_slope_of_their_published_length(
    variant, muscle
):
    # Arm26 and Gait2392 as in `lengths_<joint>`: moment arm = change of length per rad.
    # These muscles cross one joint; central differences over 20 degrees of the printed
    # lengths, which a curve within them meets to a millimetre.
    body, model = make_body(), load_catalogue().variants[variant].model
    view, joint = side_view(variant, body=body), model.joint
    table = load_catalogue().tables[f"lengths_{joint.joint}"]
    first = table.numbers("neighbour") == table.numbers("neighbour")[0]
    flexion, length_m = table.numbers("flexion")[first], table.numbers(muscle)[first]
    slope_m = abs(length_m[2:] - length_m[:-2]) / np.deg2rad(flexion[2:] - flexion[:-2])
    angle = view.arms[joint.column].to_numpy()
    wanted = np.interp(joint.flexion_deg(angle), flexion[1:-1], slope_m)
    rows = view.muscles[view.muscles["muscle"] == muscle]
    inside = joint.flexion_deg(angle) <= flexion[-2]
    inside &= joint.flexion_deg(angle) >= flexion[1]
    drawn_m = passes_at(rows, 1, 2, joint_of(view))
    np.testing.assert_allclose(drawn_m[inside], wanted[inside], atol=1e-3)


@pytest.mark.parametrize("variant", load_catalogue().modelled)
def test_every_lift_is_drawn_with_its_load_where_the_model_has_it(variant):
    body, chosen = make_body(), load_catalogue().variants[variant]
    view, joint = side_view(variant, body=body), chosen.model.joint
    angle = view.arms[joint.column].to_numpy()
    (load_arm, *_), _ = joint_model(joint).asked(angle, model=chosen.model, body=body)
    pull = view.moving[view.moving["part"] == "line of pull"]
    ratio = getattr(chosen.model.resistance, "pulley_ratio", 1.0)
    if not isinstance(chosen.model.resistance, Band):
        drawn_m = passes_at(pull, 1, 2, joint_of(view))
        np.testing.assert_allclose(drawn_m * ratio, np.abs(load_arm), atol=1e-9)
    held = pull.loc[pull["order"] == 1, ["x_m", "y_m"]]
    assert np.isfinite(held.to_numpy()).all()
    assert (held["y_m"] > 0).all()
    assert {*joint.named_muscles} & {*view.muscles["muscle"]}
    assert view.muscles[["x_m", "y_m", "active"]].notna().all(axis=None)


@pytest.mark.analytic
def test_a_leg_hangs_from_the_hips_and_its_cable_pulls_as_far_from_the_knee():
    # Thigh level from hips at 0.6 m, shank hanging: the knee one thigh ahead, the ankle
    # one shank below it. Distance of the knee from the line to the pulley at
    # (-0.6, 0.15), worked out as twice the area of a triangle over its base.
    body, chosen = make_body(), load_catalogue().variants["cable_leg_extension"]
    knee = np.array([body.length_m["thigh"], 0.6])
    ankle = knee - [0, body.length_m["shank"]]
    base = np.array([-0.6, 0.15]) - ankle
    off = knee - ankle
    wanted_m = abs(base[0] * off[1] - base[1] * off[0]) / np.hypot(*base)
    model = joint_model(chosen.model.joint)
    (load_arm, *_), _ = model.asked([90.0], model=chosen.model, body=body)
    assert load_arm[0] == pytest.approx(wanted_m)
