"""Verdicts, their causes and words at both sides of every threshold."""

import math
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest
from scipy import stats
from simulated_fits import REFERENCE, simulated_fit

from analytics.evidence import curve_test, p_in_words
from analytics.evidence.compare import compare
from analytics.evidence.comparison import Comparison
from analytics.evidence.observe import observe
from analytics.evidence.say import _times, share_caution
from analytics.evidence.verdict import (
    CAUSES,
    IDEAS,
    RIVALS,
    cause_of,
    decide,
    open_question,
    shape_weights,
)

BELOW, ABOVE = 2.29, 2.32  # about log 10 = 2.3026, the odds that are asked for
ENOUGH = {"p_value": 0.5, "setups": 3, "sets": 60}


def leads(**known):
    """Evidence for every idea: peaked by all its causes, all rivals far behind."""
    return dict.fromkeys(CAUSES, 0.0) | dict.fromkeys(RIVALS, -9.0) | known


@pytest.mark.parametrize(
    ("evidence", "changed", "verdict"),
    [
        (leads(), {}, "agrees"),
        *((leads(**{rival: -ABOVE}), {}, "agrees") for rival in RIVALS),
        *((leads(**{rival: -BELOW}), {}, "not enough data yet") for rival in RIVALS),
        *((leads(**{rival: BELOW}), {}, "not enough data yet") for rival in RIVALS),
        *((leads(**{rival: ABOVE}), {}, "disagrees") for rival in RIVALS),
        (leads(flat=math.log(10)), {}, "disagrees"),
        (leads(flat=-math.log(10)), {}, "agrees"),
        (leads(), {"p_value": 0.01}, "agrees"),
        (leads(), {"p_value": 0.0101}, "agrees"),
        (leads(), {"p_value": 0.0099}, "disagrees"),
        (leads(), {"sets": 59}, "not enough data yet"),
        (leads(flat=9.0), {"sets": 59}, "not enough data yet"),
        (leads(), {"setups": 2}, "not enough data yet"),
        (leads(), {"steady": False}, "not enough data yet"),
        # what makes the curve never makes a verdict
        (leads(leverage=9.0), {}, "agrees"),
        (leads(mild=9.0), {}, "agrees"),
        (leads(leverage=9.0, rising=9.0 + BELOW), {}, "not enough data yet"),
        (leads(mild=9.0, flat=9.0 + BELOW), {}, "not enough data yet"),
    ],
)
def test_the_verdict_is_the_one_the_method_page_states(evidence, changed, verdict):
    assert decide(evidence, **(ENOUGH | changed)) == verdict


@pytest.mark.parametrize(
    ("evidence", "verdict", "cause"),
    [
        (leads(peaked=ABOVE), "agrees", "length"),
        (leads(peaked=BELOW), "agrees", "cannot be told"),
        (leads(leverage=ABOVE), "agrees", "leverage"),
        (leads(leverage=BELOW), "agrees", "cannot be told"),
        # half as deep a curve stands between: neither length nor leverage is named
        (leads(leverage=9.0, mild=9.0 - BELOW), "agrees", "cannot be told"),
        (leads(mild=9.0), "agrees", "cannot be told"),
        (leads(leverage=9.0), "not enough data yet", "cannot be told"),
        (leads(leverage=9.0), "disagrees", "cannot be told"),
    ],
)
def test_a_cause_is_named_at_ten_times_and_only_of_a_log_that_agrees(
    evidence, verdict, cause
):
    assert cause_of(evidence, verdict) == cause


@pytest.mark.parametrize(
    ("evidence", "question"),
    [
        (leads(peaked=9.0, flat=9.0), ("flat", ("peaked",))),
        (leads(peaked=1.0, rising=-0.1), ("peaked", RIVALS)),
        (leads(rising=1.0), ("rising", ("peaked",))),
        (leads(rising=ABOVE), ("rising", ())),
        (leads(leverage=0.5), ("leverage", ("peaked", "mild"))),
        (leads(leverage=BELOW), ("leverage", ("peaked", "mild"))),
        (leads(leverage=ABOVE), ("leverage", ())),
        (leads(leverage=9.0, mild=9.0 - BELOW), ("leverage", ("mild", "peaked"))),
    ],
)
def test_the_open_question_is_the_shape_then_what_makes_it(evidence, question):
    assert open_question(evidence) == question


@pytest.mark.analytic
def test_a_peaked_strength_weighs_the_mean_of_its_causes():
    # equal priors on five shapes; the peaked one is 3, 1 and 2 over three causes
    evidence = dict.fromkeys(RIVALS, math.log(2.0))
    evidence |= dict(zip(CAUSES, np.log([3.0, 1.0, 2.0]), strict=True))
    assert shape_weights(evidence) == pytest.approx(
        dict.fromkeys(("peaked", *RIVALS), 1 / 5)
    )


@pytest.mark.parametrize(
    ("setups", "holds", "steady"),
    [
        (["standing_dumbbell_curl", "no_lockout_curl"], (), False),
        (["standing_dumbbell_curl", "preacher_curl_45"], (), True),
        (["standing_dumbbell_curl", "incline_curl_45"], (), True),
        (["standing_dumbbell_curl", "no_lockout_curl"], (60.0, 90.0), True),
    ],
)
def test_one_lifter_is_judged_only_where_something_is_held(setups, holds, steady):
    fit = simulated_fit(
        "peaked", lifters=2, setups=[(v, None) for v in setups], hold_angles=holds
    )
    assert observe(fit, lifter="R01").steady == steady
    assert observe(fit).steady


@pytest.mark.long
def test_a_lifter_who_could_swing_everywhere_is_told_what_to_log():
    free = ("standing_dumbbell_curl", "no_lockout_curl")
    setups = [*((v, None) for v in free), (REFERENCE, (90.0, 140.0))]
    fit = simulated_fit("peaked", lifters=2, sets=30, setups=setups)
    test = curve_test(fit, lifter="R01", n_draws=60)
    assert test.verdict == "not enough data yet"
    assert any("swing could pass for strength" in reason for reason in test.reasons)


def test_where_nothing_is_compared_nothing_is_found():
    found = compare(None, SimpleNamespace())
    assert set(found.log_evidence.values()) == {0.0}
    assert (found.dof, len(found.residuals), len(found.left_out)) == (0, 0, 0)
    assert np.isnan([found.chi2, found.p_value, found.together]).all()


@pytest.mark.parametrize(
    ("gap", "telling"), [(0.1249, False), (0.125, True), (0.1251, True)]
)
def test_a_setup_is_informative_from_half_a_spread(gap, telling):
    # draws that do not differ leave the spread alone: 0.25
    flat = dict.fromkeys(IDEAS, np.zeros((60, 1))) | {"flat": np.full((60, 1), gap)}
    comparison = Comparison(
        labels=("a",),
        observed=np.zeros(1),
        cov=1e-4 * np.eye(1),
        spread=0.25**2 * np.eye(1),
        draws=flat,
    )
    rows = pd.DataFrame(
        {
            **{"variant": ["a"], "range_from_deg": [0.0], "range_to_deg": [120.0]},
            **{"sets": [5], "between_sd": [0.03]},
        }
    )
    own = pd.DataFrame(columns=["lifter", "setup", "own_ratio", "own_low", "own_high"])
    seen = SimpleNamespace(table=rows, personal=own, lifter=None)
    assert compare(comparison, seen).residuals["informative"].tolist() == [telling]


@pytest.mark.analytic
def test_a_residual_is_log_less_prediction_over_both_spreads():
    # draws without spread: 0.03 is not explained, 0.04 is the log's; 5 in all
    draws = {idea: np.full((60, 1), 0.1) for idea in IDEAS}
    # the best of the causes tells the fit, and rivals how far they are from it
    draws |= {"mild": np.full((60, 1), 0.2), "flat": np.full((60, 1), 0.13)}
    comparison = Comparison(
        labels=("a",),
        observed=np.array([0.2]),
        cov=0.04**2 * np.eye(1),
        spread=0.03**2 * np.eye(1),
        draws=draws | {"rising": np.full((60, 1), 0.04)},
    )
    rows = {"variant": ["a"], "range_from_deg": [0.0], "range_to_deg": [120.0]}
    rows |= {"sets": [5], "between_sd": [0.03]}
    own = pd.DataFrame(columns=["lifter", "setup", "own_ratio", "own_low", "own_high"])
    seen = SimpleNamespace(table=pd.DataFrame(rows), personal=own, lifter=None)
    found = compare(comparison, seen)
    row = found.residuals.iloc[0]
    assert (found.chi2, found.dof) == (pytest.approx(0.0), 1)
    assert found.p_value == pytest.approx(1.0)
    assert found.together == pytest.approx(1.0)
    z90 = stats.norm.ppf(0.95)
    for name, mean, sd in (("", 0.2, 0.04), ("predicted_", 0.1, 0.03)):
        assert row[f"{name}low"] == pytest.approx(np.exp(mean - z90 * sd))
        assert row[f"{name}high"] == pytest.approx(np.exp(mean + z90 * sd))
        middle = row[name.strip("_") or "ratio"]
        assert middle == pytest.approx(np.exp(mean))
    assert row["residual_z"] == pytest.approx(0.1 / 0.05)
    assert (row["information"], row["information_rising"]) == pytest.approx((1.0, 2.0))


def test_words_change_where_they_say():
    assert share_caution({"a": 0.5, "b": 0.5}) == ""
    assert "51%" in share_caution({"a": 0.51, "b": 0.49})
    assert p_in_words(0.001) == "p = 0.001"
    assert p_in_words(0.00099) == "p < 0.001"
    assert _times(math.log(999_999)) == "999,999 times"
    assert _times(math.log(1_000_001)) == "more than a million times"
