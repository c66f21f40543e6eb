"""The small pictures in a table of clients."""

import base64

import pandas as pd

from analytics.charts import sparkline

TREND = pd.DataFrame(
    {
        "date": pd.to_datetime(["2025-01-06", "2025-01-13", "2025-01-20"]),
        "strength_kg": [38.0, 38.6, 39.1],
        "low_kg": [36.0, 36.9, 37.5],
        "high_kg": [40.1, 40.4, 40.8],
    }
)


def test_a_sparkline_is_a_picture_that_needs_no_network():
    address = sparkline.trend(TREND)
    assert address.startswith("data:image/svg+xml;")
    svg = base64.b64decode(address.split(",")[1]).decode()
    assert svg.startswith("<svg")
    assert "polyline" in svg


def test_an_interval_that_misses_the_line_changes_its_mark():
    near = sparkline.intervals([(1.0, 0.9, 1.1)], at=1.0, span=(0.5, 1.5))
    far = sparkline.intervals([(1.3, 1.2, 1.4)], at=1.0, span=(0.5, 1.5))
    near, far = (base64.b64decode(cell.split(",")[1]).decode() for cell in (near, far))
    assert 'rx="4.5"' in near
    assert 'rx="0.0"' in far


def test_an_unknown_interval_is_an_empty_cell():
    assert sparkline.intervals([(float("nan"), 0, 1)], at=0, span=(0, 1)) == ""
