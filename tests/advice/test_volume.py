"""Weekly work for the elbow flexors, girth and what cannot be said."""

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from analytics.advice.volume import direct_work, line_trend, weekly_sets
from analytics.errors import InputError


def sets_of(rows: list[dict]) -> pd.DataFrame:
    frame = pd.DataFrame(rows)
    frame["performed_on"] = pd.to_datetime(frame["performed_on"])
    blank = {"lifter": "R01", "rir": np.nan, "failed": False, "flag": "", "sets": 1}
    for column, value in blank.items():
        if column not in frame:
            frame[column] = value
    return frame


def test_curls_are_direct_pulls_indirect_and_deadlifts_neither():
    sets = sets_of(
        [
            {"performed_on": "2025-10-06", "movement": "elbow_flexion", "rir": 1},
            {"performed_on": "2025-10-08", "movement": "pull", "rir": 2},
            {"performed_on": "2025-10-08", "movement": "pull", "rir": 3},
            {"performed_on": "2025-10-09", "movement": "hinge", "rir": 1},
        ]
    )
    week = weekly_sets(sets).iloc[0]
    assert (week["direct"], week["indirect"]) == (1, 2)


def test_a_set_without_effort_is_counted_apart_and_an_easy_one_not_at_all():
    sets = sets_of(
        [
            {"performed_on": "2025-10-06", "movement": "elbow_flexion", "rir": np.nan},
            {"performed_on": "2025-10-06", "movement": "elbow_flexion", "rir": 6},
            {
                "performed_on": "2025-10-06",
                "movement": "elbow_flexion",
                "rir": np.nan,
                "failed": True,
            },
        ]
    )
    week = weekly_sets(sets).iloc[0]
    assert (week["direct"], week["effort_unknown"]) == (1, 1)


def test_a_week_away_is_a_row_of_zeros():
    sets = sets_of(
        [
            {"performed_on": "2025-10-06", "movement": "pull", "rir": 1},
            {"performed_on": "2025-10-26", "movement": "pull", "rir": 1},
        ]
    )
    assert weekly_sets(sets)["indirect"].tolist() == [1, 0, 1]


# scipy.stats.linregress is the outside computation of the same slope and error.
@pytest.mark.external
def test_girth_trend_is_the_least_squares_line_of_a_general_library():
    rng = np.random.default_rng(4)
    day = np.arange(0, 140, 28.0)
    girth = 0.34 + 0.0005 * day / 7 + rng.normal(0, 0.001, 5)
    line = stats.linregress(day, girth)
    slope, low, high = line_trend(day, girth)
    half = stats.t.ppf(0.95, 3) * line.stderr * 7
    np.testing.assert_allclose(
        [slope, low, high],
        [line.slope * 7, line.slope * 7 - half, line.slope * 7 + half],
    )


def bodies_of(*girths: float) -> pd.DataFrame:
    days = pd.date_range("2025-10-06", periods=len(girths), freq="28D")
    return pd.DataFrame(
        {
            "lifter": "R01",
            "measured_on": days,
            "arm_girth_m": list(girths),
            "body_mass_kg": 80.0,
        }
    )


SLOPES = pd.DataFrame(
    {
        "lifter": "R01",
        "setup": ["concentration_curl", "standing_barbell_curl"],
        "slope_frac_per_week": [0.009, 0.004],
        "low": [0.006, 0.001],
        "high": [0.012, 0.007],
    }
)


def test_the_strength_trend_is_of_the_reference_lift_wherever_it_stands():
    sets = sets_of(
        [{"performed_on": "2025-10-06", "movement": "elbow_flexion", "rir": 1}]
    )
    done = direct_work(sets, bodies_of(), SLOPES, lifter="R01")
    assert done.strength_frac_per_week == 0.004


def test_two_girths_are_not_enough_and_it_says_how_many_more():
    sets = sets_of(
        [{"performed_on": "2025-10-06", "movement": "elbow_flexion", "rir": 1}]
    )
    work = direct_work(sets, bodies_of(0.34, 0.345), SLOPES, lifter="R01")
    assert np.isnan(work.girth_per_week_m)
    assert any("not enough data yet" in said and "1" in said for said in work.can_say)


def test_a_slope_nobody_has_is_told_as_odd_data():
    sets = sets_of(
        [{"performed_on": "2025-10-06", "movement": "elbow_flexion", "rir": 1}]
    )
    slopes = SLOPES.assign(slope_frac_per_week=0.09, low=0.05, high=0.13)
    work = direct_work(sets, bodies_of(), slopes, lifter="R01")
    assert any(
        "the data are implausible, +9.00 % a week" in said for said in work.can_say
    )


def test_the_words_never_claim_a_cause():
    sets = sets_of(
        [{"performed_on": "2025-10-06", "movement": "elbow_flexion", "rir": 1}]
    )
    work = direct_work(sets, bodies_of(0.34, 0.345, 0.35, 0.356), SLOPES, lifter="R01")
    said = " ".join(work.can_say).lower()
    for word in ("because", "caused", "due to", "thanks to", "led to", "made the"):
        assert word not in said
    assert "grew" in said
    assert "rose" in said
    assert len(work.cannot_say) == 3


def one_curl():
    return sets_of(
        [{"performed_on": "2025-10-06", "movement": "elbow_flexion", "rir": 1}]
    )


# Lines through three points on one straight line: the slope, without an error.
@pytest.mark.analytic
@pytest.mark.parametrize(
    ("girths", "said"),
    [
        ((0.34, 0.341, 0.342), "Arm girth grew: +1.0 mm in four weeks (+1.0 to +1.0), "
         "3 measurements."),
        ((0.34, 0.339, 0.338), "Arm girth shrank: -1.0 mm in four weeks (-1.0 to -1.0)"
         ", 3 measurements."),
        ((0.34, 0.34, 0.34), "Arm girth did not clearly change: 0.0 mm in four weeks "
         "(0.0 to 0.0), 3 measurements."),
        ((0.34, 0.341), "Arm girth: not enough data yet (2 measurements), about 1 more "
         "on other days."),
        ((), "Arm girth: not enough data yet (0 measurements), about 3 more on other "
         "days."),
    ],
    ids=["grew", "shrank", "same", "two", "none"],
)  # fmt: skip
def test_girth_is_told_by_where_its_interval_lies(girths, said):
    work = direct_work(one_curl(), bodies_of(*girths), SLOPES, lifter="R01")
    assert work.can_say[1].replace("+0.0", "0.0").startswith(said)


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("masses", "said"),
    [
        ([80.0, 81.0, 82.0], "Body mass meanwhile: +1.0 kg in four weeks (+1.0 to +1.0 "
         "kg)."),
        ([80.0, 79.5, 79.0], "Body mass meanwhile: -0.5 kg in four weeks (-0.5 to -0.5 "
         "kg)."),
        ([80.0, np.nan, 82.0], ""),
    ],
    ids=["heavier", "lighter", "two weighings"],
)  # fmt: skip
def test_body_mass_stands_beside_girth_from_three_weighings_on(masses, said):
    bodies = bodies_of(0.34, 0.341, 0.342).assign(body_mass_kg=masses)
    work = direct_work(one_curl(), bodies, SLOPES, lifter="R01")
    assert work.can_say[1].partition("measurements.")[2].strip() == said


def test_strength_is_told_in_per_cent_and_only_where_there_is_a_trend():
    work = direct_work(one_curl(), bodies_of(), SLOPES, lifter="R01")
    assert (
        "standing_barbell_curl, rose: +0.40 % a week (+0.10 to +0.70)"
        in (work.can_say[2])
    )
    work = direct_work(one_curl(), bodies_of(), SLOPES.iloc[:0], lifter="R01")
    assert work.can_say[2].endswith("strength: not enough data yet for a trend.")


def test_sets_without_effort_are_told_apart_in_the_weekly_mean():
    rows = [
        {"performed_on": "2025-10-06", "movement": "elbow_flexion", "rir": 1},
        {"performed_on": "2025-10-06", "movement": "elbow_flexion", "rir": np.nan},
        {"performed_on": "2025-10-13", "movement": "pull", "rir": 1},
    ]
    work = direct_work(sets_of(rows), bodies_of(), SLOPES, lifter="R01")
    assert work.can_say[0] == (
        "Over 2 weeks: 0.5 hard direct and 0.5 hard indirect sets a week; 0.5 sets a "
        "week have no effort written down and are not counted."
    )
    work = direct_work(one_curl(), bodies_of(), SLOPES, lifter="R01")
    assert work.can_say[0] == (
        "Over 1 weeks: 1.0 hard direct and 0.0 hard indirect sets a week."
    )


def test_an_unknown_lifter_is_named_in_the_error():
    sets = sets_of([{"performed_on": "2025-10-06", "movement": "pull", "rir": 1}])
    with pytest.raises(InputError, match="R99"):
        direct_work(sets, bodies_of(), SLOPES, lifter="R99")
