"""What a plan of sets counts on at both sides of every threshold."""

from dataclasses import replace

import numpy as np
import pytest

from analytics.evidence.candidates import possible_setups
from analytics.evidence.comparison import Comparison
from analytics.evidence.more_data import _Planner, plan_sets
from analytics.evidence.observe import Noise
from analytics.evidence.verdict import (
    CAUSES,
    IDEAS,
    RIVALS,
)


def test_later_starts_leave_forty_degrees():
    proposed = {(s.variant, s.range_deg) for s in possible_setups("elbow_flexion")}
    # own ranges: 30 to 120 and 20 to 120
    assert ("no_lockout_curl", (55.0, 120.0)) in proposed
    assert ("no_lockout_curl", (80.0, 120.0)) in proposed  # just 40 degrees
    assert ("preacher_curl_45", (70.0, 120.0)) in proposed
    spans = [b - a for s, span in proposed if span for a, b in [span]]
    assert min(spans) == 40.0


def single(gap, *, sd=0.02):
    """One logged setup that says nothing, and one that tells peaked from the rest."""
    noise = np.random.default_rng(0).normal(0, sd, (600, 1))
    logged = np.random.default_rng(1).normal(0, 1, (600, 1))
    rivals = {r: noise + gap * (1 if i % 2 else -1) for i, r in enumerate(RIVALS)}
    parts = {"observed": np.zeros(1), "cov": np.zeros((1, 1))}
    return (
        Comparison(
            labels=("a",),
            spread=1e-6 * np.eye(1),
            draws=dict.fromkeys(IDEAS, logged),
            **parts | {"cov": 10 * np.eye(1)},
        ),
        Comparison(
            labels=("new",),
            spread=1e-6 * np.eye(2),
            draws=dict.fromkeys(CAUSES, noise) | rivals,
            **parts,
        ),
    )


@pytest.mark.parametrize(("gap", "enough"), [(0.13, True), (0.1, False)])
def test_a_plan_is_enough_from_a_chance_of_nine_in_ten(gap, enough):
    noise = Noise(set_sd=0.05, between_sd=0.0, lifters=1)
    even = dict.fromkeys(IDEAS, 0.0) | {"peaked": 1e-9}
    plan = plan_sets(even, *single(gap), noise, seed=1)
    assert not enough or 0.9 <= plan["chance"].iloc[-1] < 0.95
    assert plan["enough"].tolist() == (plan["chance"] >= 0.9).tolist()
    assert bool(len(plan) and plan["enough"].iloc[-1]) == enough
    assert (plan["sets"] >= 3).all()  # fewer are one day's form


@pytest.mark.parametrize(("gain", "steps"), [(0.019, 0), (0.021, 4), (0.301, 3)])
def test_a_further_setup_adds_a_fiftieth_and_four_are_the_most(
    gain, steps, monkeypatch
):
    def worth(planner, chosen, sets):
        return gain * len(chosen), 0.0

    monkeypatch.setattr(_Planner, "worth", worth)
    logged, one = single(0.1)
    six = replace(
        one,
        labels=tuple("abcdef"),
        spread=1e-6 * np.eye(7),
        draws={shape: np.tile(x, 6) for shape, x in one.draws.items()},
    )
    even = dict.fromkeys(IDEAS, 0.0) | {"peaked": 1e-9}
    noise = Noise(set_sd=0.05, between_sd=0.0, lifters=1)
    plan = plan_sets(even, logged, six, noise, seed=1)
    assert plan["step"].tolist() == list(range(1, steps + 1))


@pytest.mark.analytic
def test_more_sets_do_not_pass_the_spread_between_lifters():
    noise = Noise(set_sd=0.04, between_sd=0.03, lifters=4)
    assert noise.variance(2) == pytest.approx(0.04**2 / 2 + 0.03**2 / 2)
    assert noise.variance(100) == pytest.approx(0.04**2 / 100 + 0.03**2 / 4)
