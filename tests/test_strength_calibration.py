"""Coverage and bias over many simulated cohorts, for the contributor's guide."""

import os

import numpy as np
import pandas as pd
import pytest
from strength_generator import simulate
from strength_judging import Z90, judged

COHORTS = int(os.environ.get("LACERTUS_COHORTS", "200"))


def calibration(seeds, **habits):
    """Coverage, mean error and size of error over many cohorts."""
    found = []
    for seed in seeds:
        _, errors = judged(simulate(1000 + seed, lifters=10, weeks=14, **habits))
        row = {}
        for name, error in errors.items():
            if isinstance(error, tuple):
                row[f"{name} covered"] = (np.abs(error[1]) < Z90).mean()
                error = error[0]
            row[f"{name} mean error"] = error.mean()
            row[f"{name} squared error"] = (error**2).mean()
        found.append(row)
    return pd.DataFrame(found)


def told(table, capsys, title):
    """Print the figures of the contributor's guide."""
    mean = table.mean()
    squared = mean.index.str.endswith("squared error")
    mean[squared] = np.sqrt(mean[squared])
    with capsys.disabled():
        print(f"\n{title}, {len(table)} cohorts\n{mean.round(4).to_string()}")
    return mean


@pytest.fixture(scope="module")
def calibrated():
    """Half of the sets unmarked; each cohort draws a published relation."""
    return calibration(range(COHORTS))


@pytest.mark.slow
@pytest.mark.analytic
@pytest.mark.parametrize("name", ["ratio", "personal", "strength"])
def test_intervals_cover_the_truth_of_many_cohorts(calibrated, name, capsys):
    mean = told(calibrated, capsys, "drawn habits")
    assert 0.87 < mean[f"{name} covered"] < 0.93
    assert abs(mean[f"{name} mean error"]) < 0.02


@pytest.mark.slow
@pytest.mark.analytic
def test_the_model_beats_both_habits_over_many_cohorts(calibrated, capsys):
    mean = told(calibrated, capsys, "drawn habits")
    for habit in ("weekly best", "average"):
        assert mean["strength squared error"] < mean[f"{habit} squared error"]


@pytest.mark.slow
@pytest.mark.analytic
@pytest.mark.parametrize(
    "habits",
    [
        {"call_bias": 1.0},
        {"no_effort": 0.8},
        {"heavy": True, "trend": "blocks"},
        {"trend": "log time"},
        {"plans": (3, 4, 5, 6)},
    ],
    ids=str,
)
def test_other_habits_leave_intervals_honest(habits, capsys):
    # a tenth of the cohorts, so three standard errors of a coverage are about 0.1
    mean = told(calibration(range(max(COHORTS // 10, 2)), **habits), capsys, habits)
    for name in ("strength", "ratio", "personal"):
        assert mean[f"{name} covered"] > 0.80
    assert abs(mean["ratio mean error"]) < 0.02
