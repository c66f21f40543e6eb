"""What a strength curve drawn from holds shows, and what it still asks for."""

import re

import numpy as np
import pandas as pd
import pytest
from scipy import stats
from simulated_fits import (
    HELD,
)

from analytics.errors import InputError
from analytics.evidence.direct import direct_points
from analytics.evidence.failures import COLUMNS, FailurePoints
from analytics.evidence.features import (
    FEATURES,
    curve_features,
    largest_dip,
    measured_curve,
    plateau_width,
    steepest_fall,
)
from analytics.evidence.measured import fit_strength_curve

GRID = np.arange(20.0, 121.0)


def bump(angle, *, peak=85.0, width=60.0):
    return -(((np.asarray(angle) - peak) / width) ** 2)


@pytest.mark.analytic
def test_features_of_a_parabola_are_its_closed_forms():
    # log strength -((x - p) / w)^2: 5 % below the peak at p +- w sqrt(-ln 0.95);
    # steepest outward 10 degrees are the outermost ones
    curve = bump(GRID)[None]
    half = 60.0 * np.sqrt(-np.log(0.95))
    assert plateau_width(GRID, curve)[0] == pytest.approx(2 * half, abs=2)  # grid
    outermost = ((85 - 20) / 60) ** 2 - ((85 - 30) / 60) ** 2
    assert steepest_fall(GRID, curve)[0] == pytest.approx(-np.expm1(-outermost))
    assert largest_dip(curve)[0] == 0.0


@pytest.mark.analytic
def test_a_valley_between_two_humps_is_its_depth():
    # cos 2x over one turn: from 1 down to -1 and back
    curve = np.cos(np.linspace(0, 2 * np.pi, 101))[None]
    assert largest_dip(curve)[0] == pytest.approx(2.0)


def holds_at(angles, *, seed, sd=0.04, people=6):
    rng = np.random.default_rng(seed)
    block = np.repeat(np.arange(people), len(angles))
    angle = np.tile(angles, people)
    level = rng.normal(0, 0.3, people)[block]
    return angle, bump(angle) + level + rng.normal(0, sd, len(angle)), block


def test_intervals_of_peak_and_contrasts_cover_the_truth():
    angles = np.arange(30, 121, 15.0)
    inside = []
    for seed in range(20):
        curve = fit_strength_curve(*holds_at(angles, seed=seed), n_draws=400, seed=seed)
        table = curve_features(curve.angle_deg, curve.draws, points=42, angles=7)
        table = table.set_index("quantity")
        # analytic: log ratio of the ends' mean to the middle at 75 degrees
        extremes = np.exp(0.5 * (bump(30) + bump(120)) - bump(75))
        for name, truth in {"peak_deg": 85.0, "extremes_over_middle": extremes}.items():
            row = table.loc[name]
            inside.append(row["low"] <= truth <= row["high"])
        assert table.loc["extremes_over_middle", "high"] < 1
    # 90 % intervals: 36 of 40 expected, 31 or more in 99 % of runs
    assert sum(inside) >= 31


def test_a_curve_needs_four_angles_and_six_points():
    with pytest.raises(InputError, match="4 angles"):
        fit_strength_curve([30, 60, 90] * 2, np.zeros(6), np.zeros(6))


@pytest.mark.analytic
def test_an_open_contrast_says_how_many_more_points_a_root_law_asks_for():
    # log contrast normal, mean -0.02, standard deviation 0.05: its 90 % interval misses
    # 1 when 1.645 x 0.05 x sqrt(10 / n) < 0.02, so from n = 169, 159 more than 10
    z = stats.norm.ppf((np.arange(4000) + 0.5) / 4000)
    draws = np.zeros((4000, 101))
    draws[:, 0] = -0.02 + 0.05 * z
    table = curve_features(np.arange(101.0), draws, points=10, angles=5)
    table = table.set_index("quantity")
    sentence = table.loc["low_end_over_middle", "sentence"]
    more = int(re.search(r"about (\d+) more", sentence)[1])
    assert more == pytest.approx(159, abs=2)
    assert sentence.startswith("Not enough data yet")


def test_a_peak_at_the_last_logged_angle_asks_for_holds_beyond_it():
    rising = np.arange(30.0, 91.0) / 60 + np.zeros((50, 1))
    table = curve_features(np.arange(30.0, 91.0), rising, points=12, angles=4)
    told = table.set_index("quantity")["sentence"]
    assert "about 3 more holds to failure beyond 90°" in told["peak_deg"]
    assert "beyond 90°" in told["plateau_deg"]


def test_few_points_leave_every_question_open_in_one_line_each():
    holds = pd.DataFrame(
        {"lifter": "R1", "variant": HELD, "angle_deg": [60.0, 90.0], "load_kg": 15.0}
    )
    none = FailurePoints(table=pd.DataFrame(columns=COLUMNS), cov=np.empty((0, 0)))
    points, cov = direct_points(holds, none)
    table = measured_curve(points, cov)
    assert list(table["quantity"]) == list(FEATURES)
    for sentence in table["sentence"]:
        assert sentence.startswith("Not enough data yet")
        assert "about 4 more" in sentence  # 2 of 6 points so far
        assert "\n" not in sentence
