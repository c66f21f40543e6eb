"""Whether a lifter still gains: numbers, waiting times and words, each on its own."""

from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest
import statsmodels.api as sm
from scipy import stats

from analytics.strength.model.changes import PresentGain, all_gain_changes
from analytics.strength.model.stalls import (
    _change,
    _sentence,
    _sessions_needed,
    day_levels,
    gain_table,
    gain_words,
    slope_sd_by_sessions,
)

HYPER = {"walk_sd": 0.019, "day_sd": 0.03, "set_sd": 0.02, "slope_sd": 0.005}
Z90 = stats.norm.ppf(0.95)
SINCE = np.datetime64("2025-03-03")


@pytest.mark.external
@pytest.mark.parametrize("n", [3, 4, 20, 104])
def test_a_line_through_a_walk_is_that_of_generalised_least_squares(n):
    # statsmodels 0.14: GLS with the covariance of a walk from a free start and noise
    weeks = np.arange(n, dtype=float)
    cov = 0.019**2 * np.minimum.outer(weeks, weeks) + (0.03**2 + 0.02**2) * np.eye(n)
    line = sm.GLS(weeks, sm.add_constant(weeks), sigma=cov).fit()
    free = line.normalized_cov_params[1, 1]
    wanted = (1 / free + 1 / 0.005**2) ** -0.5
    assert slope_sd_by_sessions(HYPER)[n - 1] == pytest.approx(wanted, rel=1e-6)


def test_two_sessions_say_nothing_of_a_gain():
    sd = slope_sd_by_sessions(HYPER)
    assert sd[:2] == pytest.approx([0.005, 0.005])
    assert len(sd) == 104
    assert (np.diff(sd[1:]) < 0).all()


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("mean", "now", "target"),
    [(0.004, 3, 0.004), (-0.004, 10, 0.004), (0.001, 3, 0.0025), (0.0, 3, 0.0025)],
)
def test_a_gain_is_waited_for_until_nine_in_ten_tell_it(mean, now, target):
    # a gain of the smallest size that is called one, 0.0025 a week, is looked for
    sd = slope_sd_by_sessions(HYPER)
    enough = 1 + np.argmax(sd <= target / stats.norm.ppf(0.9))
    wait = _sessions_needed(np.array([mean]), sd[[now - 1]], np.array([0.5]), HYPER)
    assert wait == [max(enough - now, 1)]


@pytest.mark.parametrize(
    ("sd", "wait"), [(0.005, np.inf), (1e-6, np.inf)], ids=["few", "more than enough"]
)
def test_what_two_years_would_not_tell_is_endless(sd, wait):
    wild = HYPER | {"walk_sd": 0.2, "slope_sd": 1.0}
    found = _sessions_needed(np.array([0.001]), np.array([sd]), np.array([0.5]), wild)
    assert found == [wait]


@pytest.mark.parametrize(
    ("p", "known"), [(0.099, True), (0.101, False), (0.899, False), (0.9, True)]
)
def test_what_is_known_is_not_waited_for(p, known):
    found = _sessions_needed(np.array([0.004]), np.array([0.005]), np.array([p]), HYPER)
    assert (found[0] == 0) == known


def lifters():
    """One who gained and then lost, one who gains, with days in no order."""
    start, weeks = pd.Timestamp("2025-01-06"), np.arange(30)
    parts = [
        pd.DataFrame(
            {
                "lifter": lifter,
                "setup": "curl",
                "date": start + pd.to_timedelta(7 * weeks + first, unit="D"),
                "log_level": np.log(40) + level,
                "variance": 0.005**2,
            }
        )
        for lifter, first, level in (
            ("B", 0, np.where(weeks < 16, 0.02 * weeks, 0.62 - 0.02 * weeks)),
            ("A", 3, 0.01 * weeks),
        )
    ]
    return pd.concat(parts, ignore_index=True).sample(frac=1, random_state=1)


def test_gains_belong_to_their_lifter_and_have_their_interval():
    days = lifters()
    done = pd.DataFrame({"lifter": ["B", "A", "B"], "setup": ["curl", "curl", "pad"]})
    found = gain_table(days, done, hyper=HYPER)
    assert found[["lifter", "setup"]].equals(done)
    assert found["slope_frac_per_week"].iloc[0] == found["slope_frac_per_week"].iloc[2]
    for row, lifter in ((0, "B"), (1, "A")):
        own = days[days["lifter"] == lifter].sort_values("date")
        weeks = (own["date"] - own["date"].min()).dt.days.to_numpy() / 7
        (change,) = all_gain_changes(
            np.zeros(30, dtype=int),
            weeks,
            own["log_level"].to_numpy(),
            own["variance"].to_numpy(),
            0.019,
        )
        now = change.present()
        told = found.iloc[row]
        assert told["slope_frac_per_week"] == pytest.approx(now.slope)
        assert told["low"] == pytest.approx(now.slope - Z90 * now.slope_sd)
        assert told["high"] == pytest.approx(now.slope + Z90 * now.slope_sd)
        assert told["p_not_positive"] == pytest.approx(now.p_not_positive)
        if now.has_stalled:
            since = own["date"].min() + pd.Timedelta(days=round(7 * now.since_weeks))
            assert told["stalled_since"] == since
        else:
            assert pd.isna(told["stalled_since"])
    assert found["stalled_since"].notna().tolist() == [True, False, True]
    # the truth: gains ended after 16 weeks
    assert found["stalled_since"][0] == pytest.approx(
        pd.Timestamp("2025-04-28"), abs=pd.Timedelta(weeks=2)
    )


def two_series(*days):
    """Two lifters' series of sessions on such days, and levels of round numbers."""
    n, start = len(days), pd.Timestamp("2025-01-06")
    date = start + pd.to_timedelta(np.array([*days, *days]), unit="D")
    table = pd.DataFrame({"lifter": ["A"] * n + ["B"] * n, "date": date})
    rows = SimpleNamespace(
        table=table, first=np.array([0, n]), lengths=np.array([n, n])
    )
    at = np.arange(2 * n, dtype=float)
    levels = SimpleNamespace(
        mean=at**2,
        variance=1 + at / 10,
        with_last=at / 100,
        slopes=np.column_stack([at, at**2]),
    )
    cov = np.array([[[0.1, 0.02], [0.02, 0.3]], [[0.4, 0.0], [0.0, 0.5]]])
    measured = SimpleNamespace(
        seen=SimpleNamespace(lifters=["A", "B"]), relation=SimpleNamespace(cov=cov)
    )
    return measured, rows, levels


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("days", "then"),
    [
        ((0, 20, 48), 1),  # to the day four weeks
        ((0, 21, 48), 0),  # 20 days before that
        ((0, 27, 49), None),  # 21 days before it
        ((0, 1, 48), 1),
        ((30, 31, 48), None),
    ],
)
def test_a_change_is_the_difference_to_the_last_session_four_weeks_ago(days, then):
    measured, rows, levels = two_series(*days)
    change, sd = _change(measured, rows, levels, 4)
    for series, first in enumerate((0, 3)):
        if then is None:
            assert np.isnan([change[series], sd[series]]).all()
            continue
        a, b = first + then, first + 2
        assert change[series] == b**2 - a**2
        variance = (1 + b / 10) + (1 + a / 10) - 2 * a / 100
        by = np.array([b - a, b**2 - a**2])
        variance += by @ measured.relation.cov[series] @ by
        assert sd[series] == pytest.approx(variance**0.5)


def test_a_day_counts_for_the_lifter_without_what_the_setup_adds():
    measured = SimpleNamespace(
        seen=SimpleNamespace(
            lifters=["A", "B"], setups=pd.DataFrame({"setup": ["curl", "pad"]})
        )
    )
    table = pd.DataFrame({"lifter": ["A", "B"], "setup": ["pad", "curl"], "date": 0})
    rows = SimpleNamespace(table=table)
    levels = SimpleNamespace(site_mean=np.array([3.0, 4.0]), site_variance=[0.1, 0.2])
    ratios = SimpleNamespace(own_mean=np.array([[0.0, -0.5], [0.1, -0.4]]))
    days = day_levels(measured, rows, levels, ratios)
    assert days["log_level"].tolist() == [3.5, 3.9]
    assert days["variance"].tolist() == [0.1, 0.2]


@pytest.mark.parametrize(
    ("slope", "p", "stalled", "words"),
    [
        (0.05, 0.5, pd.NaT, "cannot be told yet"),
        (0.051, 0.01, SINCE, "doubtful: look at the sets"),
        (-0.051, 0.99, SINCE, "doubtful: look at the sets"),
        (0.01, 0.01, pd.Timestamp(SINCE), "no gain since about 2025-03-03"),
        (0.01, 0.099, pd.NaT, "still gaining, 90 %"),
        (0.01, 0.101, pd.NaT, "cannot be told yet"),
        (0.01, 0.005, pd.NaT, "still gaining, over 99 %"),
        (0.01, 0.006, pd.NaT, "still gaining, 99 %"),
        (0.01, np.nan, pd.NaT, "cannot be told yet"),
    ],
)
def test_a_gain_in_few_words(slope, p, stalled, words):
    row = {"slope_frac_per_week": slope, "p_not_positive": p, "stalled_since": stalled}
    assert gain_words(pd.Series(row, dtype=object)) == words
    assert gain_words(None) == "cannot be told yet"


@pytest.mark.parametrize(
    ("of", "needed", "said"),
    [
        ({}, 5.0, "Cannot be told from noise yet: +0.40 % a week (90 % interval -0.09 "
         "to +0.89); about 5 more weekly sessions before this can be told."),
        ({}, 1.0, "Cannot be told from noise yet: +0.40 % a week (90 % interval -0.09 "
         "to +0.89); about 1 more weekly session before this can be told."),
        ({}, np.inf, "Cannot be told from noise yet: +0.40 % a week (90 % interval "
         "-0.09 to +0.89); more than two years of weekly sessions would be needed to "
         "tell."),
        ({"p_not_positive": 0.95}, 0.0, "No gain any more since about 2025-03-03 "
         "(95 %): +0.40 % a week (90 % interval -0.09 to +0.89)."),
        ({"p_ended": 0.7}, 5.0, "Gains have more likely than not ended, since about "
         "2025-03-03 (70 %): now +0.40 % a week (90 % interval -0.09 to +0.89)."),
        ({"p_not_positive": 0.05}, 0.0, "Still gaining (95 %): +0.40 % a week (90 % "
         "interval -0.09 to +0.89)."),
    ],
)  # fmt: skip
def test_a_gain_in_a_sentence(of, needed, said):
    usual = {"slope": 0.004, "slope_sd": 0.003, "p_ended": 0.0, "since_weeks": 5.0}
    now = PresentGain(**{**usual, "p_not_positive": 0.5, **of})
    assert _sentence(now, needed, SINCE) == said


def test_it_is_worked_out_once_for_all_lifters_of_a_fit():
    assert slope_sd_by_sessions(HYPER) is slope_sd_by_sessions(dict(HYPER))
