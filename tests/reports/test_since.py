"""How much stronger since a day, with the interval of both ends."""

import math
from datetime import date
from types import SimpleNamespace

import pandas as pd
import pytest

from analytics.reports.since import lifts_since


def lifts(days: dict[str, float]) -> pd.Series:
    """What is said of one lift with a 90 % interval of 2 kg to both sides."""
    kg = pd.Series(days)
    trend = pd.DataFrame(
        {
            "lifter": "A",
            "setup": "deadlift",
            "date": pd.to_datetime(kg.index),
            "strength_kg": kg.to_numpy(),
            "low_kg": kg.to_numpy() - 2,
            "high_kg": kg.to_numpy() + 2,
            "sets": 3,
            "body_kg": 0.0,
        }
    )
    names = [f"change_{w}w{end}" for w in (4, 8) for end in ("", "_low", "_high")]
    told = dict(zip(names, [0.02, 0.01, 0.03, *[float("nan")] * 3], strict=True))
    slopes = pd.DataFrame([{"lifter": "A", "setup": "deadlift", **told}])
    fit = SimpleNamespace(trend=trend, slopes=slopes)
    return lifts_since(fit, "A", date(2026, 3, 2)).iloc[0]


# Two normal estimates apart: the half interval of the difference is hypot(2, 2).
@pytest.mark.analytic
def test_a_change_since_a_day_carries_the_interval_of_both():
    row = lifts({"2026-03-01": 100.0, "2026-03-15": 105.0})
    assert row["change_kg"] == pytest.approx(5.0)
    assert row["change_low_kg"] == pytest.approx(5 - 8**0.5)
    assert row["said"] == "stronger: +5.0 kg (+2.2 to +7.8 kg)"
    row = lifts({"2026-03-01": 100.0, "2026-03-15": 102.0})
    assert row["said"] == "cannot be told yet: +2.0 kg (-0.8 to +4.8 kg)"
    row = lifts({"2026-03-01": 100.0, "2026-03-15": 95.0})
    assert row["said"].startswith("less: -5.0 kg")


def test_a_lift_without_two_ends_has_no_change():
    assert lifts({"2026-03-05": 100.0})["said"] == "new, first done 2026-03-05"
    row = lifts({"2026-02-01": 100.0, "2026-03-05": 100.0})
    assert row["said"] == "not done in the three weeks before"
    assert pd.isna(row["change_kg"])
    row = lifts({"2026-02-25": 100.0})
    assert row["said"] == "not done since, last 2026-02-25"


# Over four weeks the fit knows the change itself: 2 % of log strength are 1 - e^-0.02.
@pytest.mark.analytic
def test_over_four_weeks_the_change_is_the_fits_own():
    row = lifts({"2026-03-01": 100.0, "2026-03-30": 101.0})
    assert row["change_kg"] == pytest.approx(101 * (1 - math.exp(-0.02)))
    assert row["said"] == "stronger: +2.0 kg (+1.0 to +3.0 kg)"
