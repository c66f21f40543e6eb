"""Demand against textbook examples, segment tables and a general physics engine."""

import mujoco
import numpy as np
import pytest

from analytics.catalogue import Resistance, load_catalogue, make_resistance
from analytics.errors import InputError
from analytics.mechanics import Body, demand, make_body
from analytics.mechanics.elbow import asked

STANDING = load_catalogue().variants["standing_barbell_curl"]
GRAVITY = 9.80665


def fixed_arm(arm_deg: float, resistance: Resistance, trunk_deg: float = 0.0):
    """A variant whose upper arm is held at an angle from hanging."""
    shoulder = arm_deg + trunk_deg
    return STANDING.bent(
        path=((0.0, shoulder), (140.0, shoulder)),
        trunk_deg=trunk_deg,
        resistance=resistance,
    )


def bare_body(*, grip_m: float, forearm_kg: float = 0.0, com_m: float = 0.0) -> Body:
    """A forearm of given length and mass without a hand."""
    return Body(
        mass_kg=75,
        stature_m=1.75,
        sex=None,
        length_m={
            "forearm": grip_m,
            "hand": 0.0,
            "upper_arm": 0.3,
            "hip_height": 0.9,
            "trunk": 0.5,
        },
        segment_kg={"upper_arm": 0.0, "forearm": forearm_kg, "hand": 0.0},
        com_frac={"upper_arm": 0.0, "forearm": com_m / grip_m, "hand": 0.0},
    )


GRAVITY_PULL = make_resistance(kind="gravity")


@pytest.mark.published
def test_textbook_forearm_with_a_book_needs_470_newtons_of_biceps():
    # OpenStax College Physics, example 9.4 (m42175): g 9.80 m/s2, forearm 2.50 kg at
    # 0.160 m, book 4.00 kg at 0.380 m, biceps at 0.0400 m, forearm level: 470 N.
    body = bare_body(grip_m=0.380, forearm_kg=2.50, com_m=0.160)
    moment = demand(90, variant=fixed_arm(0, GRAVITY_PULL), load_kg=4.00, body=body)
    biceps_n = moment * (9.80 / GRAVITY) / 0.0400
    assert round(float(biceps_n), -1) == 470
    # The same page: 7.38 times the supported weight, 63.7 N.
    np.testing.assert_allclose(biceps_n / 63.7, 7.38, atol=0.006)


@pytest.mark.published
def test_textbook_lowered_forearm_leaves_a_vertical_muscle_force_unchanged():
    # The same source's 120 degree problem; with muscle and weights vertical all
    # moment arms shrink alike, so the force stays 470 N.
    body = bare_body(grip_m=0.380, forearm_kg=2.50, com_m=0.160)
    moment = demand(60, variant=fixed_arm(0, GRAVITY_PULL), load_kg=4.00, body=body)
    vertical_arm_m = 0.0400 * np.sin(np.deg2rad(60))
    assert round(float(moment * (9.80 / GRAVITY) / vertical_arm_m), -1) == 470


@pytest.mark.published
def test_textbook_muscle_tension_does_not_depend_on_the_angle():
    # OpenStax University Physics 1, example 12.4: 50.0 lb (222.4 N) at 13.0 in,
    # muscle 1.5 in from the elbow, both vertical, weightless forearm: T = 1927 N.
    body = bare_body(grip_m=13.0 * 0.0254)
    for elbow in (60, 90, 120):
        moment = demand(
            elbow,
            variant=fixed_arm(0, GRAVITY_PULL),
            load_kg=222.4 / GRAVITY,
            body=body,
        )
        tension_n = moment / (1.5 * 0.0254 * np.sin(np.deg2rad(elbow)))
        assert round(float(tension_n)) == 1927


@pytest.mark.published
def test_pooled_segment_table_gives_the_tabled_forearm_and_hand():
    # Winter: forearm and hand together 0.022 of body mass at 0.682 of the forearm;
    # from the parts 0.687, the table's own rounding.
    body = make_body(body_mass_kg=75, stature_m=1.75)
    mass = body.segment_kg["forearm"] + body.segment_kg["hand"]
    np.testing.assert_allclose(mass, 0.022 * 75, rtol=1e-12)
    centre = body.forearm_and_hand_kg_m / mass / body.length_m["forearm"]
    np.testing.assert_allclose(centre, 0.682, atol=0.006)
    np.testing.assert_allclose(body.grip_m, 0.3511, atol=5e-5)


@pytest.mark.published
@pytest.mark.parametrize(
    ("sex", "total"),
    # de Leva 1996 sums to 1.0000 (men) and 0.9999 (women) over the printed digits.
    [("male", 1.0000), ("female", 0.9999), (None, 1.0000)],
)
def test_segment_masses_add_up_to_the_body(sex, total):
    body = make_body(body_mass_kg=100.0, sex=sex)
    twice = ("hand", "forearm", "upper_arm", "foot", "shank", "thigh")
    whole = sum(2 * body.segment_kg[name] for name in twice)
    whole += body.segment_kg["head_neck"] + body.segment_kg["trunk"]
    np.testing.assert_allclose(whole / 100, total, atol=5e-5)


def test_womens_and_mens_tables_and_a_measured_forearm_change_the_demand():
    moments = {
        sex: float(
            demand(
                90,
                variant=fixed_arm(0, GRAVITY_PULL),
                load_kg=0,
                body=make_body(sex=sex),
            )
        )
        for sex in ("female", "male")
    }
    assert moments["female"] < moments["male"]
    longer = make_body(forearm_m=0.30)
    assert longer.grip_m > make_body().grip_m


def arm_in_mujoco(body: Body) -> mujoco.MjModel:
    """Upper arm, forearm, hand and load; a tendon from the grip to a pulley."""
    length, com = body.length_m, body.com_frac
    hand_m = length["forearm"] + length["hand"] * com["hand"]
    tiny = 'diaginertia="1e-9 1e-9 1e-9"'
    return mujoco.MjModel.from_xml_string(
        f"""
<mujoco>
  <option gravity="0 0 -{GRAVITY}"/>
  <worldbody>
    <body name="pulley" mocap="true"><site name="pulley"/></body>
    <body name="upper_arm">
      <joint name="shoulder" axis="0 -1 0"/>
      <inertial pos="0 0 -{length["upper_arm"] * com["upper_arm"]}"
                mass="{body.segment_kg["upper_arm"]}" {tiny}/>
      <body name="forearm" pos="0 0 -{length["upper_arm"]}">
        <joint name="elbow" axis="0 -1 0"/>
        <inertial pos="0 0 -{length["forearm"] * com["forearm"]}"
                  mass="{body.segment_kg["forearm"]}" {tiny}/>
        <body pos="0 0 -{hand_m}">
          <inertial pos="0 0 0" mass="{body.segment_kg["hand"]}" {tiny}/>
        </body>
        <body name="load" pos="0 0 -{body.grip_m}">
          <inertial pos="0 0 0" mass="1" {tiny}/>
          <site name="grip"/>
        </body>
      </body>
    </body>
  </worldbody>
  <tendon>
    <spatial name="cable"><site site="grip"/><site site="pulley"/></spatial>
  </tendon>
  <actuator><motor tendon="cable"/></actuator>
</mujoco>"""
    )


def moments(model, data, *, arm_deg, elbow_deg, load_kg, pulley=None, pull_n=0.0):
    """Moments elbow and shoulder must give for equilibrium, by the physics engine."""
    model.body_mass[model.body("load").id] = load_kg
    data.qpos[:] = np.deg2rad([arm_deg, elbow_deg])
    data.qvel[:] = 0
    data.ctrl[:] = -pull_n
    if pulley is not None:
        data.mocap_pos[0] = [pulley[0], 0, pulley[1]]
    mujoco.mj_forward(model, data)
    return (data.qfrc_bias - data.qfrc_actuator)[::-1].copy()


def our_moments(elbow_deg, *, variant, load_kg, body):
    """The same of the chain, elbow and shoulder."""
    load_arm_m, own_nm = asked(elbow_deg, model=variant.model, body=body)
    ours = load_kg * GRAVITY * np.array(load_arm_m) + np.array(own_nm)
    np.testing.assert_allclose(
        demand(elbow_deg, variant=variant, load_kg=load_kg, body=body), ours[0]
    )
    return ours


@pytest.mark.external
@pytest.mark.parametrize("sex", [None, "female", "male"])
def test_gravity_moments_match_a_physics_engine_on_random_postures(sex):
    # MuJoCo 3, mj_forward at rest; 1,000 postures over the three bodies.
    body = make_body(body_mass_kg=68, stature_m=1.71, sex=sex)
    model = arm_in_mujoco(body)
    data = mujoco.MjData(model)
    random = np.random.default_rng(11)
    for _ in range(334):
        arm, elbow = random.uniform(-60, 105), random.uniform(0, 140)
        load = random.uniform(0.5, 40)
        theirs = moments(model, data, arm_deg=arm, elbow_deg=elbow, load_kg=load)
        ours = our_moments(
            elbow, variant=fixed_arm(arm, GRAVITY_PULL), load_kg=load, body=body
        )
        np.testing.assert_allclose(ours, theirs, rtol=1e-9, atol=1e-9)


@pytest.mark.external
@pytest.mark.parametrize("kind", ["cable", "band"])
def test_cable_and_band_moments_match_a_physics_engine_on_random_postures(kind):
    # MuJoCo 3, a spatial tendon from grip to pulley pulled with the same force.
    body = make_body(body_mass_kg=82, stature_m=1.83, sex="male")
    model = arm_in_mujoco(body)
    data = mujoco.MjData(model)
    random = np.random.default_rng(12)
    for _ in range(1000):
        arm, elbow, trunk = random.uniform((-60, 0, -40), (105, 140, 40))
        forward, height, load = random.uniform((-2, 0, 1), (2, 2.4, 40))
        slack, ratio = random.uniform(0.3, 1.5), random.choice([0.5, 1.0, 2.0])
        variant = fixed_arm(
            arm,
            make_resistance(
                kind=kind,
                anchor_forward_m=forward,
                anchor_height_m=height,
                **({"slack_m": slack} if kind == "band" else {"pulley_ratio": ratio}),
            ),
            trunk_deg=trunk,
        )
        # The pulley stays in the room, the shoulder moves with the trunk.
        lean, trunk_m = np.deg2rad(trunk), body.length_m["trunk"]
        shoulder_m = body.length_m["hip_height"] + trunk_m * np.cos(lean)
        pulley = (forward - trunk_m * np.sin(lean), height - shoulder_m)
        pull = load * GRAVITY * (ratio if kind == "cable" else 1)
        at_rest = moments(
            model, data, arm_deg=arm, elbow_deg=elbow, load_kg=0, pulley=pulley
        )
        if kind == "band":
            # Rated at twice the slack length, straight in between, nil when slack.
            pull *= max(data.ten_length[0] / slack - 1, 0)
        theirs = moments(
            model,
            data,
            arm_deg=arm,
            elbow_deg=elbow,
            load_kg=0,
            pulley=pulley,
            pull_n=pull,
        )
        ours = our_moments(elbow, variant=variant, load_kg=load, body=body)
        np.testing.assert_allclose(
            ours, theirs, rtol=1e-9, atol=1e-9 * np.abs(theirs - at_rest).max() + 1e-9
        )


@pytest.mark.analytic
def test_constant_and_cam_machines_ask_for_their_tabled_load_arms():
    body = bare_body(grip_m=0.35)
    constant = fixed_arm(30, make_resistance(kind="constant", load_arm_m=0.25))
    np.testing.assert_allclose(
        demand([10, 70, 130], variant=constant, load_kg=10, body=body),
        10 * GRAVITY * 0.25,
    )
    cam = fixed_arm(
        30, make_resistance(kind="cam", table=((0, 0.1), (60, 0.3), (140, 0.2)))
    )
    np.testing.assert_allclose(
        demand([30, 60, 100], variant=cam, load_kg=10, body=body),
        10 * GRAVITY * np.array([0.2, 0.3, 0.25]),
    )


@pytest.mark.analytic
def test_a_band_follows_its_table_where_one_is_given():
    # Arm hanging, elbow 90, anchor straight below the grip: moment arm is grip length
    # times tension. Shoulder 1.4 m, elbow 1.1 m, anchor at 0.5 m: length 0.6 m,
    # elongation 1.0 of a slack length of 0.3 m; the table says 0.8 of rated there.
    body = bare_body(grip_m=0.35)
    band = make_resistance(
        kind="band",
        anchor_forward_m=0.35,
        anchor_height_m=0.5,
        slack_m=0.3,
        table=((0.0, 0.0), (0.5, 0.6), (1.5, 1.0)),
    )
    moment = demand(90, variant=fixed_arm(0, band), load_kg=5, body=body)
    np.testing.assert_allclose(moment, 5 * GRAVITY * 0.35 * 0.8)


@pytest.mark.analytic
def test_demand_doubles_with_the_load_and_broadcasts():
    body = bare_body(grip_m=0.35)
    variant = fixed_arm(0, GRAVITY_PULL)
    one = demand([[30.0], [90.0]], variant=variant, load_kg=[5.0, 10.0], body=body)
    assert one.shape == (2, 2)
    np.testing.assert_allclose(one[:, 1], 2 * one[:, 0])


def test_demand_is_nan_outside_the_elbow_range():
    moment = demand([-1, 90, 150, np.nan], variant="hammer_curl", load_kg=5)
    assert np.isnan(moment).tolist() == [True, False, True, True]


def test_bad_sizes_loads_and_variants_are_refused_with_what_exists():
    with pytest.raises(InputError, match=r"stature_m must be from 0.9 to 2.6, got 175"):
        make_body(stature_m=175)
    with pytest.raises(InputError, match=r"stature_m must be from 0.9 to 2.6, got -1"):
        make_body(stature_m=-1)
    with pytest.raises(InputError, match=r"forearm_m must be from 0.1 to 0.5, got 0"):
        make_body(forearm_m=0)
    with pytest.raises(InputError, match="there are: female, male"):
        make_body(sex="x")
    with pytest.raises(InputError, match="load_kg must be 0 or more, got -2"):
        demand(90, variant="hammer_curl", load_kg=-2)
    with pytest.raises(InputError, match="there are: standing_barbell_curl"):
        demand(90, variant="hamer_curl", load_kg=2)
    with pytest.raises(InputError, match="logged, not modelled"):
        demand(90, variant="chin_up", load_kg=2)


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"kind": "rope"}, "gravity, cable, band, constant, cam"),
        ({"kind": "cable", "anchor_forward_m": 0.5}, "`anchor_height_m` is missing"),
        (
            {"kind": "cable", "anchor_forward_m": 0.5, "anchor_height_m": -1.0},
            "`anchor_height_m` = -1.0: expected a number from 0",
        ),
        ({"kind": "constant", "load_arm_m": -0.3}, "= -0.3: expected a number from 0"),
        ({"kind": "cam", "table": ((90.0, 0.2), (30.0, 0.3))}, "rising first numbers"),
    ],
)
def test_a_resistance_that_cannot_pull_is_refused_in_one_line(given, words):
    with pytest.raises(InputError, match=words) as error:
        make_resistance(**given)
    assert "\n" not in str(error.value)
