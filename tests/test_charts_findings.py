"""Figures say what they show, with units on every axis and intervals drawn."""

import dataclasses
import re
from itertools import pairwise

import altair as alt
import pandas as pd
import pytest
import vl_convert

from analytics.catalogue import load_catalogue
from app import theme
from app.charts import (
    coaching,
    evidence,
    limb,
    muscles,
    ratios,
    reps,
    sensitivity,
    strength,
    through_range,
)

CURL = load_catalogue().variants["standing_barbell_curl"]
DAYS = pd.to_datetime(["2025-01-06", "2025-01-13", "2025-01-20", "2025-01-27"])
TREND = pd.DataFrame(
    {
        "lifter": "R07",
        "setup": "standing_barbell_curl",
        "date": DAYS,
        "strength_kg": [38.0, 38.6, 39.1, 40.2],
        "low_kg": [36.0, 36.9, 37.5, 38.4],
        "high_kg": [40.1, 40.4, 40.8, 42.1],
    }
)
POINTS = pd.DataFrame(
    {
        "date": DAYS,
        "kind": ["failure", "rir", "floor", "flagged"],
        "implied_kg": [38.2, 37.9, 36.0, 51.0],
        "expected_kg": [38.0, 38.6, 39.1, 40.2],
        "z": [0.1, -0.4, -1.0, 6.2],
    }
)
RATIOS = pd.DataFrame(
    {
        "setup": ["standing_barbell_curl", "preacher_curl_45", "chin_up"],
        "reference": "standing_barbell_curl",
        "ratio": [1.0, 0.82, 1.9],
        "low": [1.0, 0.78, 1.7],
        "high": [1.0, 0.86, 2.1],
        "predicted": [1.0, 0.88, float("nan")],
        "predicted_low": [1.0, 0.84, float("nan")],
        "predicted_high": [1.0, 0.93, float("nan")],
    }
)
PERSONAL = pd.DataFrame(
    {
        "lifter": "R07",
        "setup": ["preacher_curl_45", "chin_up"],
        "ratio": [0.85, 1.8],
        "low": [0.8, 1.6],
        "high": [0.9, 2.0],
        "own_ratio": [0.9, float("nan")],
        "shrinkage": [0.6, 1.0],
        "sets": [12, 0],
    }
)
CURVE = pd.DataFrame(
    {
        "elbow_deg": [30.0, 60.0, 90.0, 120.0],
        "demand_nm": [30.0, 50.0, 58.0, 45.0],
        "capability_nm": [55.0, 70.0, 72.0, 50.0],
        "capability_low_nm": [45.0, 60.0, 61.0, 40.0],
        "capability_high_nm": [66.0, 81.0, 84.0, 61.0],
        "utilisation": [0.55, 0.71, 0.81, 0.9],
        "utilisation_low": [0.45, 0.6, 0.7, 0.8],
        "utilisation_high": [0.65, 0.8, 0.9, 1.1],
    }
)
STICKING = pd.DataFrame(
    {
        "variant": "standing_barbell_curl",
        "source": ["modelled", "logged", "traced"],
        "range_from_deg": 0.0,
        "range_to_deg": 140.0,
        "limit_load_ratio": 1.0,
        "elbow_deg": [90.0, 85.0, 88.0],
        "low_deg": [70.0, 78.0, 80.0],
        "high_deg": [110.0, 93.0, 97.0],
        "evenness": [0.8, float("nan"), float("nan")],
        "sentence": "Hardest near 90°",
        "n": [0, 12, 5],
    }
)
RESIDUALS = RATIOS.iloc[:2].assign(informative=[False, True])
REP = pd.DataFrame(
    {
        "load": ["10 kg"] * 3 + ["20 kg"] * 3,
        "order": [0, 1, 2] * 2,
        "elbow_deg": [10.0, 80.0, 140.0, 10.0, 60.0, 82.0],
        "velocity_deg_per_s": [0.0, 150.0, 90.0, 0.0, 40.0, 0.0],
    }
)
REPS = pd.DataFrame(
    {
        "load": ["10 kg", "20 kg"],
        "completed": [True, False],
        "stalled_deg": [float("nan"), 82.0],
        "sticking_from_deg": [40.0, float("nan")],
        "slowest_deg": [85.0, float("nan")],
    }
)
SPANS = pd.DataFrame(
    {
        "variant": "preacher_curl_45",
        "zone": ["ascending", "plateau"],
        "shortest": [0.6, 0.85],
        "longest": [0.85, 1.1],
        "elbow_from_deg": [90.0, 20.0],
        "elbow_to_deg": [120.0, 89.0],
    }
)
REGIONS = pd.DataFrame(
    {
        "elbow_deg": [0.0, 5.0] * 2,
        "shoulder_deg": [0.0, 0.0, 7.5, 7.5],
        "fibre_length": [1.2, 1.1, 1.1, 1.0],
        "active": [0.8, 0.9, 0.9, 1.0],
        "zone": ["descending", "plateau", "plateau", "plateau"],
    }
)
MOVED = pd.DataFrame(
    {
        "parameter": ["lever", "posture_deg"],
        "structure": False,
        "limit_load_ratio_low": [0.97, 0.9],
        "limit_load_ratio_high": [1.03, 1.1],
        "sticking_low_deg": [52.0, 50.0],
        "sticking_high_deg": [53.0, 80.0],
        "evenness_low": [0.7, 0.6],
        "evenness_high": [0.7, 0.8],
    }
)
LEANS = pd.DataFrame(
    {
        "stance": ["parallel", "split"] * 2,
        "load_kg": [10.0, 10.0, 40.0, 40.0],
        "lean_deg": [0.0, 0.0, 3.0, 0.0],
        "largest_load_kg": [18.0, 126.0] * 2,
    }
)
TRACE = pd.DataFrame(
    {
        "time_s": [0.0, 0.1, 0.2],
        "elbow_deg": [10.0, 20.0, 40.0],
        "elbow_deg_per_s": [0.0, 120.0, 90.0],
        "rep": [1, 1, 1],
        "event": ["start", "peak1", "low"],
    }
)
BODY = pd.DataFrame(
    {
        "part": ["leg", "leg", "load"],
        "order": [0, 1, 0],
        "x_m": [0.0, 0.0, 0.4],
        "y_m": [0.0, 0.9, 1.1],
    }
)
BASE = pd.DataFrame(
    {
        "stance": ["parallel"],
        "base_back_m": [-0.05],
        "base_front_m": [0.19],
        "centre_of_mass_m": [0.11],
    }
)
WEIGHTS = pd.DataFrame(
    {"shape": ["peaked", "flat", "inverted"], "weight": [0.7, 0.28, 0.02]}
)
LEFT_OUT = pd.DataFrame(
    {
        "setup": ["preacher_curl_45", "all"],
        "error_model": [0.03, 0.03],
        "error_same_load": [0.2, 0.2],
        "error_cohort_mean": [0.05, float("nan")],
    }
)
POWER = pd.DataFrame(
    {"truth": ["peaked", "flat"], "sets": [100, 100], "agrees": [0.6, 0.03]}
)
DIRECT = pd.DataFrame(
    {
        "variant": "standing_barbell_curl",
        "base": 90.0,
        "elbow_deg": [40.0, 110.0],
        "ratio": [0.7, 1.0],
        "low": [0.6, 0.9],
        "high": [0.8, 1.1],
    }
)
RIVALS = pd.DataFrame(
    {"shape": ["peaked", "flat"], "elbow_deg": [90, 90], "ratio": [1.0, 0.9]}
)
SETUPS = pd.DataFrame(
    {
        "setting": ["pulley height"] * 2,
        "value": [0.2, 0.4],
        "evenness": [0.71, 0.84],
        "sticking_deg": [80, 95],
        "limit_load_ratio": [1.1, 1.0],
    }
)

WORK = pd.DataFrame(
    {
        "variant": ["preacher_curl_45"] * 4,
        "muscle": ["biceps_long", "brachialis"] * 2,
        "elbow_deg": [20, 20, 80, 80],
        "share_frac": [0.6, 0.4, 0.5, 0.5],
        "fibre_length": [1.2, 1.3, 0.9, 0.8],
        "zone": ["descending", "descending", "plateau", "ascending"],
    }
)
WEEKLY = pd.DataFrame(
    {
        "week": DAYS,
        "direct": [6, 8, 7, 9],
        "indirect": [4, 4, 5, 3],
        "effort_unknown": 1,
    }
)
GIRTH = pd.DataFrame({"measured_on": DAYS, "arm_girth_m": [0.34, 0.341, 0.343, 0.344]})
LEAN = pd.DataFrame(
    {
        "relative_load": [0.6, 0.8, 0.9],
        "lean_deg": [0.0, 2.0, 8.0],
        "stance": ["parallel", "", "split"],
        "heave": [False, False, True],
    }
)

CHARTS = {
    "shares": lambda: muscles.shares(WORK, title="Curl"),
    "spans": lambda: muscles.spans(SPANS),
    "regions": lambda: muscles.regions(
        REGIONS, REGIONS.head(2), finding="The band is bright"
    ),
    "tornado": lambda: sensitivity.tornado(
        MOVED, title="Curl", prediction="limit_load_ratio"
    ),
    "leans": lambda: limb.lean(LEANS),
    "weekly": lambda: coaching.weekly(WEEKLY),
    "girth": lambda: coaching.girth(GIRTH, finding="Girth rose a little"),
    "lean": lambda: coaching.lean(
        LEAN, start=0.8, needed=0.5, finding="Lean starts at 80 %"
    ),
    "over_time": lambda: strength.over_time(TREND, POINTS),
    "latest": lambda: strength.latest(TREND),
    "compared": lambda: strength.compared(
        pd.concat([TREND, TREND.assign(lifter="R08")])
    ),
    "side_by_side": lambda: ratios.side_by_side(RATIOS),
    "personal": lambda: ratios.personal(PERSONAL, RATIOS),
    "moments": lambda: through_range.moments(CURVE, title="Curl", load_kg=20),
    "utilisation": lambda: through_range.utilisation(
        CURVE, STICKING.head(1), elbow_deg=90
    ),
    "hardest": lambda: through_range.hardest(STICKING),
    "setups": lambda: through_range.setups(SETUPS),
    "rep": lambda: through_range.rep(REP, REPS),
    "limb": lambda: limb.limb(
        limb.joints(CURL, elbow_deg=90), elbow_deg=90, hardest="the load is hardest"
    ),
    "balance": lambda: limb.balance(BODY, BASE, finding="No lean is needed"),
    "residuals": lambda: evidence.residuals(RESIDUALS),
    "weights": lambda: evidence.weights(WEIGHTS),
    "left_out": lambda: evidence.left_out(LEFT_OUT, winner="The model wins"),
    "sticking_ways": lambda: evidence.sticking_ways(STICKING, verdict="They agree"),
    "direct_points": lambda: evidence.direct_points(DIRECT, RIVALS),
    "power": lambda: evidence.power(POWER, finding="Found in 60 %"),
    "explorer": lambda: reps.explorer(
        TRACE, panel="elbow_deg", finding="One repetition is found"
    ),
}


def encodings(spec: dict) -> list[tuple[str, dict]]:
    """Every channel of a chart and of its layers."""
    own = list(spec.get("encoding", {}).items())
    parts = [*spec.get("layer", []), *spec.get("hconcat", [])]
    return own + [pair for part in parts for pair in encodings(part)]


@pytest.mark.parametrize("name", CHARTS)
def test_every_figure_states_a_finding_and_describes_itself(name):
    chart = CHARTS[name]()
    assert len(" ".join(chart.title.text)) > 8
    assert len(" ".join(chart.title.subtitle)) > 20
    assert chart.to_dict()["description"]


@pytest.mark.parametrize("name", CHARTS)
def test_every_quantitative_axis_has_a_title_with_its_unit(name):
    axes = [
        channel
        for key, channel in encodings(CHARTS[name]().to_dict())
        if key in ("x", "y") and channel.get("type") == "quantitative"
    ]
    titles = [axis["title"] for axis in axes if axis.get("title")]
    assert titles
    assert all("[" in title or "Sets" in title for title in titles)


@pytest.mark.parametrize(
    "name", ["over_time", "latest", "side_by_side", "personal", "residuals", "moments"]
)
def test_every_estimate_is_drawn_with_its_interval(name):
    channels = dict(encodings(CHARTS[name]().to_dict()))
    assert {"x2", "y2"} & set(channels)


@pytest.mark.parametrize("name", CHARTS)
def test_a_hue_that_separates_things_never_stands_alone(name):
    channels = dict(encodings(CHARTS[name]().to_dict()))
    hue = channels.get("color", {})
    if hue.get("legend", True) is None or "field" not in hue:
        return
    if hue["type"] == "quantitative":  # a scale of lightness, not of hues
        assert hue["scale"]["scheme"] == "cividis"
        return
    second = {"shape", "strokeDash", "strokeWidth"} & set(channels)
    assert second


def luminance(colour: str) -> float:
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    red, green, blue = (
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4
        for part in parts
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    dark, light = sorted((luminance(one), luminance(other)))
    return (light + 0.05) / (dark + 0.05)


@pytest.mark.published
@pytest.mark.parametrize("mode", ["light", "dark"])
def test_hues_and_words_reach_the_published_contrast(mode):
    # WCAG 2.2 (W3C, 2023): 1.4.11 graphics 3:1, 1.4.3 text 4.5:1, and the ratio's
    # definition; black on white is 21:1.
    assert contrast("#000000", "#FFFFFF") == pytest.approx(21)
    for hue in theme.CATEGORIES:
        assert contrast(hue, theme.PAPER[mode]) >= 3
    for ink in (theme.INK, theme.QUIET):
        assert contrast(ink[mode], theme.PAPER[mode]) >= 4.5


def test_dressing_for_the_dark_changes_paper_and_ink_but_no_hue():
    chart = CHARTS["residuals"]()
    light = chart.to_dict()
    dark = theme.in_mode(chart, "dark").to_dict()
    assert light["config"]["background"] == theme.PAPER["light"]
    assert dark["config"]["background"] == theme.PAPER["dark"]
    assert light["layer"] == dark["layer"]


def test_each_kind_of_set_has_its_own_hue_and_shape():
    channels = dict(encodings(CHARTS["over_time"]().to_dict()))
    for key in ("color", "shape"):
        scale = channels[key]["scale"]
        assert len(set(scale["range"])) == len(scale["domain"]) == 4


def test_a_chart_of_one_day_still_shows_its_point():
    chart = strength.over_time(TREND.head(1), POINTS.head(1))
    assert any(layer["mark"].get("point") for layer in chart.to_dict()["layer"])


def test_the_registered_look_is_the_only_one():
    assert alt.theme.active == "lacertus"


@pytest.mark.analytic
def test_a_hanging_arm_bent_square_has_its_hand_straight_ahead():
    # Trunk upright, shoulder 0, elbow 90: the forearm is level, one forearm (0.27 m)
    # ahead of an elbow that hangs one upper arm (0.30 m) below the shoulder.
    still = dataclasses.replace(CURL, trunk_deg=0.0, path=((0.0, 0.0), (140.0, 0.0)))
    hand = limb.joints(still, elbow_deg=90).iloc[-1]
    assert hand.x_m == pytest.approx(0.27)
    assert hand.y_m == pytest.approx(-0.30)


def test_left_out_errors_that_agree_are_drawn_beside_each_other():
    same = LEFT_OUT.head(1).assign(error_same_load=0.03, error_cohort_mean=0.03)
    drawn = vl_convert.vegalite_to_svg(evidence.left_out(same, winner="All").to_dict())
    high = sorted(map(float, re.findall(r'"point" .+?\(.+?,(.+?)\)', drawn)))
    assert [b - a >= 9 for a, b in pairwise(high)] == [True, True]  # 9 px each


def finding(chart) -> str:
    return " ".join(chart.title.text)


def test_findings_hold_for_one_lifter_no_miss_and_near_certainty():
    assert finding(strength.latest(TREND)).endswith("latest strength of R07 40.2 kg")
    assert finding(strength.compared(TREND)).endswith("latest strength: R07 40.2 kg")
    near = RESIDUALS.assign(predicted=RESIDUALS["ratio"])
    assert finding(evidence.residuals(near)).startswith("None of 2 compared variants")
    sure = WEIGHTS.assign(weight=[0.9999, 0.0001, 0.0])
    assert finding(evidence.weights(sure)).endswith("weight over 99%")


def test_held_loads_are_said_to_lie_nearest_the_shape_they_miss_least():
    curves = pd.concat(
        [
            pd.DataFrame({"shape": name, "elbow_deg": [40, 110], "ratio": ratio})
            for name, ratio in (("peaked", [1.2, 1.1]), ("flat", [0.72, 1.02]))
        ]
    )
    assert finding(evidence.direct_points(DIRECT, curves)).endswith("the flat shape")


def test_personal_ratios_that_agree_are_drawn_beside_each_other_in_rows_apart():
    same = PERSONAL.assign(ratio=0.9, own_ratio=0.9)
    both = ratios.personal(same, RATIOS.assign(ratio=0.9))
    drawn = vl_convert.vegalite_to_svg(both.to_dict())
    high = sorted(map(float, re.findall(r'"point" .+?\(.+?,(.+?)\)', drawn)))
    assert len(high) == 6
    assert all(b - a >= 9 for a, b in pairwise(high))  # 9 px each
