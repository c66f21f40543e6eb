"""Pictures of the report: fields, units, and a second cue beside colour."""

import xml.etree.ElementTree as ET

import pandas as pd
import pytest

from analytics.catalogue import load_catalogue
from analytics.reports import figures

TREND = pd.DataFrame(
    {
        "setup": [name for name in "abcde" for _ in range(2)],
        "date": pd.to_datetime(["2025-10-06", "2025-11-06"] * 5),
        "strength_kg": range(10, 20),
        "low_kg": range(9, 19),
        "high_kg": range(11, 21),
        "sets": [9, 9, 8, 8, 7, 7, 6, 6, 5, 5],
    }
)
RATIOS = pd.DataFrame(
    {
        "setup": ["pad", "pad"],
        "source": ["yours", "modelled"],
        "ratio": [0.6, 0.62],
        "low": [0.55, 0.5],
        "high": [0.65, 0.8],
    }
)
CURVE = pd.DataFrame(
    {
        "elbow_deg": [0.0, 60.0, 120.0],
        "demand_nm": [0.0, 60.0, 30.0],
        "capability_nm": [30.0, 70.0, 60.0],
    }
)
DRAWN = {
    "strength": figures.strength_figure(TREND, interval=0.9),
    "ratios": figures.ratio_figure(RATIOS, interval=0.9),
    "range": figures.range_figure(
        CURVE, title="curl", joint=load_catalogue().joints["elbow"]
    ),
}


@pytest.mark.parametrize("name", DRAWN)
def test_every_picture_is_drawn_as_well_formed_svg(name):
    root = ET.fromstring(figures.svg(DRAWN[name]))
    assert root.tag.endswith("svg")


def test_axes_name_their_units_and_intervals():
    line = DRAWN["strength"]["layer"][1]["encoding"]["y"]["title"]
    assert "kg" in line
    assert "90%" in line
    encoding = DRAWN["range"]["encoding"]
    assert "degrees" in encoding["x"]["title"]
    assert "N m" in encoding["y"]["title"]


def test_colour_is_never_the_only_cue():
    assert "strokeDash" in DRAWN["strength"]["encoding"]
    assert "strokeDash" in DRAWN["range"]["encoding"]
    assert "shape" in DRAWN["ratios"]["layer"][1]["encoding"]


def test_more_setups_than_hues_keep_the_most_logged():
    shown = {row["setup"] for row in DRAWN["strength"]["data"]["values"]}
    assert shown == set("abcd")


# WCAG 2.2, 1.4.11: graphics need a contrast of 3:1 to what is beside them.
@pytest.mark.published
@pytest.mark.parametrize("hue", figures.HUES)
def test_every_hue_stands_out_from_white_paper(hue):
    def linear(channel: int) -> float:
        c = channel / 255
        return c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4

    red, green, blue = (linear(int(hue[i : i + 2], 16)) for i in (1, 3, 5))
    luminance = 0.2126 * red + 0.7152 * green + 0.0722 * blue
    assert 1.05 / (luminance + 0.05) >= 3
