"""Pulls: moments against a physics engine, lengths against a muscle model, sharing."""

import mujoco
import numpy as np
import pytest
from scipy.optimize import linprog, minimize

from analytics.catalogue import load_catalogue, make_body
from analytics.catalogue.load import DATA
from analytics.catalogue.pulls import load_pulls, pull_of
from analytics.errors import CatalogueError, InputError
from analytics.mechanics import draws
from analytics.mechanics.elbow.muscles import muscle_set
from analytics.mechanics.limits import resolve
from analytics.mechanics.maximum import drawn_limits
from analytics.mechanics.pulls import drawn as drawn_module
from analytics.mechanics.pulls.checks import limits_shown, pull_checks, why_no_limits
from analytics.mechanics.pulls.drawn import Arms
from analytics.mechanics.pulls.length import length_paths, length_table
from analytics.mechanics.pulls.path import asked, load_per_hand
from analytics.mechanics.pulls.sharing import ends, least_effort, sharing, takes_over
from analytics.mechanics.pulls.through import (
    elbow_first,
    length_sentence,
    through_pull,
    through_sentence,
)
from analytics.units import STANDARD_GRAVITY_M_PER_S2

BODY = make_body(body_mass_kg=80, stature_m=1.8)
PULLS = load_pulls()
KG, LENGTH, COM = BODY.segment_kg, BODY.length_m, BODY.com_frac
HANGING = [name for name, pull in PULLS.items() if pull.resistance.kind == "hanging"]
HELD = [name for name in PULLS if name not in HANGING]


def part(mass: float, z: float, *, x: float = 0.0) -> str:
    return (
        f'<body pos="{x} 0 {z}"><inertial pos="0 0 0" mass="{mass}" '
        'diaginertia="1e-4 1e-4 1e-4"/></body>'
    )


def link(name: str, z: float, inside: str) -> str:
    return (
        f'<body pos="0 0 {z}"><joint name="{name}" type="hinge" axis="0 -1 0"/>'
        f'<inertial pos="0 0 0" mass="1e-6" diaginertia="1e-6 1e-6 1e-6"/>{inside}'
        "</body>"
    )


def engine(world: str) -> tuple[mujoco.MjModel, mujoco.MjData]:
    model = mujoco.MjModel.from_xml_string(
        f'<mujoco><compiler angle="radian"/><option gravity="0 0 '
        f'{-STANDARD_GRAVITY_M_PER_S2}"/><worldbody>{world}</worldbody></mujoco>'
    )
    return model, mujoco.MjData(model)


def hung_body() -> str:
    """A body that hangs from a bar by both arms, straight down at zero."""
    upper, fore = LENGTH["upper_arm"], LENGTH["forearm"]
    knee = -LENGTH["trunk"] - LENGTH["thigh"]
    table = load_catalogue().tables["stance"]
    at = table.columns["quantity"].index("head_centre_height")
    head = table.numbers("value")[at] * BODY.stature_m - LENGTH["shoulder_height"]
    rest = part(KG["head_neck"], head)
    rest += part(KG["trunk"], -LENGTH["trunk"] * (1 - COM["trunk"]))
    rest += part(2 * KG["thigh"], -LENGTH["trunk"] - COM["thigh"] * LENGTH["thigh"])
    rest += part(2 * KG["shank"], knee - COM["shank"] * LENGTH["shank"])
    rest += part(2 * KG["foot"], knee - LENGTH["shank"])
    grip = BODY.grip_m
    arm = part(2 * KG["upper_arm"], -upper * (1 - COM["upper_arm"]))
    hand = fore + COM["hand"] * LENGTH["hand"]
    low = part(2 * KG["forearm"], -grip + COM["forearm"] * fore)
    low += part(2 * KG["hand"], -grip + hand)
    return link(
        "grip", 0, low + link("elbow", -grip, arm + link("shoulder", -upper, rest))
    )


# MuJoCo: inverse dynamics of the same body at rest, built link by link from the bar.
@pytest.mark.external
@pytest.mark.parametrize("name", HANGING)
def test_moments_of_a_hanging_body_are_those_of_a_physics_engine(name):
    pull = PULLS[name]
    found = asked(pull, body=BODY)
    hand_kg = load_per_hand(pull, 0.0, arms_share=2, body_mass_kg=sum_of_segments())
    shoulder, elbow = found.moment_nm(hand_kg)
    model, data = engine(hung_body())
    for step in range(0, 41, 8):
        lean = found.trunk_deg[step]
        arm = found.shoulder_deg[step] - lean
        forearm = arm + found.elbow_deg[step]
        data.qpos[:] = np.deg2rad(
            [forearm - 180, -found.elbow_deg[step], 180 - found.shoulder_deg[step]]
        )
        mujoco.mj_inverse(model, data)
        grip_nm, elbow_nm, shoulder_nm = data.qfrc_inverse
        # a bar gives no moment: the body hangs below it
        assert grip_nm == pytest.approx(0, abs=0.01 * 80)
        assert -elbow_nm / 2 == pytest.approx(elbow[step], abs=0.5)
        assert -shoulder_nm / 2 == pytest.approx(shoulder[step], abs=0.5)


def sum_of_segments() -> float:
    """Mass of the segments, which round to the body's within a thousandth."""
    paired = ("hand", "forearm", "upper_arm", "foot", "shank", "thigh")
    return 2 * sum(KG[x] for x in paired) + KG["head_neck"] + KG["trunk"]


# MuJoCo: the arm from the shoulder out, the load as a mass or a force at the grip.
@pytest.mark.external
@pytest.mark.parametrize("name", HELD)
def test_moments_of_rows_and_pulldowns_are_those_of_a_physics_engine(name):
    pull, load_kg = PULLS[name], 35.0
    found = asked(pull, body=BODY, shoulder_off_deg=4.0, forearm_off_deg=-3.0)
    upper, fore, grip = LENGTH["upper_arm"], LENGTH["forearm"], BODY.grip_m
    weight = load_kg if pull.resistance.kind == "gravity" else 0.0
    arm = part(KG["upper_arm"], -COM["upper_arm"] * upper)
    low = part(KG["forearm"], -COM["forearm"] * fore)
    low += part(KG["hand"], -fore - COM["hand"] * LENGTH["hand"])
    low += part(weight + 1e-9, -grip)
    model, data = engine(link("shoulder", 0, arm + link("elbow", -upper, low)))
    shoulder, elbow = found.moment_nm(load_kg)
    hip_m = LENGTH["hip_height"] if pull.hip_m is None else pull.hip_m
    for step in range(0, 41, 8):
        lean = np.deg2rad(found.trunk_deg[step])
        arm_rad = np.deg2rad(found.shoulder_deg[step]) - lean
        bend = np.deg2rad(found.elbow_deg[step])
        data.qpos[:] = [arm_rad, bend]
        mujoco.mj_inverse(model, data)
        expected = data.qfrc_inverse.copy()
        if weight == 0.0:
            hand = upper * np.array([np.sin(arm_rad), 0, -np.cos(arm_rad)])
            hand = hand + grip * np.array(
                [np.sin(arm_rad + bend), 0, -np.cos(arm_rad + bend)]
            )
            trunk = LENGTH["trunk"]
            root = np.array([trunk * np.sin(lean), 0, hip_m + trunk * np.cos(lean)])
            line = (
                np.array(
                    [
                        pull.resistance.anchor_forward_m,
                        0,
                        pull.resistance.anchor_height_m,
                    ]
                )
                - root
                - hand
            )
            force = load_kg * STANDARD_GRAVITY_M_PER_S2 * line / np.linalg.norm(line)
            pulled = np.zeros(2)
            last = model.nbody - 1
            mujoco.mj_applyFT(model, data, force, np.zeros(3), hand, last, pulled)
            expected -= pulled
        np.testing.assert_allclose(expected, [shoulder[step], elbow[step]], atol=1e-3)


# Definition of the centre of mass: a weight below the shoulder asks nothing of a hand
# that hangs straight below it.
@pytest.mark.analytic
def test_straight_arms_of_a_deadlift_ask_next_to_nothing_of_the_shoulder():
    shoulder, elbow = asked(PULLS["deadlift"], body=BODY).moment_nm(100.0)
    assert np.abs(shoulder).max() < 1
    # 3 degrees of bend: load times forearm times half of it as a moment arm
    assert elbow.max() == pytest.approx(
        100 * STANDARD_GRAVITY_M_PER_S2 * BODY.grip_m * np.sin(np.deg2rad(1.5)),
        rel=0.05,
    )


# arm26.osim by OpenSim 4.6: muscle-tendon length in m by shoulder and elbow angle, of
# the long and the short head (CC BY 3.0).
ARM26 = {
    (45, 40): (0.39352, 0.33757),
    (30, 20): (0.40860, 0.34021),
    (0, 60): (0.39738, 0.31449),
    (-15, 80): (0.38762, 0.30287),
    (90, 40): (0.38868, 0.36305),
    (60, 120): (0.32846, 0.28394),
    (105, 70): (0.37081, 0.35104),
    (120, 60): (0.38173, 0.36556),
    (-15, 110): (0.36210, 0.27735),
}


@pytest.mark.external
@pytest.mark.parametrize(("head", "place"), [("biceps_long", 0), ("biceps_short", 1)])
def test_biceps_lengths_over_both_joints_are_those_of_the_muscle_model(head, place):
    muscle = next(m for m in muscle_set("arm26") if m.name == head)
    for (shoulder, elbow), lengths in ARM26.items():
        length = muscle.anchor_length_m(shoulder) - muscle.excursion_m(elbow, 0)
        # 1.5 mm: arms are tabled every 10 degrees, and one place of the short head's
        # wrapping is not a sum of both joints
        assert float(length) == pytest.approx(lengths[place], abs=0.0015)


def test_the_long_head_changes_less_in_rows_than_in_curls_and_hardly_less_overhead():
    table = length_table()
    long = table[table["head"] == "biceps_long"].set_index(["variant", "muscles"])
    rows = long.loc[["barbell_row", "dumbbell_row", "seated_cable_row"], "of_held"]
    assert (rows < 0.6).all()
    assert (long.loc[["chin_up"], "of_held"] > 0.95).all()
    paths = length_paths(("barbell_row",))
    assert set(paths["variant"]) == {"standing_barbell_curl", "barbell_row"}


# A general solver of linear programmes and one of smooth ones.
@pytest.mark.external
@pytest.mark.parametrize("frac", [0.1, 0.5, 0.9])
def test_shares_are_those_of_general_solvers(frac):
    most = np.array([12.0, 15.0, 31.0, 17.0, 9.0, 6.0])
    moment = frac * most.sum()
    least, largest = ends(most, moment)
    for i in range(len(most)):
        cost = np.zeros(len(most))
        cost[i] = most[i]
        for sign, mine in ((1, least), (-1, largest)):
            solved = linprog(sign * cost, A_eq=[most], b_eq=[moment], bounds=(0, 1))
            assert sign * solved.fun == pytest.approx(mine[i], abs=1e-6)
    for power in (2.0, 3.0):
        solved = minimize(
            lambda a, power=power: np.sum(a**power),
            np.full(len(most), frac),
            jac=lambda a, power=power: power * a ** (power - 1),
            bounds=[(0, 1)] * len(most),
            constraints={"type": "eq", "fun": lambda a: a @ most - moment},
            options={"ftol": 1e-13, "maxiter": 500},
        )
        np.testing.assert_allclose(
            least_effort(most, moment, power=power), solved.x * most, atol=2e-3
        )


def test_all_muscles_together_are_never_asked_for_more_than_they_have():
    with pytest.raises(InputError, match="from 0 to 90"):
        ends(np.array([40.0, 50.0]), 91.0)
    with pytest.raises(InputError, match="load_frac"):
        sharing("chin_up", muscles="printed", load_frac=1.2)
    full = sharing("chin_up", muscles="printed", load_frac=1.0)
    np.testing.assert_allclose(full["least"], full["can"])
    np.testing.assert_allclose(full["cubed"], full["can"], atol=1e-6)
    assert "never all" in takes_over()


@pytest.fixture(scope="module")
def arms() -> Arms:
    return Arms(n_draws=300)


# Definition of the scale: a lifter whose maximum is the draw's limit has its strength.
@pytest.mark.analytic
def test_a_lifter_as_strong_as_the_published_arm_has_its_scale():
    plain = Arms(n_draws=6, seed=None)
    curl, span = resolve(("standing_barbell_curl", None))
    found = drawn_limits(plain.limb, [(curl, span)], details=False)
    first = plain.scale_from_curl(
        "standing_barbell_curl", None, log_kg=np.log(20.0), log_sd=0.0
    )
    for i, kg in enumerate(found["standing_barbell_curl", span].load_kg):
        mine = plain.scale_from_curl(
            "standing_barbell_curl", None, log_kg=np.log(kg), log_sd=0.0
        )
        assert mine[i] == pytest.approx(1.0)
        assert (first[i] < 1) == (kg > 20)


def test_the_limit_uses_one_joint_fully_and_no_joint_more(arms):
    for pull in PULLS.values():
        drawn = arms.pull(pull)
        load, joint = drawn.limit_kg(1.3)
        both = np.stack([u.max(axis=-1) for u in drawn.used(load[:, None], 1.3)])
        held = np.take_along_axis(both, joint[None], 0)[0]
        # A moment arm of a millimetre then counts, and is ignored.
        open_ended = load > 500
        np.testing.assert_allclose(held[~open_ended], 1.0, atol=0.02)
        assert (both[:, ~open_ended] <= 1.02).all()


@pytest.mark.parametrize(
    "parameter", ["pull_shoulder_deg", "pull_forearm_deg", "elbow_strength"]
)
def test_every_spread_of_pulls_moves_what_is_drawn(parameter, arms, monkeypatch):
    own = draws.spread

    def without(name: str) -> float:
        return 0.0 if name.split("@")[0] == parameter else own(name)

    def used(one: Arms) -> np.ndarray:
        return one.pull(PULLS["barbell_row"]).used(30.0, one.population_scale())[1]

    before = used(arms)
    for module in (draws, drawn_module):
        monkeypatch.setattr(module, "spread", without)
    assert np.abs(used(Arms(n_draws=300)) - before).max() > 1e-4


def test_a_lift_that_was_done_rules_out_draws_that_could_not_have_done_it(arms):
    drawn = arms.pull(PULLS["chin_up"])
    used = drawn.used(40.0)[1].max(axis=-1)
    weights = drawn.possible(40.0)
    assert weights[used > 1.5].sum() < 1e-3 < weights[used < 0.9].sum()


# Johnson 2009: pull-down 0.80 of the pull-up in 35 men; Sports 2024: press over row.
@pytest.mark.published
def test_limit_loads_of_pulls_are_not_shown_while_measured_people_are_not_met():
    checks = pull_checks().set_index(["quantity", "population"])
    assert checks.loc[("pulldown over pull-up", "college men"), "measured"] == 0.802
    assert not limits_shown()
    assert "measured 0.80, predicted" in why_no_limits()
    assert "not predicted" in why_no_limits()


def test_what_a_pull_asks_is_told_with_the_joint_that_is_asked_more(arms):
    table = through_pull("chin_up", hand_kg=40.0, arms=arms)
    assert (table["moment_low_nm"] <= table["moment_high_nm"]).all()
    assert elbow_first("chin_up", hand_kg=40.0, arms=arms) > 0.9
    assert elbow_first("dumbbell_row", hand_kg=40.0, arms=arms) < 0.1
    said = through_sentence(table, "chin_up", 0.95)
    assert said.endswith("the elbow is asked more of what it has")
    assert "which of them limits is not told" in through_sentence(table, "chin_up", 0.5)
    assert "barbell row" in length_sentence(length_table())
    with pytest.raises(InputError, match="no pull 'squat'"):
        through_pull("squat", hand_kg=40.0, arms=arms)


@pytest.mark.parametrize(
    ("found", "put", "words"),
    [
        ('variant = "chin_up"', 'variant = "hammer_curl"', "`modelled = false`, once"),
        ("[20, 35, 50]", "[90, 35, 50]", "never straightens"),
        ("[[0, 50, 50]", "[[0, 50, 95]", "trunk angles must be from -90 to 90"),
        ('source = "student_pull_up"', 'source = "hearsay"', "not in sources.toml"),
    ],
)
def test_a_bad_pull_is_refused_with_its_line(found, put, words, tmp_path):
    text = (DATA / "pulls.toml").read_text("utf-8")
    assert found in text
    (tmp_path / "pulls.toml").write_text(text.replace(found, put, 1), "utf-8")
    with pytest.raises(CatalogueError, match=words):
        load_pulls(tmp_path)
    with pytest.raises(InputError, match="there are: barbell_row"):
        pull_of("bench_press")
