"""The rep run forward in time, against MuJoCo, closed forms and energy."""

import mujoco
import numpy as np
import pytest

from analytics.catalogue import load_catalogue, make_resistance
from analytics.errors import InputError
from analytics.mechanics import dynamic_rep, make_body
from analytics.mechanics.elbow.dynamics import _activation, force_velocity
from analytics.mechanics.elbow.limb import Limb, limb_motion

VARIANTS = load_catalogue().variants
BODY = make_body()
LOAD_KG = 12.0

MODELLED = [v.variant for v in VARIANTS.values() if v.modelled]
FREE_WEIGHTS = [v for v in MODELLED if VARIANTS[v].model.resistance.kind == "gravity"]


def engine(limb: Limb, *, joints: str) -> mujoco.MjModel:
    """Upper arm without mass, forearm and load as one rigid body, gravity downward."""
    com = limb.first / limb.mass_kg
    spin = limb.inertia - limb.mass_kg * com**2
    shoulder = '<joint axis="0 -1 0"/>' if joints == "both" else ""
    elbow = '<joint axis="0 -1 0"/>'
    return mujoco.MjModel.from_xml_string(f"""
      <mujoco>
        <option timestep="0.0002" integrator="RK4" gravity="0 0 -9.80665">
          <flag contact="disable"/>
        </option>
        <worldbody><body>{shoulder}
          <inertial pos="0 0 0" mass="1e-9" diaginertia="1e-9 1e-9 1e-9"/>
          <body pos="0 0 {-limb.upper_m}">{elbow}
            <inertial pos="0 0 {-com}" mass="{limb.mass_kg}"
              diaginertia="{spin} {spin} 1e-6"/>
          </body>
        </body></worldbody>
      </mujoco>""")


@pytest.mark.external
@pytest.mark.parametrize("variant", FREE_WEIGHTS)
def test_moments_on_a_moving_upper_arm_are_those_of_the_physics_engine(variant):
    # MuJoCo 4.0 inverse dynamics: given our motion, it must ask for our elbow moment,
    # and its shoulder moment times the upper arm's rate is our shoulder power.
    limb = Limb(VARIANTS[variant], LOAD_KG, BODY)
    model = engine(limb, joints="both")
    data = mujoco.MjData(model)
    rng = np.random.default_rng(4)
    for _ in range(50):
        elbow = np.deg2rad(rng.uniform(5, 135))
        rate, moment = rng.uniform(-3, 6), rng.uniform(0, 90)
        second, power = limb.step(elbow, rate, moment)
        arm, first, bend = limb.row.at(elbow)[:3]
        data.qpos[:] = arm, elbow
        data.qvel[:] = first * rate, rate
        data.qacc[:] = first * second + bend * rate**2, second
        mujoco.mj_inverse(model, data)
        assert data.qfrc_inverse[1] == pytest.approx(moment, rel=1e-6, abs=1e-6)
        expected = data.qfrc_inverse[0] * first * rate
        assert power == pytest.approx(expected, rel=1e-6, abs=1e-6)


@pytest.mark.external
def test_a_limb_without_muscles_falls_as_in_the_physics_engine():
    # MuJoCo 4.0, RK4 at 0.2 ms, on a flat pad: the forearm past vertical falls inward.
    limb = Limb(VARIANTS["preacher_curl_90"], LOAD_KG, BODY)
    fall = limb_motion(limb, lambda t, x, v: 0.0, start_deg=95, end_deg=140)
    assert fall["elbow_deg"].iloc[-1] == pytest.approx(140)
    model = engine(limb, joints="elbow")
    data = mujoco.MjData(model)
    data.qpos[0] = np.deg2rad(90 + 95)
    reached = []
    while data.time < fall["time_s"].iloc[-1] + 0.001:
        reached.append((data.time, np.rad2deg(data.qpos[0]) - 90))
        mujoco.mj_step(model, data)
    time, elbow = np.array(reached).T
    np.testing.assert_allclose(
        np.interp(fall["time_s"], time, elbow), fall["elbow_deg"], atol=0.02
    )


@pytest.mark.analytic
def test_a_small_push_from_hanging_starts_with_moment_over_inertia():
    # At rest and hanging straight, gravity has no lever: acceleration = moment / I.
    limb = Limb(VARIANTS["concentration_curl"], 5.0, BODY)
    lean = limb.row.at(0.0)[0]  # the arm hangs 10 degrees forward here
    second, _ = limb.step(float(-lean), 0.0, 2.0)
    assert second == pytest.approx(2.0 / limb.inertia, rel=1e-9)


@pytest.mark.published
def test_forearm_and_hand_have_the_published_radius_of_gyration():
    # Winter, table 4.1, forearm and hand: 0.827 of the forearm about the elbow, with
    # 0.682 for the centre of mass and 0.468 about it (values from memory). Ours takes
    # the centre of mass from the parts, 0.687, hence 0.5 %.
    limb = Limb(VARIANTS["standing_barbell_curl"], 0.0, BODY)
    gyration = np.sqrt(limb.inertia / limb.mass_kg) / BODY.length_m["forearm"]
    assert gyration == pytest.approx(0.827, rel=0.006)


@pytest.mark.published
def test_force_velocity_is_isometric_at_rest_and_spent_at_the_greatest_velocity():
    # De Groote et al. 2016, d1..d4 = -0.318, -8.149, -0.374, 0.886: with those printed
    # digits f(0) = 1.002 and f(-1) = 0.013, worked out by hand with asinh.
    assert force_velocity(0.0) == pytest.approx(1.0, abs=0.005)
    assert force_velocity(-1.0) == pytest.approx(0.0, abs=0.015)
    assert force_velocity(-3.0) == 0
    assert np.all(np.diff(force_velocity(np.linspace(-1, 1, 50))) > 0)


@pytest.mark.analytic
@pytest.mark.parametrize("variant", MODELLED)
def test_energy_gained_is_the_work_done(variant):
    # Work of elbow and shoulder against kinetic, potential and stored energy.
    motion = dynamic_rep(variant, load_ratio=0.9).motion
    gained = motion["energy_j"] - motion["energy_j"].iloc[0]
    work = motion["elbow_work_j"] + motion["shoulder_work_j"]
    assert (gained - work).abs().max() < 1e-4 * motion["elbow_work_j"].max()


@pytest.mark.analytic
def test_a_stack_on_two_strands_pulls_half_and_holds_half_the_inertia():
    # The same motion and work as a straight pull of half the load, but for the inertia
    # of the plates: 2 m at half the speed holds half the kinetic energy of m.
    straight = VARIANTS["low_cable_curl"]
    place = {"anchor_forward_m": 0.5, "anchor_height_m": 0.1}
    pull = make_resistance(kind="cable", pulley_ratio=0.5, **place)
    halved = straight.bent(resistance=pull)
    elbow = np.deg2rad(np.arange(30.0, 110.0))
    one, two = Limb(straight, 10.0, BODY), Limb(halved, 20.0, BODY)
    np.testing.assert_allclose(two.demand_nm(elbow), one.demand_nm(elbow), rtol=1e-9)
    none = Limb(straight, 0.0, BODY).inertia_kg_m2(elbow)
    np.testing.assert_allclose(
        two.inertia_kg_m2(elbow) - none,
        (one.inertia_kg_m2(elbow) - none) / 2,
        rtol=1e-6,
    )
    motion = dynamic_rep(halved, load_ratio=0.9).motion
    gained = motion["energy_j"] - motion["energy_j"].iloc[0]
    work = motion["elbow_work_j"] + motion["shoulder_work_j"]
    assert (gained - work).abs().max() < 1e-4 * motion["elbow_work_j"].max()


@pytest.mark.analytic
def test_on_a_fixed_upper_arm_the_load_gains_the_height_it_was_raised():
    # m g h of load and forearm, plus what moves at the end; the shoulder does nothing.
    rep = dynamic_rep("preacher_curl_45", load_ratio=0.8)
    motion, span = rep.motion, np.deg2rad(45 + rep.motion["elbow_deg"].iloc[[0, -1]])
    first = rep.load_kg * BODY.grip_m + BODY.forearm_and_hand_kg_m
    raised = 9.80665 * first * -np.diff(np.cos(span))[0]
    limb = Limb(VARIANTS["preacher_curl_45"], rep.load_kg, BODY)
    moving = np.deg2rad(motion["velocity_deg_per_s"].iloc[-1])
    expected = raised + 0.5 * limb.inertia * moving**2
    assert motion["elbow_work_j"].iloc[-1] == pytest.approx(expected, rel=1e-4)
    assert motion["shoulder_work_j"].abs().max() < 1e-9


@pytest.mark.trade
def test_a_heavier_load_moves_slower_until_it_stalls():
    # Common knowledge of the trade: the last good rep slows in the middle and goes on.
    reps = [
        dynamic_rep("no_lockout_curl", load_ratio=r) for r in (0.5, 0.8, 0.95, 1.06)
    ]
    times = [rep.motion["time_s"].iloc[-1] for rep in reps[:3]]
    assert times == sorted(times)
    assert [rep.completed for rep in reps] == [True, True, True, False]
    stalled = reps[3]
    assert 30 < stalled.stalled_deg < 105
    assert np.isnan(stalled.low_deg)
    for rep in reps[1:3]:
        assert 30 < rep.peak1_deg < rep.low_deg < rep.peak2_deg <= 120


def test_where_it_is_hardest_at_the_start_there_is_no_sticking_region():
    rep = dynamic_rep("preacher_curl_45", load_ratio=0.95)
    assert rep.completed
    assert np.isnan([rep.peak1_deg, rep.low_deg, rep.peak2_deg, rep.stalled_deg]).all()
    too_heavy = dynamic_rep("preacher_curl_45", load_ratio=1.1)
    assert not too_heavy.completed
    assert too_heavy.stalled_deg == pytest.approx(too_heavy.motion["elbow_deg"].iloc[0])


def test_a_cable_that_first_helps_is_lifted_from_where_it_resists():
    motion = dynamic_rep("low_cable_curl", load_ratio=0.9).motion
    assert motion["elbow_deg"].iloc[0] > VARIANTS["low_cable_curl"].model.range_from_deg
    assert motion["demand_nm"].iloc[0] == pytest.approx(0, abs=2)
    assert motion["velocity_deg_per_s"].max() < 500


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"variant": "nothing"}, "no variant 'nothing'; there are"),
        ({"variant": "chin_up"}, "logged, not modelled"),
        ({"range_deg": (90, 30)}, "reversed"),
        ({"range_deg": (80, 90)}, "at least 20 degrees"),
        ({"variant": "low_cable_curl", "range_deg": (0, 20)}, "asks for nothing"),
        ({"load_ratio": -1}, "load_ratio must be from 0 to 2"),
        ({"load_ratio": np.nan}, "load_ratio"),
        ({"curve": "straight"}, "no curve"),
    ],
)
def test_what_cannot_be_run_is_refused_by_name(change, words):
    with pytest.raises(InputError, match=words):
        dynamic_rep(**({"variant": "hammer_curl"} | change))


def test_a_pull_that_runs_with_the_shoulder_is_refused_and_not_run():
    # A pulley level with the hand: drawing the shoulder forward slackens the cable as
    # fast as the elbow draws it out, so the elbow alone would move no inertia.
    pull = make_resistance(kind="cable", anchor_forward_m=0.5, anchor_height_m=1.2)
    bent = VARIANTS["standing_barbell_curl"].bent(resistance=pull)
    with pytest.raises(InputError, match="no rep can be run"):
        dynamic_rep(bent, load_ratio=0.95)


@pytest.mark.analytic
def test_activation_follows_its_rate_equation():
    # a' = (1 - a) / (0.015 (0.5 + 1.5 a)), by central differences of the closed form.
    time_s, step = np.linspace(0.001, 0.1, 200), 1e-6
    rising = _activation(0.2)
    slope = (rising(time_s + step) - rising(time_s - step)) / (2 * step)
    active = rising(time_s)
    np.testing.assert_allclose(
        slope, (1 - active) / (0.015 * (0.5 + 1.5 * active)), rtol=1e-5
    )
    assert rising(0.0) == pytest.approx(0.2, abs=1e-12)
