"""Repetitions and load: published relations, and what a log may change of them."""

import numpy as np
import pytest
from numpy.testing import assert_allclose
from strength_logs import log, together

from analytics.strength import fit_strength, log_gain
from analytics.strength.model.relation import (
    LARGEST_REPS,
    exercise_class,
    gain_slopes,
    published_log_gain,
    read_table,
)


# Printed examples: Brzycki 1993, 100 kg for 10 reps is 133.369 kg; Epley 1985, as
# 0.0333, 133.3; NSCA's load chart 87 % at 5 and 75 % at 10 (hand-out).
@pytest.mark.published
@pytest.mark.parametrize(
    ("equation", "reps", "once"),
    [
        ("brzycki", 10, 133.369),
        ("epley", 10, 133.3),
        ("load_chart", 5, 100 / 0.87),
        ("load_chart", 10, 100 / 0.75),
    ],
)
def test_published_equations_give_their_printed_numbers(equation, reps, once):
    found = 100 * np.exp(published_log_gain(equation, reps))
    assert_allclose(found, once, atol=5e-2)


@pytest.mark.published
def test_the_relation_lies_among_the_published_ones():
    reps = np.arange(3, 13)
    names = [row["equation"] for row in read_table("repetition_equations.toml")["row"]]
    theirs = np.array([published_log_gain(name, reps) for name in names])
    ours = log_gain(reps, np.log(30.0))
    assert np.all(ours > theirs.min(axis=0) - 0.02)
    assert np.all(ours < theirs.max(axis=0) + 0.02)


@pytest.mark.analytic
def test_the_relation_is_its_equation_and_one_at_one():
    # (1 + (10 - 1) / 30) = 1.3
    assert_allclose(np.exp(log_gain(10, np.log(30.0))), 1.3, rtol=1e-12)
    # K_4 = 30 (4 / 8)^0.3
    wanted = 1 + 3 / (30 * 0.5**0.3)
    assert_allclose(np.exp(log_gain(4, np.log(30.0), 0.3)), wanted, rtol=1e-12)
    assert log_gain(1, np.log(30.0), 0.3) == 0
    assert np.all(np.diff(log_gain(np.arange(1, LARGEST_REPS), np.log(30.0))) > 0)


@pytest.mark.analytic
@pytest.mark.parametrize("shape", [-0.3, 0.0, 0.4])
def test_slopes_of_the_relation_equal_differences(shape):
    reps, ln_k, step = np.array([2.0, 5.0, 12.0]), np.log(30.0), 1e-6
    found = gain_slopes(reps, ln_k, shape)
    at = [(step, 0, 0), (0, step, 0), (0, 0, step)]
    for slope, (r, k, b) in zip(found, at, strict=True):
        up = log_gain(reps + r, ln_k + k, shape + b)
        down = log_gain(reps - r, ln_k - k, shape - b)
        assert_allclose(slope, (up - down) / (2 * step), rtol=1e-5)


# Facts of the trade, sources in strength_priors.toml: legs allow more repetitions at
# a share of the maximum than arms do.
@pytest.mark.trade
def test_legs_allow_more_repetitions_than_arms():
    k = {
        name: float(exercise_class([name])["k"])
        for name in ("leg_press", "back_squat", "bench_press", "hammer_curl")
    }
    assert k["leg_press"] > k["back_squat"] > k["bench_press"] >= k["hammer_curl"]


@pytest.mark.analytic
def test_without_contrasts_the_relation_stays_as_published():
    # one load and one number of repetitions: nothing to learn
    fit = fit_strength(log(np.arange(0, 84, 3), failed=True))
    row = fit.relation.iloc[0]
    assert row["k"] == pytest.approx(30, rel=0.03)
    assert row["learned_frac"] < 0.01
    once = fit.trend.strength_kg.iloc[-1]
    # 8 repetitions and a quarter uncounted at K = 30
    assert once == pytest.approx(20 * (1 + 7.25 / 30), rel=0.03)


@pytest.mark.analytic
@pytest.mark.parametrize("k", [20.0, 45.0])
def test_sets_at_different_loads_near_failure_teach_the_relation(k):
    days = np.arange(0, 84, 7)
    strength = 50.0
    parts = [
        log(
            days + after,
            reps=float(reps),
            load=strength * k / (k + reps - 1 + 0.25),
            failed=True,
        ).assign(set_id=lambda s, r=reps: s.set_id + f"-{r}")
        for reps, after in ((2, 0), (12, 3))
    ]
    row = fit_strength(together(*parts)).relation.iloc[0]
    assert row["learned_frac"] > 0.5
    assert abs(np.log(row["k"] / k)) < abs(np.log(30 / k)) / 2
    assert row["k_low"] < k < row["k_high"]
