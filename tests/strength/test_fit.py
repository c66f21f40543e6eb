"""Strength and ratios from whole logs with a known truth."""

import numpy as np
import pandas as pd
import pytest
from numpy.testing import assert_allclose
from strength_battery.plans import make_log
from strength_logs import CURL, START, at_one_station, log, together

from analytics.errors import InputError
from analytics.store import Store
from analytics.strength import fit_strength, for_reps, over_time, predict
from analytics.strength.model.cache import fitted, pack, unpack
from analytics.strength.model.stalls import slope_sd_by_sessions

KEYS = ["lifter", "setup", "date"]


@pytest.fixture(scope="module")
def known():
    """Six lifters, the bar at 8 and the pad at 10 repetitions, truth beside it."""
    made = make_log("8_and_10", 5)
    sets = at_one_station(made.sets)
    return made, sets, fit_strength(sets)


def true_kg(made, reps):
    """True load for so many repetitions, by lifter, setup and day."""
    truth = made.truth[made.truth["reps"] == reps]
    truth = truth.rename(columns={"variant": "setup", "performed_on": "date"})
    truth = truth.assign(date=pd.to_datetime(truth["date"]))
    return truth[[*KEYS, "strength_kg"]].rename(columns={"strength_kg": "true_kg"})


@pytest.mark.analytic
def test_what_is_trained_is_recovered_at_its_repetitions(known):
    # truth of the generator. One log: most of its error is common to the cohort, so
    # the median is held to two standard errors (all plans: strength_battery)
    made, _, fit = known
    for setup, reps in ((CURL, 8), ("preacher_curl_45", 10)):
        table = over_time([fit], reps=reps).rename(columns={"variant": "setup"})
        both = table[table["setup"] == setup].merge(true_kg(made, reps), on=KEYS)
        assert len(both) > 50
        error = np.log(both["strength_kg"] / both["true_kg"])
        sd = np.log(both["high_kg"] / both["low_kg"]).median() / 2 / 1.645
        assert abs(error.median()) < 2 * sd


@pytest.mark.analytic
def test_ratios_of_variants_trained_at_other_repetitions_lie_in_their_intervals(known):
    made, _, fit = known
    row = fit.ratios.set_index("setup").loc["preacher_curl_45"]
    truth = made.facts["ratios"]["preacher_curl_45"]
    # four standard errors: a frequency of 6 in 100,000
    sd = np.log(row["high"] / row["low"]) / 2 / 1.645
    assert abs(np.log(row["ratio"] / truth)) < 4 * sd
    assert row["low"] < row["ratio"] < row["high"]
    assert 8 <= row["reps"] <= 13  # between the repetitions of both, reserve included


@pytest.mark.analytic
def test_more_repetitions_are_less_load_and_the_trained_are_known_best(known):
    _, sets, fit = known
    own = sets[(sets["variant"] == CURL) & (sets["lifter"] == "L01")]
    told = own["reps"] + own["rir"]
    state = fit.trend[(fit.trend["setup"] == CURL) & (fit.trend["lifter"] == "L01")]
    state = state.tail(1).iloc[np.zeros(15, dtype=int)]
    mean, sd = for_reps(fit, state, np.arange(1, 16))
    assert np.all(np.diff(mean) < 0)
    assert told.min() <= np.argmin(sd) + 1 <= told.max()
    with pytest.raises(InputError, match="reps must be 1 to 30"):
        over_time([fit], reps=31)


@pytest.mark.analytic
def test_an_interval_reaches_every_load_lifted_so_often(known):
    _, sets, fit = known
    for reps in (1, 8):
        table = over_time([fit], reps=reps)
        done = sets[sets["reps"] >= reps].groupby(["lifter", "variant", "performed_on"])
        best = done["load_kg"].max().rename_axis(["lifter", "variant", "date"])
        best = best.reset_index().assign(date=lambda b: pd.to_datetime(b["date"]))
        both = table.merge(best, on=["lifter", "variant", "date"])
        assert len(both) > 100
        assert (both["high_kg"] >= both["load_kg"] - 1e-9).all()


def test_every_set_is_shown_by_kind(known):
    _, sets, fit = known
    assert len(fit.set_points) == len(sets) == fit.n_obs
    assert set(fit.set_points.kind) <= {"failure", "rir", "unreported", "flagged"}
    assert fit.set_points.influence.between(0, 1).all()


@pytest.mark.analytic
def test_a_different_reference_gives_reciprocal_ratios(known):
    _, sets, fit = known
    other = fit_strength(sets, reference="preacher_curl_45")
    there = fit.ratios.set_index("setup").ratio["preacher_curl_45"]
    back = other.ratios.set_index("setup").ratio[CURL]
    # log ratio of a to b is minus that of b to a
    assert_allclose(there * back, 1, atol=2e-3)


@pytest.mark.analytic
def test_ratios_are_per_working_arm(known):
    _, sets, _ = known
    few = sets[sets["lifter"].isin(["L01", "L02"])]
    fit = fit_strength(few)
    share = np.where(few.variant == CURL, 2.0, 1.0)
    halved = fit_strength(few.assign(arms_share=share))
    # a bar shared by two arms: per arm, its load is half as large
    assert_allclose(halved.ratios.ratio, 2 * fit.ratios.ratio, rtol=1e-9)
    assert_allclose(halved.trend.strength_kg, fit.trend.strength_kg, rtol=1e-9)


@pytest.mark.analytic
def test_loads_twice_as_large_are_twice_the_strength(known):
    _, sets, fit = known
    twice = fit_strength(sets.assign(load_kg=2 * sets["load_kg"]))
    kg = ["strength_kg", "low_kg", "high_kg"]
    assert_allclose(twice.trend[kg], 2 * fit.trend[kg], rtol=1e-6)


@pytest.mark.analytic
def test_body_mass_counts_where_the_lift_moves_the_body():
    sets = log(np.arange(0, 42, 3), rir=2.0, variant="chin_up")
    plain = fit_strength(sets.assign(load_kg=sets.load_kg + 70.0))
    body = fit_strength(sets.assign(body_share=1.0, body_mass_kg=70.0))
    # load plus body is the same in both; strength is told without the body
    assert_allclose(body.trend.strength_kg + 70, plain.trend.strength_kg, rtol=1e-9)
    unknown = fit_strength(sets.assign(body_share=1.0, body_mass_kg=np.nan))
    assert unknown.n_obs == 0
    assert "body mass unknown" in unknown.reasons.sentence[0]


@pytest.mark.parametrize("kept", [0, 1, 3])
def test_a_few_sets_give_a_wide_answer_or_a_sentence(kept):
    fit = fit_strength(log([0, 3, 7], rir=2.0).head(kept))
    assert fit.n_obs == kept
    if kept:
        assert (fit.trend.high_kg / fit.trend.low_kg > 1.1).all()
        assert "more would help" in " ".join(fit.reasons.sentence)


def test_unmarked_sets_alone_rest_on_assumed_reserve_and_say_so():
    silent = log(np.arange(0, 42, 3))
    told = log(np.arange(0, 42, 3), rir=2.0, lifter="B")
    fit = fit_strength(together(silent, told))
    basis = fit.trend.groupby("lifter")["basis"].unique().map(list).to_dict()
    assert basis == {"A": ["assumed reserve"], "B": ["reported effort"]}
    ten = over_time([fit], reps=10).groupby("lifter").last()
    width = np.log(ten["high_kg"] / ten["low_kg"])
    assert width["A"] > width["B"]
    assert "No set says how hard it was" in fit.reasons.sentence[0]


@pytest.mark.trade
def test_equal_straight_sets_without_effort_are_no_maximum():
    # common practice, no source: straight sets of one load end short of failure, so
    # the load they imply is what the lifter can do at least
    days = np.repeat([0, 7, 14, 21], 3)
    fit = fit_strength(log(days, load=30.0))
    failed = fit_strength(log(days, load=30.0, failed=True))
    assert (fit.trend.strength_kg > failed.trend.strength_kg * 1.02).all()
    assert fit.trend.high_kg.iloc[-1] > failed.trend.strength_kg.iloc[-1] * 1.12


@pytest.mark.trade
def test_straight_unmarked_sets_say_no_more_than_the_best_of_them():
    # common practice, no source: straight sets are planned with the same reps, so
    # their agreement is no evidence
    one = log(np.arange(0, 42, 3))
    again = one.assign(set_id=one.set_id + "-again")
    fewer = one.assign(set_id=one.set_id + "-fewer", reps=7.0)
    first = fit_strength(one).trend
    three = fit_strength(together(one, again, fewer)).trend
    assert_allclose(three["log_sd"], first["log_sd"], rtol=0.05)
    # Whoever does three such sets is a little more tired in them than in one.
    assert (three["log_strength"] - first["log_strength"]).between(0, 0.03).all()


def test_a_load_that_was_not_lifted_is_an_upper_limit():
    sets = log(np.arange(0, 42, 3), rir=2.0)
    tried = log([39], reps=0.0, load=28.0, failed=True).assign(set_id="try")
    before = fit_strength(sets).trend.iloc[-1]
    after = fit_strength(together(sets, tried)).trend.iloc[-1]
    assert before.strength_kg < 28.0 * 1.1
    # A row that says nothing has a variance of 4, not infinity: 1e-5 of strength.
    assert after.strength_kg <= before.strength_kg * (1 + 1e-5)


def test_holds_are_kept_apart_from_dynamic_strength():
    sets = log(np.arange(0, 42, 3), rir=2.0)
    hold = log([3], reps=np.nan, hold_s=5.0, angle_deg=60.0).assign(set_id="hold")
    fit = fit_strength(together(sets, hold))
    assert fit.n_obs == len(sets)
    assert fit.holds.angle_deg.tolist() == [60.0]


def test_another_range_is_another_setup():
    sets = log(np.arange(20), rir=2.0)
    half = sets.index % 2 == 0
    sets["range_from_deg"] = np.where(half, 40.0, np.nan)
    sets["range_to_deg"] = np.where(half, 90.0, np.nan)
    labels = fit_strength(sets).setups.setup.tolist()
    assert labels == [CURL, f"{CURL} [40:90]"]


@pytest.mark.analytic
def test_left_and_right_are_contrasted_with_an_interval():
    rng = np.random.default_rng(5)
    days = np.repeat(np.arange(0, 70, 3), 2)
    parts = []
    for lifter in "ABC":
        sets = log(days, rir=2.0, lifter=lifter)
        left = sets.index % 2 == 0
        # 5 % weaker on the left, and a chance of 2 % in every load
        load = 20 * np.where(left, 0.95, 1.0) * np.exp(rng.normal(0, 0.02, len(sets)))
        parts.append(sets.assign(side=np.where(left, "left", "right"), load_kg=load))
    sides = fit_strength(together(*parts)).sides
    assert ((sides.low < 0.95) & (sides.high > 0.95)).all()
    assert (sides.left_right_ratio < 1).all()
    assert len(sides) == 3


@pytest.mark.analytic
def test_prediction_widens_with_the_days_since_the_last_session(known):
    _, _, fit = known
    last = fit.trend[fit.trend.lifter == "L01"].date.max()
    ahead = [
        predict(fit, "L01", CURL, last + pd.Timedelta(days=d))[1]
        for d in (0, 7, 28, 90)
    ]
    assert np.all(np.diff(ahead) > 0)
    with pytest.raises(InputError, match="no estimate for lifter"):
        predict(fit, "L01", "nothing", last)


@pytest.mark.external
def test_slope_is_learnt_from_weekly_sessions_at_the_known_pace():
    hyper = {"walk_sd": 0.019, "day_sd": 0.0335, "set_sd": 0.0, "slope_sd": 0.02}
    sd = slope_sd_by_sessions(hyper)[[7, 11, 15, 25, 51]]
    # random walk 0.019 per root week, session noise 0.0335, by a state-space
    # filter (own numpy, statsmodels conventions): 0.82 0.62 0.52 0.39 0.27 % a
    # week after 8, 12, 16, 26, 52 sessions with a prior SD of 2 % a week
    assert_allclose(100 * sd, [0.82, 0.62, 0.52, 0.39, 0.27], atol=0.006)


@pytest.mark.analytic
def test_the_change_of_eight_weeks_holds_a_steady_gain():
    days = np.arange(0, 140, 3)
    load = 40 * np.exp(0.005 * days / 7)  # half a per cent a week
    row = fit_strength(log(days, load=load, rir=1.0)).slopes.iloc[0]
    for weeks in (4, 8):
        low, high = row[f"change_{weeks}w_low"], row[f"change_{weeks}w_high"]
        assert low < 0.005 * weeks < high
    early = fit_strength(log([0, 3, 6], rir=1.0)).slopes.iloc[0]
    assert np.isnan(early["change_4w"])


def test_a_kept_fit_comes_back_the_same(known, tmp_path):
    _, _, fit = known
    back = unpack(pack(fit))
    for name in ("trend", "slopes", "relation", "loads"):
        pd.testing.assert_frame_equal(getattr(back, name), getattr(fit, name))
    assert_allclose(back.log_ratio_cov, fit.log_ratio_cov, rtol=0)
    assert fitted(Store(tmp_path / "none.duckdb")).n_obs == 0


def test_the_state_is_carried_to_days_between_and_after_sessions():
    fit = fit_strength(log([0, 14], rir=1.0, load=[20.0, 24.0]))
    between = over_time([fit], on=START + pd.Timedelta(days=7)).iloc[0]
    first, last = fit.trend.strength_kg
    assert min(first, last) < between.strength_kg < max(first, last)
