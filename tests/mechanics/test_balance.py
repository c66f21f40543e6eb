"""Balance against worked values, closed forms and an independent solver."""

import mujoco
import numpy as np
import pytest
from scipy.optimize import brentq

from analytics.catalogue import load_catalogue, make_resistance
from analytics.errors import InputError
from analytics.mechanics import balance, balance_figure, lift_balance, make_body


def row(load_kg: float, stance: str = "parallel", **body: object) -> dict[str, float]:
    return balance(load_kg, **body).set_index("stance").loc[stance].to_dict()


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("load_kg", "reach_m", "printed"),
    [(30, 0.35, 0.1357), (20, 0.25, 0.0921), (60, 0.45, 0.2278), (40, 0.35, 0.1543)],
)
def test_combined_centre_is_the_mass_weighted_mean(load_kg, reach_m, printed):
    # Winter: (M x + m x_L) / (M + m), worked by hand for M = 75 kg and x = 0.05 m.
    # Ours starts at another x, since the forearms are held level: moved by the rule.
    own = row(0)["centre_of_mass_m"]
    shift = 75 * (own - 0.05) / (75 + load_kg)
    found = row(load_kg, reach_m=reach_m)["centre_of_mass_m"]
    assert found - shift == pytest.approx(printed, abs=5e-5)


@pytest.mark.analytic
def test_level_forearms_move_the_centre_by_their_own_first_moment():
    # 0.0286 statures ahead with hanging arms; then 2 (m d) of forearm and hand swung
    # level, less the sway they had. Sway is 0.05 m over about 0.98 m: 2.8 degrees.
    body = make_body()
    natural = 0.0286 * 1.75
    swung = 2 * body.forearm_and_hand_kg_m / 75
    found = row(0)["centre_of_mass_m"]
    assert found - natural == pytest.approx(swung, rel=0.06)


@pytest.mark.analytic
@pytest.mark.parametrize("stance", ["parallel", "split"])
@pytest.mark.parametrize("sex", [None, "female", "male"])
def test_at_the_largest_load_moments_about_the_front_of_the_base_cancel(stance, sex):
    # m (x_L - x_f) = M (x_f - x_body)
    largest = row(0, stance, sex=sex)["largest_load_kg"]
    at = row(largest, stance, sex=sex)
    assert at["margin_m"] == pytest.approx(0, abs=1e-12)
    assert row(largest - 0.1, stance, sex=sex)["lean_deg"] == 0
    above = row(largest + 0.1, stance, sex=sex)
    assert 0 < above["lean_deg"] < 0.1
    assert above["margin_m"] < 0


@pytest.mark.external
@pytest.mark.parametrize("load_kg", [30, 60, 120])
def test_the_lean_brings_the_drawn_centre_to_the_front_of_the_base(load_kg):
    # scipy.optimize.brentq on the drawn figure instead of the closed form.
    def margin(lean_deg: float) -> float:
        _, base = balance_figure(load_kg, lean_deg=lean_deg)
        return float((base["base_front_m"] - base["centre_of_mass_m"]).iloc[0])

    assert row(load_kg)["lean_deg"] == pytest.approx(brentq(margin, 0, 40), abs=1e-6)
    _, base = balance_figure(load_kg)
    assert base["centre_of_mass_m"].iloc[0] == pytest.approx(
        base["base_front_m"].iloc[0]
    )


@pytest.mark.published
def test_the_front_of_the_base_lies_at_the_ball_of_the_foot():
    # Foot 0.152 statures (Drillis and Contini through Winter, from memory): 0.266 m at
    # 1.75 m. Forward limit at the first metatarsophalangeal joints, about 0.70 to 0.75
    # of the foot from the heel, ankle about 0.25 (values from memory).
    front = row(0)["base_front_m"]
    assert 0.45 * 0.266 <= front <= 0.50 * 0.266


@pytest.mark.published
def test_a_heavier_load_in_front_needs_more_lean_back():
    # OpenStax College Physics m42175: a load in front is balanced by leaning back.
    lean = [row(load)["lean_deg"] for load in (0, 15, 30, 45, 60)]
    assert lean[:2] == [0, 0]
    assert np.all(np.diff(lean[1:]) > 0)


@pytest.mark.trade
def test_a_split_stance_carries_more_without_lean_and_a_pad_takes_balance_away():
    # Common practice, no source: one foot forward steadies a heavy load in front.
    table = balance(30).set_index("stance")
    assert list(table.index) == ["parallel", "split", "supported"]
    assert (
        table.loc["split", "largest_load_kg"] > table.loc["parallel", "largest_load_kg"]
    )
    assert table.loc["split", "lean_deg"] == 0 < table.loc["parallel", "lean_deg"]
    assert table.loc["supported", "lean_deg"] == 0
    assert np.isinf(table.loc["supported", "largest_load_kg"])


@pytest.mark.trade
@pytest.mark.parametrize("sex", [None, "female", "male"])
def test_the_centre_of_a_standing_body_is_a_little_over_half_its_height(sex):
    # 0.55 to 0.58 of stature, common knowledge of the field, from memory. Turning by a
    # small angle moves the centre by height times angle, which reads the height off.
    centre = [
        balance_figure(0, lean_deg=lean, sex=sex)[1]["centre_of_mass_m"].iloc[0]
        for lean in (0, 1)
    ]
    moving = 1 - 2 * make_body(sex=sex).segment_kg["foot"] / 75
    height = (centre[0] - centre[1]) / np.deg2rad(1) / 1.75
    assert 0.54 < height / moving < 0.61  # arms held level lift it a little


@pytest.mark.analytic
def test_twice_the_body_mass_carries_twice_the_load():
    # Every term is a first moment, so loads scale with mass at equal stature.
    light, heavy = (row(0, body_mass_kg=m)["largest_load_kg"] for m in (50, 100))
    assert heavy == pytest.approx(2 * light)


def test_a_load_held_over_the_base_has_no_limit():
    assert np.isinf(row(50, "split", reach_m=0.2)["largest_load_kg"])


def test_the_figure_is_to_scale():
    body, base = balance_figure(40, stance="split")
    size = make_body().length_m
    for part, segment in (("upper arm", "upper_arm"), ("trunk", "trunk")):
        ends = body[body["part"] == part][["x_m", "y_m"]].to_numpy()
        assert np.linalg.norm(ends[1] - ends[0]) == pytest.approx(size[segment])
    feet = body[body["part"].str.endswith("foot")]
    assert feet["y_m"].eq(0).all()
    assert base["base_back_m"].iloc[0] == pytest.approx(feet["x_m"].min())
    assert base["base_front_m"].iloc[0] < feet["x_m"].max()
    load = body[body["part"] == "load"].iloc[0]
    hand = body[(body["part"] == "forearm") & (body["order"] == 1)].iloc[0]
    assert (load["x_m"], load["y_m"]) == pytest.approx((hand["x_m"], hand["y_m"]))


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"load_kg": -1}, "load_kg must be 0 or more, got -1"),
        ({"load_kg": np.nan}, "load_kg must be 0 or more"),
        ({"reach_m": 0}, "reach_m must be more than 0"),
        ({"reach_m": 40}, "arm's length"),
        ({"body_mass_kg": 0}, "body_mass_kg must be from 20 to 400, got 0"),
        ({"stature_m": -1.7}, "stature_m must be from 0.9 to 2.6, got -1.7"),
        ({"sex": "other"}, "female, male"),
    ],
)
def test_an_impossible_body_or_load_is_refused_by_name(change, words):
    with pytest.raises(InputError, match=words):
        balance(**({"load_kg": 20} | change))


def test_a_stance_without_base_is_refused_with_those_that_have_one():
    with pytest.raises(InputError, match="parallel, split"):
        balance_figure(20, stance="supported")


VARIANTS = load_catalogue().variants


def through(variant, load_kg, stance="parallel", **body):
    rows = lift_balance(variant, load_kg, **body)
    return rows[rows["stance"] == stance].set_index("elbow_deg")


@pytest.mark.external
@pytest.mark.parametrize("elbow", [0, 45, 90, 130])
def test_the_centre_of_a_lift_is_that_of_the_physics_engine(elbow):
    # MuJoCo 4.0: bodies and bar as point masses on the same skeleton; the engine's
    # centre of mass of the whole must be our centre of pressure.
    body, load_kg = make_body(), 30.0
    kg, size, com = body.segment_kg, body.length_m, body.com_frac
    hip, shoulder = size["hip_height"], size["shoulder_height"]
    sway = np.deg2rad(2.8)
    shoulder_deg = float(VARIANTS["standing_barbell_curl"].model.shoulder_deg(elbow))

    def centre(sway_rad, load_kg, elbow_deg, shoulder_deg):
        arm = size["upper_arm"]
        fore_kg = kg["forearm"] + kg["hand"]
        fore_m = body.forearm_and_hand_kg_m / fore_kg
        feet_kg = body.mass_kg - sum(
            2 * kg[part] for part in ("shank", "thigh", "upper_arm")
        ) - kg["trunk"] - kg["head_neck"] - 2 * fore_kg  # fmt: skip
        deg = 180 / np.pi
        xml = f"""<mujoco><compiler angle="degree"/><worldbody>
          <body pos="{(com["foot"] - 0.25) * size["foot"]} 0 0"><inertial pos="0 0 0"
            mass="{feet_kg}" diaginertia="1 1 1"/></body>
          <body euler="0 {sway_rad * deg} 0">
            <inertial pos="0 0 0" mass="1e-6" diaginertia="1 1 1"/>
            {
            "".join(
                f'''<body pos="0 0 {y}"><inertial pos="0 0 0" mass="{m}"
              diaginertia="1 1 1"/></body>'''
                for m, y in (
                    (
                        2 * kg["shank"],
                        hip - size["thigh"] - com["shank"] * size["shank"],
                    ),
                    (2 * kg["thigh"], hip - com["thigh"] * size["thigh"]),
                    (kg["trunk"], shoulder - com["trunk"] * size["trunk"]),
                    (kg["head_neck"], 0.909 * body.stature_m),
                )
            )
        }
            <body pos="0 0 {shoulder}" euler="0 {-sway_rad * deg - shoulder_deg} 0">
              <inertial pos="0 0 {-com["upper_arm"] * arm}"
                mass="{2 * kg["upper_arm"]}" diaginertia="1 1 1"/>
              <body pos="0 0 {-arm}" euler="0 {-elbow_deg} 0">
                <inertial pos="0 0 {-fore_m}" mass="{2 * fore_kg}"
                  diaginertia="1 1 1"/>
                <body pos="0 0 {-body.grip_m}"><inertial pos="0 0 0"
                  mass="{max(load_kg, 1e-9)}" diaginertia="1 1 1"/></body>
              </body></body></body></worldbody></mujoco>"""
        model = mujoco.MjModel.from_xml_string(xml)
        data = mujoco.MjData(model)
        mujoco.mj_forward(model, data)
        mass = model.body_mass
        return float((mass @ data.xipos[:, 0]) / mass.sum())

    # The natural stance sways until the hanging body is 0.0286 statures ahead.
    sway = brentq(
        lambda x: centre(x, 0, -0.0, np.rad2deg(-x)) - 0.0286 * body.stature_m, 0, 0.2
    )
    ours = through("standing_barbell_curl", load_kg).loc[elbow]
    expected = centre(sway, load_kg, elbow, shoulder_deg)
    assert ours["centre_of_pressure_m"] == pytest.approx(expected, abs=1e-4)


@pytest.mark.analytic
def test_lean_grows_as_the_load_moves_away_and_brings_the_centre_over_the_base():
    rows = through("standing_barbell_curl", 45.0)
    needed = rows[rows["lean_deg"] > 0]
    assert rows["lean_deg"].iloc[0] == 0
    order = needed.sort_values("load_ahead_m")
    assert order["lean_deg"].corr(order["load_ahead_m"], method="spearman") > 0.95
    assert (rows["progress"].diff().dropna() > 0).all()
    split = through("standing_barbell_curl", 45.0, "split")
    assert (split["lean_deg"] <= rows["lean_deg"]).all()


@pytest.mark.analytic
def test_two_dumbbells_are_the_bar_of_twice_their_mass_and_one_is_half():
    bar = through("standing_barbell_curl", 40.0)
    both = through("standing_dumbbell_curl", 20.0)
    np.testing.assert_allclose(
        bar["centre_of_pressure_m"], both["centre_of_pressure_m"], atol=1e-12
    )
    one = through("one_arm_dumbbell_curl", 20.0)
    assert one["centre_of_pressure_m"].max() < both["centre_of_pressure_m"].max()


@pytest.mark.analytic
def test_a_cable_tilts_by_its_pull_times_its_height_and_a_band_stood_upon_does_not():
    # A pulley level with the hand and far ahead pulls forward alone: the pressure
    # moves by pull x hand height / body weight.
    far = make_resistance(kind="cable", anchor_forward_m=9.9, anchor_height_m=1.0)
    bent = VARIANTS["low_cable_curl"].bent(resistance=far)
    free, pulled = (through(bent, load).loc[90] for load in (0.0, 10.0))
    size = make_body().length_m
    hand_m = size["shoulder_height"] - size["upper_arm"]
    moved = pulled["centre_of_pressure_m"] - free["centre_of_pressure_m"]
    assert moved == pytest.approx(10.0 * hand_m / 75.0, rel=0.05)
    still, band = (through("band_curl", load) for load in (0.0, 30.0))
    np.testing.assert_array_equal(
        still["centre_of_pressure_m"], band["centre_of_pressure_m"]
    )


@pytest.mark.parametrize(
    ("variant", "words"),
    [
        ("preacher_curl_45", "done seated"),
        ("incline_curl_45", "done seated"),
        ("prone_incline_curl", "done prone"),
        ("concentration_curl", "done seated"),
        ("chin_up", "not modelled"),
    ],
)
def test_balance_of_a_lift_that_does_not_stand_is_refused_with_the_reason(
    variant, words
):
    with pytest.raises(InputError, match=words):
        lift_balance(variant, 20.0)
