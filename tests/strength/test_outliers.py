"""Logs as people really keep them: a wide answer or a sentence, never a crash."""

from types import SimpleNamespace

import numpy as np
import pytest
from strength_logs import START, log, together

from analytics.catalogue import say_setups
from analytics.strength import fit_strength
from analytics.strength.model.changes import gain_changes
from analytics.strength.model.outliers import _steps


def changed(column, value, at=5):
    """Six weeks of equal sets, one of them odd."""
    sets = log(np.arange(0, 42, 3), rir=2.0)
    sets.loc[at, column] = value
    return sets


ODD = {
    "three sets of one setup": log([0, 3, 7], rir=2.0),
    "one set": log([0]),
    "unmarked sets alone": log(np.arange(0, 28, 2)),
    "two lifters": together(
        log([0, 2, 4], rir=1.0), log([0, 5], lifter="B", load=35.0)
    ),
    "all on one day": log([0] * 6, rir=[3, 2, 2, 1, 1, 0]),
    "a year between": log([0, 2, 4, 370, 372], rir=2.0),
    "ten times the load": changed("load_kg", 200.0),
    "225 for 22.5": changed("load_kg", 225.0),
    "forty reps": log([0, 2, 4], reps=40.0),
    "half a rep, failed": changed("reps", 0.5).assign(failed=np.arange(14) == 5),
    "half a rep": changed("reps", 0.5),
    "no rep, failed": log([0, 2], reps=0.0, failed=True),
    "twenty in reserve": log([0, 2, 4], rir=20.0),
    "no load": log([0, 2], load=0.0),
    "holds alone": log([0, 2], reps=np.nan, hold_s=10.0, angle_deg=90.0),
    "one side alone": log([0, 2, 4], rir=2.0, side="left"),
    "sides unmarked": log([0, 0, 3, 3], side=["left", "right"] * 2),
}


@pytest.mark.parametrize("name", list(ODD))
def test_an_odd_log_gets_a_wide_answer_or_a_sentence(name):
    sets = ODD[name]
    fit = fit_strength(sets)
    assert fit.n_obs + len(fit.holds) + (fit.reasons.sentence.size > 0) > 0
    assert np.isfinite(fit.trend.strength_kg.astype(float)).all()
    assert (fit.trend.low_kg < fit.trend.high_kg).all()
    if 0 < fit.n_obs < 6:
        assert (fit.trend.high_kg / fit.trend.low_kg).min() > 1.08
        assert fit.reasons.sentence.str.contains("not enough data yet").any()


@pytest.mark.trade
@pytest.mark.parametrize(
    ("factor", "said"),
    [
        (10.0, "as if a decimal sign were missing or misplaced"),
        (2.2046226, "as if it stood in the other unit (kg or lb)"),
        (1 / 2.2046226, "as if it stood in the other unit (kg or lb)"),
    ],
)
def test_a_slip_of_the_pen_is_named_and_moves_a_lone_lifter_little(factor, said):
    # common practice, no source: a single load ten times the others is a typing error
    sets = changed("load_kg", 20.0 * factor)
    usual = fit_strength(sets.drop(index=5)).trend.strength_kg.iloc[-1]
    fit = fit_strength(sets)
    assert fit.set_points.set_index("set_id").kind["A5"] == "flagged"
    assert abs(fit.trend.strength_kg.iloc[-1] / usual - 1) < 0.03
    assert fit.outliers["set_id"].tolist() == ["A5"]
    assert said in fit.outliers["sentence"].iloc[0]
    times = f"{factor:.1f} times" if factor > 1 else f"1/{1 / factor:.1f} of"
    assert f"is {times} what the sets around it say" in fit.outliers["sentence"].iloc[0]
    assert fit.outliers["sentence"].iloc[0] in set(fit.reasons["sentence"])


@pytest.mark.trade
def test_another_machine_that_nobody_named_is_found_by_its_step():
    # common practice, no source: stacks of two makers differ by a quarter and more
    days = np.arange(0, 84, 3)
    chance = np.exp(np.random.default_rng(3).normal(0, 0.02, len(days)))
    load = np.where(days < 42, 20.0, 26.0) * chance
    fit = fit_strength(log(days, load=load, rir=2.0))
    assert len(fit.outliers) == 1
    off = fit.outliers["date"].iloc[0] - log([42])["performed_on"].iloc[0]
    assert abs(off.days) <= 3  # a session
    assert "another machine, station or technique?" in fit.outliers["sentence"].iloc[0]
    gaining = 20.0 * 1.004 ** (days / 7) * chance
    steady = fit_strength(log(days, load=gaining, rir=2.0))
    assert steady.outliers.empty


def steps(level, *, variance=0.001, walk_scale=1.0, gap_days=3):
    """Sessions, counted from 0, at which a series of levels is said to step."""
    n = len(level)
    table = log(np.arange(n) * gap_days).rename(
        columns={"performed_on": "date", "variant": "setup"}
    )
    rows = SimpleNamespace(table=table.assign(kind="reported"))
    levels = SimpleNamespace(
        site_mean=level, site_variance=np.full(n, variance), walk_scale=walk_scale
    )
    found = _steps(rows, levels)
    return ((found["date"] - START).dt.days // gap_days).tolist(), found["sentence"]


@pytest.mark.analytic
@pytest.mark.parametrize("walk_scale", [0.5, 2.0])
@pytest.mark.parametrize(("sds", "found"), [(3.99, []), (4.01, [10]), (-4.01, [10])])
def test_a_step_is_more_than_four_of_its_spreads(sds, found, walk_scale):
    # two means of three sessions each, and a week of walk of 0.019 times its scale
    spread = np.sqrt(2 * 0.001 / 3 + (walk_scale * 0.019) ** 2)
    at, said = steps(np.repeat([0, sds * spread], 10), walk_scale=walk_scale)
    assert at == found
    if found:
        words = "higher" if sds > 0 else "lower"
        size = 100 * abs(np.expm1(sds * spread))
        assert f"strength is {size:.0f} % {words} than" in said.iloc[0]


@pytest.mark.parametrize(
    ("second", "found"),
    [(20, [10, 20]), (15, [10, 15]), (13, [13]), (11, [11])],
)
def test_of_steps_within_three_sessions_the_larger_is_told(second, found):
    level = np.zeros(30)
    level[10:] += 0.5
    level[second:] += 1.0
    assert steps(level)[0] == found


def test_one_session_makes_no_step():
    level = np.zeros(20)
    level[10] = 1.0  # form, not another machine
    assert steps(level)[0] == []


def test_rows_from_a_day_on_in_the_other_unit_are_named_as_such():
    days = np.arange(0, 84, 3)
    load = np.where(days < 42, 20.0, 20.0 * 2.2046226)
    fit = fit_strength(log(days, load=load, rir=2.0))
    assert fit.outliers["sentence"].str.contains("other unit").any()


def test_a_slope_nobody_has_carries_the_words_that_the_data_are_odd():
    days = np.arange(0, 42, 3)
    for gain in (0.005, 0.25):
        slopes = fit_strength(
            log(days, load=20.0 * np.exp(gain * days / 7), rir=1.0)
        ).slopes
        large = (slopes["slope_frac_per_week"].abs() > 0.05).to_numpy()
        odd = slopes["sentence"].str.startswith("Doubtful data").to_numpy()
        assert (large == odd).all()


def careers(rng, gain, n=300, weeks=30, walk_sd=0.008, noise=0.03):
    """Log strength of lifters who train twice a week; shares no code with the model."""
    t = np.sort(np.r_[np.arange(weeks), np.arange(weeks) + 0.43])
    steps = rng.normal(0, walk_sd, (n, len(t))) * np.sqrt(np.diff(t, prepend=t[0]))
    return t, gain(t) + steps.cumsum(axis=1) + rng.normal(0, noise, (n, len(t)))


def found(t, y, walk_sd=0.008, noise=0.03):
    changes = gain_changes(
        t,
        y,
        np.full(len(t), noise**2),
        walk_sd=walk_sd,
        slope=0.003,
        slope_sd=0.0035,
    )
    return changes.present()


@pytest.mark.analytic
def test_steady_gains_raise_few_alarms_and_a_plateau_is_dated():
    rng = np.random.default_rng(7)
    t, steady = careers(rng, lambda t: 0.004 * t)
    alarms = [found(t, y).has_stalled for y in steady]
    # asked for: 5 to 10 % at most of lifters who gain 0.4 % a week
    assert np.mean(alarms) < 0.10
    t, stopped = careers(rng, lambda t: 0.01 * np.minimum(t, 10))
    seen = [found(t, y) for y in stopped]
    dated = np.array([p.since_weeks for p in seen if p.has_stalled])
    # 20 weeks of plateau after 10 of 1 % a week: most are seen
    assert len(dated) / len(seen) > 0.5
    assert abs(np.median(dated) - 10) < 4


@pytest.mark.parametrize(
    ("key", "words"),
    [
        ("low_cable_curl @ stack 2", "low_cable_curl on stack 2"),
        ("preacher_curl_45 [50:120]", "preacher_curl_45 (50–120°)"),
        ("preacher_curl_45 @ bench [12.5:90]", "preacher_curl_45 on bench (12.5–90°)"),
        ("leg_press [nan:90]", "leg_press (to 90°)"),
        ("leg_press [10:nan]", "leg_press (from 10°)"),
        ("preacher_curl_45 held 40° : 80°", "preacher_curl_45 held 40° ÷ 80°"),
        ("hammer_curl", "hammer_curl"),
    ],
)
def test_a_setup_is_said_without_signs(key, words):
    assert say_setups(key, {}) == words
