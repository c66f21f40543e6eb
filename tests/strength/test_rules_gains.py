"""Stalls, gains and what is said of strength, from both sides."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from strength_logs import log

from analytics.strength import fit_strength
from analytics.strength.model.changes import PresentGain, gain_changes
from analytics.strength.model.results import strength_kg


# Stalls.
def gain(**of):
    usual = {"slope": 0.001, "slope_sd": 0.002, "p_ended": 0.0, "since_weeks": 5.0}
    return PresentGain(**{**usual, "p_not_positive": 0.5, **of})


@pytest.mark.parametrize(
    ("of", "stalled"),
    [
        ({"p_not_positive": 0.89}, False),
        ({"p_not_positive": 0.90}, True),
        ({"p_ended": 0.50}, False),
        ({"p_ended": 0.51}, True),
    ],
)
def test_a_stall_is_surely_no_gain_or_one_that_likely_ended(of, stalled):
    assert gain(**of).has_stalled == stalled


def changes(weeks, strength, sd=0.01):
    weeks = np.asarray(weeks, dtype=float)
    return gain_changes(
        weeks,
        np.asarray(strength, dtype=float),
        np.full(len(weeks), sd**2),
        walk_sd=0.005,
        slope=0.002,
        slope_sd=0.006,
    )


@pytest.mark.parametrize(("weeks", "points"), [(5, 1), (6, 2), (7, 3), (30, 26)])
def test_a_change_of_gain_lies_three_weeks_from_both_ends(weeks, points):
    found = changes(np.arange(weeks + 1), np.zeros(weeks + 1)).weeks
    assert len(found) == points
    assert points == 1 or (found[1], found[-1]) == (3, weeks - 3)


def test_a_change_is_as_likely_as_none_beforehand():
    # measurements that tell nothing leave what was believed before
    found = changes(np.arange(31), np.zeros(31), sd=1e3)
    assert found.weight[0] == pytest.approx(0.5, abs=1e-3)
    assert found.weight[1:] == pytest.approx(np.full(25, 0.02), abs=1e-3)


@pytest.mark.parametrize(("weeks_ago", "counts"), [(51, True), (53, False)])
def test_gains_of_more_than_a_year_ago_say_nothing_of_present_ones(weeks_ago, counts):
    weeks = np.r_[0, weeks_ago + np.arange(-20, 1)]
    usual = changes(weeks, np.zeros(22)).present().slope
    moved = changes(weeks, np.r_[-1.0, np.zeros(21)]).present().slope
    assert (abs(usual - moved) > 1e-9) == counts


def slope_words(mean, **of):
    from analytics.strength.model.stalls import _sentence

    since = np.datetime64("2025-03-03")
    return _sentence(gain(slope=mean, **of), of.pop("needed", 5.0), since)


@pytest.mark.parametrize(
    ("mean", "of", "begins"),
    [
        (0.05, {}, "Cannot be told"),
        (0.051, {}, "Doubtful data"),
        (-0.051, {"p_not_positive": 0.99}, "Doubtful data"),
        (0.0, {"p_not_positive": 0.90}, "No gain any more since about 2025-03-03"),
        (0.0, {"p_not_positive": 0.89}, "Cannot be told"),
        (0.0, {"p_ended": 0.51}, "Gains have more likely than not ended"),
        (0.004, {"p_not_positive": 0.099}, "Still gaining (90 %)"),
        (0.004, {"p_not_positive": 0.11}, "Cannot be told"),
        (0.004, {"p_not_positive": 0.004}, "Still gaining (over 99 %)"),
    ],
)
def test_a_gain_is_told_by_how_sure_it_is(mean, of, begins):
    assert slope_words(mean, **of).startswith(begins)


@pytest.mark.parametrize(("days", "known"), [(28, True), (48, True), (49, False)])
def test_strength_four_weeks_ago_is_that_of_a_session_within_three_weeks(days, known):
    fit = fit_strength(log([0, days], rir=1.0))
    assert np.isfinite(fit.slopes["change_4w"].iloc[0]) == known


@pytest.mark.parametrize(("n", "told"), [(5, True), (6, False)])
def test_six_sets_are_enough_to_say_no_more_of_their_number(n, told):
    reasons = fit_strength(log(np.arange(n), rir=1.0)).reasons["sentence"]
    assert reasons.str.contains(f"Only {n} sets").any() == told


@pytest.mark.parametrize("n", [2, 60])
def test_an_interval_wider_than_a_tenth_is_called_wide(n):
    told = {} if n == 2 else {"reps": 1.0, "failed": True}
    fit = fit_strength(log(np.arange(n) * 2, **told))
    half = 1.6448536 * fit.trend["log_sd"].iloc[-1]
    wide = fit.reasons["sentence"].str.contains("Wide interval").any()
    assert wide == (half > 0.10)
    assert (n == 2) == wide


@pytest.mark.parametrize(("days", "holds"), [(28, True), (29, False)])
def test_an_interval_reaches_what_was_lifted_in_the_last_four_weeks(days, holds):
    fit = fit_strength(log([0, 60], rir=1.0))
    row = fit.trend.tail(1).drop(columns=["strength_kg", "low_kg", "high_kg"])
    heavy = fit.loads.head(1).assign(
        date=row["date"].iloc[0] - pd.Timedelta(days=days), load_kg=500.0, reps=1.0
    )
    fit = replace(fit, loads=heavy)
    assert (strength_kg(fit, row)["high_kg"].iloc[0] == 500.0) == holds
