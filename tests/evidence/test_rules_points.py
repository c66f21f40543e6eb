"""Holds, failure angles and what a curve shows at both sides of every threshold."""

import math

import numpy as np
import pandas as pd
import pytest
from scipy import stats
from simulated_fits import HELD, HOLD_COLUMNS, REFERENCE, simulated_fit

from analytics.errors import InputError
from analytics.evidence import sticking_agreement
from analytics.evidence.failures import failure_points
from analytics.evidence.features import curve_features, plateau_width, steepest_fall
from analytics.evidence.holds import hold_ratios, maximal_holds
from analytics.evidence.measured import fit_strength_curve
from analytics.evidence.plans import usual_base_deg
from analytics.evidence.say import lacking_sentence
from analytics.ratios import LogRatios


def hold(angle=90.0, *, seconds=5.0, failed=False, rir=np.nan, load=30.0, kind="hold"):
    row = ("R1", HELD, HELD, kind, angle, load, 2.0, seconds, failed, rir)
    return pd.DataFrame([row], columns=HOLD_COLUMNS)


@pytest.mark.parametrize(
    ("rir", "failed", "counts"), [(0.5, False, 1), (0.6, False, 0), (np.nan, True, 1)]
)
def test_a_hold_counts_with_at_most_half_a_repetition_in_reserve(rir, failed, counts):
    sure = hold(60.0, failed=True)
    found = maximal_holds(pd.concat([sure, hold(90.0, rir=rir, failed=failed)]))
    assert len(found.table) == 1 + counts


@pytest.mark.parametrize(("angle", "bin_deg"), [(62.4, 60.0), (62.6, 65.0)])
def test_holds_meet_in_bins_of_five_degrees(angle, bin_deg):
    assert maximal_holds(hold(angle)).table["angle_deg"].tolist() == [bin_deg]


@pytest.mark.published
@pytest.mark.parametrize(
    ("seconds", "times"),
    # Frey Law 2010, elbow, value from memory: time = 17.98 (fraction)^-2.21; so a hold
    # of a minute is at (60 / 17.98)^(-1/2.21) = 0.580 of the maximum
    [(5.0, 1.0), (17.9, 1.0), (18.1, 1.003), (60.0, 1 / 0.580)],
)
def test_a_long_hold_stands_for_a_greater_short_one(seconds, times):
    table = maximal_holds(hold(seconds=seconds)).table
    assert table["load_kg"].iloc[0] == pytest.approx(15.0 * times, rel=1e-3)


@pytest.mark.analytic
def test_two_holds_have_the_noise_of_the_prior():
    # no residual degree of freedom: four holds of 5 %, and a difference of two
    both = maximal_holds(pd.concat([hold(60.0), hold(90.0)])).table
    found = hold_ratios(both)
    assert found.ratios.cov[0, 0] == pytest.approx(2 * 0.05**2)
    assert found.setups[0].hold == (60.0, usual_base_deg(HELD))


@pytest.mark.parametrize(
    ("variant", "angle", "points"),
    [
        ("preacher_curl_90", 0.9, 0),
        ("preacher_curl_90", 1.0, 1),
        ("preacher_curl_0", 139.0, 1),
        ("preacher_curl_0", 139.1, 0),
    ],
)
def test_failure_angles_lie_a_degree_inside_the_grid(variant, angle, points):
    assert len(failed_at([angle], variant=variant).table) == points


def failed_at(angles, *, variant=REFERENCE, lifter=None):
    fit = simulated_fit("peaked", lifters=1)
    sets = pd.concat([hold(angle, kind="failure") for angle in angles])
    return failure_points(
        sets.assign(setup=variant, variant=variant),
        fit.setups.set_index("setup"),
        LogRatios(labels=fit.ratio_setups, mean=fit.log_ratio, cov=fit.log_ratio_cov),
        reference=REFERENCE,
        reference_kg=20.0,
        lifter=lifter,
    )


@pytest.mark.analytic
def test_a_failure_angle_is_read_to_ten_degrees_and_shares_five():
    # assumed: 10 / sqrt(readings) and 5 in common; a cohort counts lifters
    for lifter, readings in ((None, 1), ("R1", 4)):
        sd_deg = failed_at([80.0] * 4, lifter=lifter).table["sd_deg"].iloc[0]
        assert sd_deg == pytest.approx(np.hypot(10 / np.sqrt(readings), 5))


@pytest.mark.parametrize(
    ("gap", "agree"),
    # one degree of freedom: 5 % is at 1.96 standard deviations of the difference
    [(1.95, True), (1.97, False)],
)
def test_sources_of_a_sticking_angle_agree_from_five_percent(gap, agree):
    reach = stats.norm.ppf(0.95) * np.array([3.0, 4.0])
    at = np.array([80.0, 80.0 + gap * np.hypot(3, 4)])
    table = pd.DataFrame(
        {
            "variant": REFERENCE,
            "event": "stall",
            "source": ["modelled", "logged"],
            "elbow_deg": at,
            "low_deg": at - reach,
            "high_deg": at + reach,
        }
    )
    assert sticking_agreement(table).iloc[0]["agree"] == agree


GRID = np.arange(0.0, 101.0)


def feature(name, draws, *, points=10):
    table = curve_features(GRID, draws, points=points, angles=5)
    return table.set_index("quantity").loc[name]


@pytest.mark.analytic
@pytest.mark.parametrize(("drop", "width"), [(0.049, 100.0), (0.051, 0.0)])
def test_a_plateau_stays_within_five_percent(drop, width):
    curve = np.full((1, 101), math.log(1 - drop))
    curve[0, 50] = 0.0
    assert plateau_width(GRID, curve)[0] == width


@pytest.mark.analytic
def test_a_fall_is_over_ten_degrees():
    # 1 % of the logarithm a degree: e^-0.1 over ten
    curve = -0.01 * GRID[None]
    assert steepest_fall(GRID, curve)[0] == pytest.approx(1 - math.exp(-0.1))


@pytest.mark.parametrize(
    ("depth", "share", "told"),
    [
        (0.019, 0.0, True),  # shallower than 2 %: one hump
        (0.021, 0.0, True),  # all have two
        (0.05, 0.91, True),
        (0.05, 0.89, False),
        (0.05, 0.11, False),
        (0.05, 0.09, True),
    ],
)
def test_one_hump_or_two_is_told_from_a_chance_of_nine_in_ten(depth, share, told):
    valley = np.where(np.abs(GRID - 50) < 5, math.log(1 - depth), 0.0)
    draws = np.tile(valley, (1000, 1))
    draws[: round(1000 * share)] = 0.0
    row = feature("dip_frac", draws)
    assert row["sentence"].startswith("Chance of a single hump") == told
    one = share if depth > 0.02 else 1.0
    assert f"(no dip over 2%): {one:.0%}" in row["sentence"]


@pytest.mark.parametrize(("beyond", "told"), [(0.09, True), (0.11, False)])
def test_a_peak_may_lie_outside_the_angles_in_one_draw_of_ten(beyond, told):
    draws = np.tile(-(((GRID - 50) / 60) ** 2), (1000, 1))
    draws[: round(1000 * beyond)] = GRID / 100
    said = feature("peak_deg", draws)["sentence"]
    assert ("beyond 100°" not in said) == told


@pytest.mark.parametrize(("width", "told"), [(49.0, True), (51.0, False)])
def test_a_peak_is_told_within_half_of_the_angles(width, told):
    centre = 50 + width / 0.9 * (np.arange(1000) / 999 - 0.5)
    draws = -(((GRID - centre[:, None]) / 60) ** 2)
    assert feature("peak_deg", draws)["sentence"].startswith("Strength") == told


def test_at_most_two_hundred_more_holds_are_counted():
    assert "about 200 more holds" in lacking_sentence("peak_deg", 200)
    assert "more than 200 more holds" in lacking_sentence("peak_deg", 201)
    assert "about 1 more hold to" in lacking_sentence("peak_deg", 1)


@pytest.mark.parametrize(
    ("angles", "enough"),
    [
        ([30, 60, 90, 120, 90, 60], True),
        ([30, 60, 90, 120, 90], False),
        ([30, 60, 90, 90, 60, 30], False),
    ],
)
def test_a_measured_curve_asks_for_six_points_at_four_angles(angles, enough):
    def drawn():
        return fit_strength_curve(angles, np.zeros(len(angles)), ["R1"] * len(angles))

    if enough:
        assert drawn().n_obs == len(angles)
    else:
        with pytest.raises(InputError, match="too few"):
            drawn()
