"""The planar chain: shoulder beside elbow, reactions, equipment."""

import mujoco
import numpy as np
import pytest

from analytics.catalogue import load_catalogue, make_resistance, moving_mass_kg
from analytics.errors import InputError
from analytics.mechanics import make_body
from analytics.mechanics.chain.linkage import linkage, own_moments, place
from analytics.mechanics.chain.reactions import centre_of_pressure_m, root_reaction
from analytics.mechanics.chain.rows import Rows, limit_load
from analytics.mechanics.elbow import asked, capability, drawn
from analytics.mechanics.elbow.muscles import JOINT
from analytics.mechanics.joints import posture_rows
from analytics.mechanics.maximum import drawn_limits
from analytics.mechanics.weighing import weighed_draws

CATALOGUE = load_catalogue()
VARIANTS = CATALOGUE.variants
# Of the joint whose muscles are known one by one; the others have tests of their own.
MODELLED = [VARIANTS[name] for name in CATALOGUE.modelled]
MODELLED = [variant for variant in MODELLED if variant.movement == "elbow_flexion"]
BODY = make_body()
GRAVITY = 9.80665
NOTHING_FREE = {"drift_deg": (0.0, 0.0), "lean_deg": (0.0, 0.0)}


def held(variant):
    """The variant with its upper arm held, as if the shoulder had no row."""
    return variant.bent(holds=("shoulder",), hangs_on_grip=False, **NOTHING_FREE)


@pytest.mark.analytic
@pytest.mark.parametrize("variant", MODELLED, ids=lambda v: v.variant)
def test_with_the_shoulder_held_the_limit_is_strength_less_own_weight_over_load_arm(
    variant,
):
    # The one-joint closed form: r sin of the forearm's angle for a weight; the pulley's
    # or anchor's moment arm by the cosine rule, each independent of the chain's code.
    model = held(variant).model
    elbow = np.arange(model.range_from_deg, model.range_to_deg + 1)
    arm = np.deg2rad(model.arm_deg(elbow))
    forearm, pull, kind = (
        arm + np.deg2rad(elbow),
        model.resistance,
        model.resistance.kind,
    )
    upper, grip = BODY.length_m["upper_arm"], BODY.grip_m
    load_arm = grip * np.sin(forearm)
    if kind != "gravity":
        shoulder = BODY.length_m["hip_height"] + BODY.length_m["trunk"]
        x = pull.anchor_forward_m - upper * np.sin(arm)
        y = pull.anchor_height_m - shoulder + upper * np.cos(arm)
        hand_x, hand_y = grip * np.sin(forearm), -grip * np.cos(forearm)
        length = np.hypot(x - hand_x, y - hand_y)
        tension = 1 if kind == "cable" else np.maximum(length / pull.slack_m - 1, 0)
        load_arm = (hand_y * x - hand_x * y) / length * tension
    own = GRAVITY * BODY.forearm_and_hand_kg_m * np.sin(forearm)
    for muscles in JOINT.muscle_sets:
        strength = capability(
            elbow,
            shoulder_deg=model.shoulder_deg(elbow),
            rotation_deg=model.rotation_deg,
            muscles=muscles,
        )
        possible = np.full_like(elbow, np.inf)
        np.divide(
            strength - own, GRAVITY * load_arm, out=possible, where=load_arm > 1e-3
        )
        rows = posture_rows(
            elbow, model=model, body=BODY, muscles=muscles, curve="thelen"
        )
        load, where, joint = limit_load(rows, rows.largest())
        np.testing.assert_allclose(load, possible.min(), rtol=1e-9)
        assert where == np.argmin(possible)
        assert joint == 0
        np.testing.assert_allclose(
            rows.utilisation(load),
            np.maximum(load * GRAVITY * load_arm + own, 0) / strength,
            rtol=1e-9,
            atol=1e-12,
        )


# Before the shoulder had a row: limit load in kg, sticking angle in degrees, evenness,
# with a strength of 40 + 30 sin(elbow) N m at every posture, over each variant's range.
FROZEN = {
    "standing_barbell_curl": (19.3898792, 80, 0.628816627),
    "standing_dumbbell_curl": (19.3898792, 80, 0.628816627),
    "one_arm_dumbbell_curl": (19.3898792, 80, 0.628816627),
    "no_lockout_curl": (19.3898792, 80, 0.828996941),
    "preacher_curl_0": (19.5029966, 90, 0.877647093),
    "preacher_curl_30": (17.4880856, 38, 0.848725279),
    "preacher_curl_45": (15.2794514, 20, 0.695608731),
    "preacher_curl_60": (13.9957133, 20, 0.549821904),
    "preacher_curl_90": (14.7072857, 20, 0.340002202),
    "incline_curl_45": (19.4600241, 83, 0.751430737),
    "incline_curl_60": (19.4600241, 83, 0.751430737),
    "concentration_curl": (19.2721193, 73, 0.848758117),
    "prone_incline_curl": (19.5029966, 90, 0.773359116),
    "low_cable_curl": (19.5069616, 91, 0.595493947),
    "behind_cable_curl": (18.7838192, 54, 0.842862447),
    "high_cable_curl": (20.1639839, 79, 0.79156445),
    "hammer_curl": (19.3898792, 80, 0.628816627),
    "reverse_curl": (19.3898792, 80, 0.628816627),
    "band_curl": (20.9249087, 98, 0.591488634),
}


@pytest.mark.frozen
def test_geometry_and_limits_of_every_variant_are_those_of_before():
    for name, (load_kg, angle_deg, evenness) in FROZEN.items():
        model = held(VARIANTS[name]).model
        elbow = np.arange(model.range_from_deg, model.range_to_deg + 1)
        load_arm, own = asked(elbow, model=model, body=BODY)
        strength = (40 + 30 * np.sin(np.deg2rad(elbow)),)
        rows = Rows(
            joints=model.free,
            load_arm_m=load_arm[:1],
            own_nm=own[:1],
            least_nm=(-np.inf,),
            most_nm=strength,
        )
        load, where, _ = limit_load(rows, rows.largest())
        used = rows.utilisation(load).mean()
        np.testing.assert_allclose(used, evenness, rtol=1e-6)
        np.testing.assert_allclose(load, load_kg, rtol=1e-6)
        assert elbow[where] == angle_deg


def test_a_free_shoulder_never_adds_load_and_limits_where_it_is_weak():
    # People as measured: of those drawn freely some cannot hold their own forearm.
    draws = weighed_draws(600, joint=JOINT, seed=5)
    arm = drawn(draws, body=BODY)
    for name in ("standing_barbell_curl", "incline_curl_45", "high_cable_curl"):
        free = VARIANTS[name].bent(**NOTHING_FREE)
        span = free.model.range_deg
        loads = {
            variant.model.holds: drawn_limits(arm, [(variant, span)], details=False)[
                name, span
            ]
            for variant in (free, held(VARIANTS[name]))
        }
        both, alone = loads[()], loads["shoulder",]
        assert not np.any(both.held_kg > alone.held_kg + 1e-6 * np.abs(alone.held_kg))
        lower = both.held_kg < alone.held_kg - 1e-4 * np.abs(alone.held_kg)
        known = np.isfinite(both.held_kg)  # one arm is too weak for its own weight
        np.testing.assert_array_equal(lower[known], both.joint[known] > 0)
        assert 0.02 < lower.mean() < 0.6


@pytest.mark.external
def test_the_root_carries_what_a_physics_engine_says():
    # MuJoCo 3: force and moment between trunk and upper arm, from the sensors of the
    # site at the shoulder, for a dumbbell at rest; 100 postures.
    links = linkage(CATALOGUE.chains["arm"], BODY)
    upper, fore = (
        (m, f / m, length)
        for m, f, length in zip(
            links.mass_kg, links.first_kg_m, links.length_m, strict=True
        )
    )
    model = mujoco.MjModel.from_xml_string(f"""
<mujoco><option gravity="0 0 -{GRAVITY}"/><worldbody>
<body name="trunk"><inertial pos="0 0 0" mass="1" diaginertia="1 1 1"/>
<body><site name="root"/><joint axis="0 -1 0"/>
<inertial pos="0 0 {-upper[1]}" mass="{upper[0]}" diaginertia="1e-9 1e-9 1e-9"/>
<body pos="0 0 {-upper[2]}"><joint axis="0 -1 0"/>
<inertial pos="0 0 {-fore[1]}" mass="{fore[0]}" diaginertia="1e-9 1e-9 1e-9"/>
<body name="load" pos="0 0 {-fore[2]}">
<inertial pos="0 0 0" mass="1" diaginertia="1e-9 1e-9 1e-9"/></body>
</body></body></body></worldbody>
<sensor><force site="root"/></sensor></mujoco>""")
    data, rng = mujoco.MjData(model), np.random.default_rng(9)
    for _ in range(100):
        arm, elbow, load = rng.uniform((-45, 0, 0.5), (90, 140, 30))
        variant = VARIANTS["standing_dumbbell_curl"].bent(path=((0, arm), (140, arm)))
        model.body_mass[model.body("load").id] = load
        data.qpos[:] = np.deg2rad([arm, elbow])
        mujoco.mj_inverse(model, data)
        _, up, moment = root_reaction(elbow, variant=variant, load_kg=load, body=BODY)
        np.testing.assert_allclose(moment, data.qfrc_inverse[0], rtol=1e-9)
        np.testing.assert_allclose(up, (sum(links.mass_kg) + load) * GRAVITY)


@pytest.mark.analytic
def test_the_centre_of_pressure_is_the_centre_of_mass_and_a_cable_tips():
    variant = VARIANTS["standing_barbell_curl"]
    natural = 0.0286 * BODY.stature_m  # stance table
    hanging = centre_of_pressure_m(0, variant=variant, load_kg=0, body=BODY)
    np.testing.assert_allclose(hanging, natural, rtol=1e-9)
    elbow, load = np.array([0.0, 45.0, 90.0]), 20.0
    links = linkage(variant.model.chain, BODY)
    pressed = centre_of_pressure_m(elbow, variant=variant, load_kg=load, body=BODY)
    forearms = 2 * links.first_kg_m[1] * np.sin(np.deg2rad(elbow))
    x = variant.model.arm_deg(elbow)
    placed = place((np.deg2rad(x), np.deg2rad(x + elbow)), links, root=(0.0, 0.0))
    arms = 2 * own_moments(placed)[0] / GRAVITY
    bar = 2 * load * (placed.ahead_m[0] + natural)
    expected = (BODY.mass_kg * natural + arms + bar) / (BODY.mass_kg + 2 * load)
    np.testing.assert_allclose(pressed, expected, rtol=1e-9)
    np.testing.assert_allclose(arms[0], forearms[0], atol=1e-9)
    assert np.all(np.diff(pressed) > 0)  # the load moves away
    front = VARIANTS["low_cable_curl"]
    behind = VARIANTS["behind_cable_curl"]
    at = {
        v.variant: centre_of_pressure_m(60, variant=v, load_kg=15, body=BODY)
        for v in (front, behind)
    }
    assert at["low_cable_curl"] > natural > at["behind_cable_curl"]
    with pytest.raises(InputError, match="does not stand"):
        centre_of_pressure_m(
            60, variant=VARIANTS["preacher_curl_45"], load_kg=5, body=BODY
        )


@pytest.mark.analytic
def test_a_stack_on_two_strands_pulls_half_and_moves_a_quarter_of_its_mass():
    straight = VARIANTS["low_cable_curl"]
    halved = straight.bent(
        resistance=make_resistance(
            kind="cable", anchor_forward_m=0.5, anchor_height_m=0.1, pulley_ratio=0.5
        )
    )
    one, two = (
        posture_rows(
            np.arange(30.0, 111),
            model=v.model,
            body=BODY,
            muscles="printed",
            curve="thelen",
        )
        .largest()
        .load
        for v in (straight, halved)
    )
    np.testing.assert_allclose(two, 2 * one)
    # Energy: the plates' half speed squared.
    assert moving_mass_kg(halved.model.resistance, 40) == 10
    assert moving_mass_kg(straight.model.resistance, 40) == 40
    assert moving_mass_kg(make_resistance(kind="gravity"), 40) == 40
    assert moving_mass_kg(VARIANTS["band_curl"].model.resistance, 40) == 0


@pytest.mark.analytic
def test_an_anchor_stays_in_the_room_when_the_trunk_leans():
    variant = VARIANTS["low_cable_curl"]
    trunk, hip = BODY.length_m["trunk"], BODY.length_m["hip_height"]
    lean = np.deg2rad(20)
    leaning = variant.bent(trunk_deg=20, path=((0, 20), (140, 20)))
    upright = variant.bent(
        path=((0, 0), (140, 0)),
        resistance=make_resistance(
            kind="cable",
            anchor_forward_m=0.5 - trunk * np.sin(lean),
            anchor_height_m=0.1 + trunk * (1 - np.cos(lean)),
        ),
    )
    assert hip > 0.5
    ours, theirs = (
        asked(70.0, model=v.model, body=BODY)[0] for v in (leaning, upright)
    )
    np.testing.assert_allclose(ours, theirs, rtol=1e-9)
