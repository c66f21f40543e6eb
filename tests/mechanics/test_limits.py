"""Limit loads, sticking angles and evenness: trade facts, intervals, speed."""

import time

import numpy as np
import pytest
from scipy import stats

from analytics.catalogue import load_catalogue
from analytics.errors import InputError
from analytics.mechanics import (
    LEVERAGE,
    SHAPES,
    demand,
    dynamic_rep,
    hardest,
    limit_sentences,
    log_ratio_draws,
    make_body,
    search_setups,
    sensitivity,
    strength_at_angle,
    through_range,
)
from analytics.mechanics.draws import N_DRAWS, SEED, make_draws
from analytics.mechanics.elbow import capability, drawn, load_arms
from analytics.mechanics.elbow.muscles import GRID_DEG, JOINT
from analytics.mechanics.joints import posture_rows
from analytics.mechanics.limits import resolve
from analytics.mechanics.maximum import drawn_limits
from analytics.mechanics.weighing import weighed_draws

MODELLED = [v.variant for v in load_catalogue().variants.values() if v.modelled]


@pytest.fixture(scope="module")
def table():
    return hardest(n_draws=3000, seed=1).set_index("variant")


@pytest.mark.trade
def test_supported_and_concentration_curls_use_less_than_standing(table):
    # Common practice, no source; and a pad-supported to standing isometric ratio of
    # 0.900 was measured in 10 men.
    for variant in (
        "preacher_curl_0",
        "preacher_curl_30",
        "preacher_curl_45",
        "preacher_curl_60",
        "preacher_curl_90",
        "concentration_curl",
    ):
        assert table.loc[variant, "limit_load_ratio"] < 0.9


@pytest.mark.trade
def test_free_standing_curl_sticks_about_mid_range():
    # Common practice, no source: 70 to 110 degrees. The median draw lies there; the
    # 90 % interval is wide, as strength and demand run side by side.
    arm = drawn(make_draws(6000, joint=JOINT, seed=3), body=make_body())
    limits = drawn_limits(arm, [resolve("standing_barbell_curl")], details=False)
    angle = limits["standing_barbell_curl", (0.0, 140.0)].held_deg
    assert 70 <= np.median(angle) <= 110
    low, high = np.quantile(angle, [0.05, 0.95])
    assert low < 75
    assert high > 105


@pytest.mark.trade
def test_no_lockout_is_more_even_than_lockout(table):
    # Common practice, no source. Asked: 0.9 and 0.1 above lockout. Modelled: 0.83 in
    # the middle of all draws (0.86 with the shoulder held; it was 0.89 before measured
    # people, who fall off beyond 60 degrees, weighed them), 0.16 above.
    free = table.loc["no_lockout_curl", "evenness"]
    assert free - table.loc["standing_barbell_curl", "evenness"] > 0.1
    assert table.loc["no_lockout_curl", "evenness_high"] > 0.9


@pytest.mark.trade
def test_start_of_the_range_decides_on_a_pad(table):
    # Common practice, no source: on a flat enough pad the straight arm is the limit.
    for variant in ("preacher_curl_45", "preacher_curl_60", "preacher_curl_90"):
        assert "start of the range" in table.loc[variant, "sentence"]
    ratios = [
        float(
            hardest(["preacher_curl_45"], range_deg=(start, 115)).limit_load_ratio.iloc[
                0
            ]
        )
        for start in (10, 20, 30, 40)
    ]
    assert np.all(np.diff(ratios) > 0.02)


@pytest.mark.external
@pytest.mark.parametrize(
    ("arm_deg", "expected_kg"),
    [
        # OpenSim 4.6 on arm26.osim, Thelen curves, elastic tendon, active force only,
        # body of 75 kg and 1.75 m: load held at elbow 20, 40, 60, 80, 100, 120 with
        # the upper arm hanging, and at 45 degrees on a pad.
        (0, [28.6, 19.6, 18.8, 18.6, 17.6, 15.6]),
        (45, [10.5, 12.5, 16.6, 21.8, 29.3, 50.8]),
    ],
)
def test_loads_held_match_the_musculoskeletal_library(arm_deg, expected_kg):
    body, elbow = make_body(), np.arange(20, 121, 20.0)
    strength = capability(elbow, shoulder_deg=arm_deg, rotation_deg=90, muscles="arm26")
    sine = np.sin(np.deg2rad(arm_deg + elbow))
    own = 9.80665 * body.forearm_and_hand_kg_m * sine
    load = (strength - own) / (9.80665 * body.grip_m * sine)
    # Passive force is ours alone: 4 % at most, near the straight elbow.
    np.testing.assert_allclose(load, expected_kg, rtol=0.04)


@pytest.mark.trade
def test_sticking_angle_is_an_interval_or_no_single_angle(table):
    assert (table["low_deg"] <= table["high_deg"]).all()
    wide = table["high_deg"] - table["low_deg"] > 40
    assert table.loc[wide, "elbow_deg"].isna().all()
    assert table.loc[~wide, "elbow_deg"].notna().all()
    for variant in table.index[wide]:
        assert "no single hardest angle" in table.loc[variant, "sentence"]


def test_a_bent_reference_is_set_against_the_one_in_the_catalogue():
    name = "standing_barbell_curl"
    held = load_catalogue().variants[name].bent(path=((0.0, 0.0), (140.0, 0.0)))
    ratio = hardest([held], n_draws=60)["limit_load_ratio"].iloc[0]
    assert ratio < 0.9  # arms at the side end with a level forearm, and take less
    assert hardest([name], n_draws=60)["limit_load_ratio"].iloc[0] == 1


@pytest.mark.analytic
def test_the_joint_that_limits_is_used_fully_by_the_load_held():
    for name in MODELLED:
        if load_catalogue().variants[name].movement != "elbow_flexion":
            continue  # the printed muscles are the elbow's
        variant = load_catalogue().variants[name]
        elbow = np.arange(variant.model.range_from_deg, variant.model.range_to_deg + 1)
        rows = posture_rows(
            elbow,
            model=variant.model,
            body=make_body(),
            muscles="printed",
            curve="thelen",
        )
        held = rows.largest()
        at = held.load.argmin()
        used = [
            max(asked / most, asked / least)
            for asked, least, most in zip(
                *(
                    np.broadcast_to(part, (len(rows.joints), elbow.size))[:, at]
                    for part in (
                        held.load.min() * np.array(rows.per_kg_nm)
                        + np.array(rows.own_nm),
                        np.array(
                            [np.broadcast_to(x, elbow.size) for x in rows.least_nm]
                        ),
                        np.array(rows.most_nm),
                    )
                ),
                strict=True,
            )
        ]
        np.testing.assert_allclose(max(used), 1, rtol=1e-9)
        assert rows.joints[int(np.argmax(used))] == rows.limiting(held)[at]
        if variant.model.holds:
            used = rows.utilisation(held.load.min())
            np.testing.assert_allclose(used.max(), 1, rtol=1e-9)


@pytest.mark.analytic
def test_a_limit_load_lies_between_the_load_held_and_the_load_lifted():
    arm = drawn(make_draws(300, joint=JOINT, seed=2), body=make_body())
    setups = [resolve(name) for name in MODELLED]
    setups += [
        resolve(("standing_barbell_curl", span)) for span in ((30, 120), (90, 90))
    ]
    limits = drawn_limits(arm, setups, details=True)
    shares = []
    for (_, (first, last)), one in limits.items():
        assert not (one.moving_kg < one.held_kg).any()
        assert not (one.load_kg < one.held_kg).any()
        assert not (one.load_kg > one.moving_kg).any()
        assert ((one.stall_deg >= first) & (one.stall_deg <= last)).all()
        if first == last:  # a hold is no lift
            np.testing.assert_array_equal(one.load_kg, one.held_kg)
        gap = one.moving_kg - one.held_kg
        apart = np.where(gap > 0.02 * np.abs(one.held_kg), gap, np.nan)
        shares.append((one.load_kg - one.held_kg) / apart)
    # One place between the two for all variants of a draw, flat from 0 to 1.
    told = np.array(shares)[:, np.isfinite(shares).any(axis=0)]
    assert (np.nanmax(told, axis=0) - np.nanmin(told, axis=0)).max() < 1e-4
    assert stats.kstest(np.nanmean(told, axis=0), "uniform").pvalue > 0.01


def test_every_table_gives_one_limit_load_and_one_hardest_angle():
    name, weight = "preacher_curl_45", 9.80665
    row = hardest([name]).iloc[0]
    curve = through_range(name)
    load_arm, own = load_arms(
        curve["elbow_deg"],
        model=load_catalogue().variants[name].model,
        body=make_body(),
    )
    load = (curve["demand_nm"] - own) / (weight * load_arm)
    np.testing.assert_allclose(load, row["limit_load_kg"], rtol=1e-6)
    rep = dynamic_rep(name, load_ratio=1)
    assert rep.load_kg == pytest.approx(row["limit_load_kg"], rel=0.003)
    # Of as many draws, cohort or not, the middle is nearly the same.
    logs = log_ratio_draws([name], reference="standing_barbell_curl")
    assert np.exp(np.median(logs)) == pytest.approx(row["limit_load_ratio"], rel=0.02)
    found = search_setups(name).iloc[0]
    assert found["limit_load_ratio"] == pytest.approx(row["limit_load_ratio"])
    assert found["sticking_deg"] == row["elbow_deg"]


def test_rivals_predict_more_where_the_published_curve_is_weak():
    # loads that are heaviest near a straight elbow, where published strength is least
    setups = ["preacher_curl_45", "prone_incline_curl", "low_cable_curl"]
    peaked, flat, inverted, rising, falling, leverage = (
        np.median(
            log_ratio_draws(setups, reference="standing_barbell_curl", shape=shape),
            axis=0,
        )
        for shape in (*SHAPES, LEVERAGE)
    )
    assert np.all(peaked < flat - 0.1)
    assert np.all(flat < inverted + 0.002)
    # nothing of a curve that rises is lost where the elbow is bent
    assert rising[1] > falling[1] > peaked[1]
    # long biceps at the hardest angle: force by length counts, leverage is the same
    assert np.all(peaked[1:] < leverage[1:] - 0.1)


@pytest.mark.analytic
def test_a_hold_is_a_range_of_one_angle():
    # Two holds of one variant: the ratio of what the posture allows at each angle.
    logs = log_ratio_draws(
        [("standing_barbell_curl", (60, 60))],
        reference=("standing_barbell_curl", (90, 90)),
        n_draws=6,
        seed=None,
    )
    body = make_body()
    variant = load_catalogue().variants["standing_barbell_curl"]
    load_arm, own = load_arms([60, 90], model=variant.model, body=body)
    moment = capability(
        [60, 90], shoulder_deg=variant.model.shoulder_deg([60, 90]), rotation_deg=90
    )
    load = (moment - own) / load_arm
    np.testing.assert_allclose(np.exp(logs[0, 0]), load[0] / load[1], rtol=1e-3)


def test_strength_at_angle_is_relative_to_its_own_peak():
    relative = strength_at_angle(
        [0, 45.5, 90, 150], variant="standing_barbell_curl", n_draws=600
    )
    assert relative.shape == (600, 4)
    assert np.isnan(relative[:, 3]).all()
    assert np.all((relative[:, :3] > 0) & (relative[:, :3] <= 1))
    inverted = strength_at_angle(
        [45.5, 90], variant="standing_barbell_curl", shape="inverted", n_draws=600
    )
    assert inverted[:, 1].mean() < relative[:, 2].mean()


@pytest.mark.analytic
def test_a_curve_is_the_median_of_the_weighed_draws():
    # By hand: quantiles of the draws behind every limit load, degree by degree.
    name = "high_cable_curl"
    curve = through_range(name, load_kg=9)
    low, middle, high = (
        curve[column]
        for column in ("capability_low_nm", "capability_nm", "capability_high_nm")
    )
    variant = load_catalogue().variants[name]
    draws = weighed_draws(N_DRAWS, joint=JOINT, seed=SEED)
    nm = drawn(draws, body=make_body()).capability_nm(variant)
    window = np.isin(GRID_DEG, curve["elbow_deg"])
    for column, q in ((low, 0.05), (middle, 0.5), (high, 0.95)):
        np.testing.assert_allclose(column, np.quantile(nm, q, axis=0)[window], 1e-5)
    asked = demand(curve["elbow_deg"], variant=name, load_kg=9)
    np.testing.assert_allclose(curve["utilisation"], asked.clip(min=0) / middle)
    assert (curve["utilisation_low"] <= curve["utilisation"]).all()
    assert (curve["utilisation"] <= curve["utilisation_high"]).all()
    # Half of all draws hold at least the median load at their own hardest angle, so
    # the least of the medians is no lower.
    held = drawn_limits(drawn(draws, body=make_body()), [resolve(name)], details=False)[
        name, variant.model.range_deg
    ]
    assert np.median(held.held_kg) <= curve["held_kg"].min() * (1 + 1e-9)


def test_a_range_in_which_the_cable_helps_has_no_limit_and_says_so():
    row = hardest(["low_cable_curl"], range_deg=(0, 15), n_draws=60).iloc[0]
    assert np.isnan(row[["elbow_deg", "limit_load_kg", "evenness"]].astype(float)).all()
    assert "asks for nothing" in row["sentence"]
    for call in (through_range, sensitivity):
        with pytest.raises(InputError, match="asks for nothing from 0 to 15"):
            call("low_cable_curl", range_deg=(0, 15))


def test_reversed_outside_and_negative_input_is_refused_in_one_line():
    for call, message in (
        (lambda: through_range("hammer_curl", range_deg=(120, 30)), "reversed"),
        (lambda: through_range("hammer_curl", range_deg=(0, 170)), "within 0 to 140"),
        (lambda: through_range("hammer_curl", load_kg=-1), "0 or more, got -1"),
        (lambda: through_range("hammer_curl", load_kg=np.inf), "0 or more, got inf"),
        (lambda: through_range("curl"), "there are: standing_barbell_curl"),
        (lambda: hardest([]), "no variant given"),
        (lambda: hardest(n_draws=3), "6 or more"),
        (
            lambda: log_ratio_draws(["hammer_curl"], reference="deadlift"),
            "not modelled",
        ),
    ):
        with pytest.raises(InputError, match=message) as error:
            call()
        assert "\n" not in str(error.value)


@pytest.mark.slow
def test_ten_thousand_draws_of_every_variant_take_less_than_five_seconds():
    # 10,000 draws x 141 angles x 21 setups, every free joint. Processor seconds of one
    # thread, since others may use the machine.
    variants = [load_catalogue().variants[name] for name in MODELLED]
    setups = [(v, (0.0, 140.0)) for v in variants] + [(variants[0], (30.0, 120.0))]
    assert len(setups) == 21
    start = time.process_time()
    arm = drawn(make_draws(10_000, joint=JOINT, seed=1), body=make_body())
    drawn_limits(arm, setups, details=True)
    assert time.process_time() - start < 5


@pytest.mark.slow
def test_a_curve_through_the_range_takes_less_than_a_third_of_a_second():
    start = time.process_time()
    through_range("low_cable_curl", load_kg=10)
    assert time.process_time() - start < 0.3


def test_a_limit_below_nothing_is_said_to_be_nothing():
    # The limb alone may be too heavy in some draws: no load is less than none.
    row = {
        "range_from_deg": 5.0,
        "range_to_deg": 90.0,
        **{
            "limit_load_low_kg": -0.3,
            "limit_load_kg": 19.0,
            "limit_load_high_kg": 43.0,
        },
        **{"ratio_low": 1.0, "limit_load_ratio": 1.0, "ratio_high": 1.0},
        "best_posture_limit_load_kg": 19.0,
    }
    assert "19 kg as logged (90 % interval 0 to 43 kg)" in limit_sentences(row, 1.0)[0]
