"""Figures say what they show, with units on every axis and intervals drawn."""

import re
from itertools import pairwise

import altair as alt
import pandas as pd
import pytest
import vl_convert
from charts_drawn import CHARTS, contrast
from charts_tables import (
    BATTERY,
    CURVE,
    DIRECT,
    ELBOW,
    LEFT_OUT,
    PERSONAL,
    POINTS,
    RESIDUALS,
    STICKING,
    TREND,
    VIEW,
    WEIGHTS,
)

from analytics.catalogue import load_catalogue
from analytics.charts import (
    evidence,
    lift,
    ratios,
    strength,
    theme,
    through_range,
)
from analytics.evidence import battery_in_words, gaps, nearest_shape
from analytics.strength import beside_sets, latest


def encodings(spec: dict) -> list[tuple[str, dict]]:
    """Every channel of a chart and of its layers."""
    own = list(spec.get("encoding", {}).items())
    kinds = ("layer", "hconcat", "vconcat")
    parts = [part for kind in kinds for part in spec.get(kind, [])]
    return own + [pair for part in parts for pair in encodings(part)]


@pytest.mark.parametrize("name", CHARTS)
def test_every_figure_states_a_finding_and_describes_itself(name):
    chart = CHARTS[name]()
    assert len(" ".join(chart.title.text)) > 8
    assert len(" ".join(chart.title.subtitle)) > 20
    assert chart.to_dict()["description"]


# What has no unit: counts and ratios, named as such.
PURE = re.compile("Sets|Lifters|Repetitions|Evenness|Ratio|÷")


@pytest.mark.parametrize("name", CHARTS)
def test_every_quantitative_axis_has_a_title_with_its_unit(name):
    axes = [
        channel
        for key, channel in encodings(CHARTS[name]().to_dict())
        if key in ("x", "y") and channel.get("type") == "quantitative"
    ]
    titles = [axis["title"] for axis in axes if axis.get("title")]
    assert titles
    assert all("[" in title or PURE.search(title) for title in titles)


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
    light = theme.in_mode(chart, "light").to_dict()
    dark = theme.in_mode(chart, "dark").to_dict()
    assert light["config"]["background"] == theme.PAPER["light"]
    assert dark["config"]["background"] == theme.PAPER["dark"]
    assert light["layer"] == dark["layer"]


def test_each_kind_of_set_has_its_own_hue_and_shape():
    channels = dict(encodings(CHARTS["over_time"]().to_dict()))
    for key in ("color", "shape"):
        scale = channels[key]["scale"]
        assert len(set(scale["range"])) == len(scale["domain"]) == 4


def drawn_marks(chart, kind: str) -> list[str]:
    """What a screen reader says of the marks of one kind, as they are drawn."""
    drawn = vl_convert.vegalite_to_svg(theme.printed(chart))
    told = re.findall(r'aria-label="([^"]+)"[^>]*aria-roledescription="([^"]+)"', drawn)
    return [label for label, role in told if role == kind]


def axis_of(chart) -> list[float]:
    """The numbers on the vertical axis of a drawn chart."""
    drawn = vl_convert.vegalite_to_svg(theme.printed(chart))
    ends = re.search(r"Y-axis[^\"]*values from ([\d.]+) to ([\d.]+)", drawn)
    assert ends
    return [float(end) for end in ends.groups()]


def test_one_set_ten_times_too_heavy_does_not_stretch_the_axis():
    many = pd.concat([TREND] * 3), pd.concat([POINTS.head(3)] * 4, ignore_index=True)
    far = many[1].copy()
    far.loc[5, "implied_kg"], far.loc[7, "implied_kg"] = 379.0, 3.0
    calm, chart = (strength.over_time(many[0], points) for points in (many[1], far))
    assert "Triangles: 2 far outside" in " ".join(chart.title.subtitle)
    assert "Triangles" not in " ".join(calm.title.subtitle)
    at_edge = [label for label in drawn_marks(chart, "point") if "Implied" in label]
    assert any("379" in label for label in at_edge)
    shapes = [layer["mark"].get("shape") for layer in chart.to_dict()["layer"]]
    assert shapes[-2:] == ["triangle-down", "triangle-up"]
    low, high = axis_of(chart)  # the band goes from 36.0 to 42.1
    assert low >= 35
    assert high <= 43


def test_a_set_is_told_as_it_was_logged_in_the_tooltip():
    chart = strength.over_time(TREND, POINTS)
    drawn = vl_convert.vegalite_to_svg(theme.printed(chart))
    assert "22.5 kg × 10, 2 in reserve" in drawn
    tips = [
        layer["encoding"]["tooltip"]
        for layer in chart.to_dict()["layer"]
        if "tooltip" in layer["encoding"]
    ]
    assert [tip["title"] for tip in tips[0]] == [
        *("Date", "90 % from [kg]", "Strength [kg]", "to [kg]")
    ]
    formats = {tip["format"] for rows in tips for tip in rows if "kg" in tip["title"]}
    assert formats == {".1f"}


def test_sets_are_said_with_load_repetitions_and_effort():
    sets = pd.DataFrame(
        {
            "set_id": ["a", "b", "c", "d"],
            "load_kg": [22.5, 30.0, 30.0, 10.0],
            "reps": [10, 8, 6, None],
            "rir": [1.5, None, 0.5, None],
            "rir_half": [0.5, None, None, None],
            "failed": [None, True, False, None],
            "hold_s": [None, None, None, 6.0],
        }
    )
    points = beside_sets(pd.DataFrame({"set_id": ["d", "c", "b", "a"]}), sets)
    assert points["done"].tolist() == [
        *("6 s held", "6, 0.5 in reserve", "8, to failure", "10, 1-2 in reserve")
    ]
    assert points["load_kg"].tolist() == [10.0, 30.0, 30.0, 22.5]


def test_a_chart_of_one_day_still_shows_its_point():
    chart = strength.over_time(TREND.head(1), POINTS.head(1))
    assert any(layer["mark"].get("point") for layer in chart.to_dict()["layer"])


def test_drawing_changes_no_setting_of_the_process():
    before = alt.theme.active, alt.data_transformers.active
    theme.printed(CHARTS["residuals"]())
    assert (alt.theme.active, alt.data_transformers.active) == before
    assert before == ("default", "default")


@pytest.mark.parametrize("ends", [(31, 121), (90, 91), (20, 130)])
def test_a_lift_is_played_over_frames_that_are_drawn(ends):
    chart = lift.from_the_side(
        VIEW, CURVE, joint=ELBOW, joint_deg=90, range_deg=ends, hardest="x"
    )
    update = chart.usermeta["plays"]["on"][0]["update"]
    first = float(re.search(r"\? ([\d.]+) :", update)[1])
    assert first in set(VIEW.arms["elbow_deg"])


def test_a_lift_is_played_by_events_of_its_frame_and_printed_without():
    chart = CHARTS["lift"]()
    played = {
        param["name"]: param for param in theme.on_screen(chart, "dark")["params"]
    }
    assert played["at_deg"]["on"][0]["events"]["type"] == "timer"
    assert "on" not in played["play"]
    assert all("on" not in param for param in theme.printed(chart)["params"])


def test_left_out_errors_that_agree_are_drawn_beside_each_other():
    same = LEFT_OUT.head(1).assign(error_same_load=0.03, error_cohort_mean=0.03)
    drawn = vl_convert.vegalite_to_svg(evidence.left_out(same, winner="All").to_dict())
    high = sorted(map(float, re.findall(r'"point" .+?\(.+?,(.+?)\)', drawn)))
    assert [b - a >= 9 for a, b in pairwise(high)] == [True, True]  # 9 px each


def finding(chart) -> str:
    return " ".join(chart.title.text)


def test_findings_hold_for_one_lifter_no_miss_and_near_certainty():
    assert finding(strength.latest(latest(TREND))).endswith("latest 1RM of R07 40.2 kg")
    assert finding(strength.compared(TREND, by="lifter")).endswith(
        "latest 1RM: R07 40.2 kg"
    )
    eight = strength.latest(latest(TREND).assign(reps=8))
    assert finding(eight).endswith("latest 8RM of R07 40.2 kg")
    near = gaps(RESIDUALS.assign(predicted=RESIDUALS["ratio"]))
    assert finding(evidence.residuals(near)).startswith("None of 2 compared variants")
    sure = WEIGHTS.assign(weight=[0.9999, 0.0001, 0.0, 0.0, 0.0])
    assert finding(evidence.weights(sure)).endswith("weight over 99\N{NO-BREAK SPACE}%")


def test_shapes_and_lone_variants_are_told_no_stronger_than_they_are():
    even = WEIGHTS.assign(weight=[0.21, 0.21, 0.19, 0.17, 0.22])
    told = finding(evidence.weights(even))
    assert told.startswith("No shape stands out; most believable is falling")
    lone = gaps(RESIDUALS.head(1).assign(ratio=0.92, predicted=1.0, low=0.9, high=0.94))
    assert finding(evidence.residuals(lone)).endswith(
        "the model" if lone["misses"].iloc[0] else "does not miss the model"
    )


def test_a_band_without_an_end_does_not_flatten_the_demand():
    # Near the end of a range least can be given: an interval of up to 7 times it.
    wild = CURVE.assign(utilisation_high=[0.6, 0.8, 2.0, 7.0])
    rows, joint = STICKING.head(1), load_catalogue().joints["elbow"]
    drawn = [
        through_range.utilisation(curve, rows, joint=joint, joint_deg=90)
        for curve in (CURVE, wild)
    ]
    seen = [
        channel["scale"]["domain"]
        for chart in drawn
        for name, channel in encodings(chart.to_dict())
        if name == "y" and channel.get("title") == "Demand ÷ capability [%]"
    ]
    assert seen[0] == [0, 1.1]  # its highest
    assert seen[-1] == [0, 1.8]  # twice the highest demand, of 90 %
    said = [" ".join(chart.title.subtitle) for chart in drawn]
    assert ["goes on above" in words for words in said] == [False, True]


def test_the_battery_is_told_by_all_strengths_and_the_worst_plan():
    assert battery_in_words(BATTERY) == (
        "90 % intervals hold 90% of true strengths, 88% in the worst plan (3x8); the "
        "error is 4.0%, by the usual rule 4.2%"
    )


def test_held_loads_are_said_to_lie_nearest_the_shape_they_miss_least():
    curves = pd.concat(
        [
            pd.DataFrame({"shape": name, "angle_deg": [40, 110], "ratio": ratio})
            for name, ratio in (("peaked", [1.2, 1.1]), ("flat", [0.72, 1.02]))
        ]
    )
    assert nearest_shape(DIRECT, curves) == "flat"


def test_personal_ratios_that_agree_are_drawn_beside_each_other_in_rows_apart():
    both = ratios.personal(PERSONAL.assign(ratio=0.9, own_ratio=0.9, cohort_ratio=0.9))
    drawn = vl_convert.vegalite_to_svg(both.to_dict())
    high = sorted(map(float, re.findall(r'"point" .+?\(.+?,(.+?)\)', drawn)))
    assert len(high) == 6
    assert all(b - a >= 9 for a, b in pairwise(high))  # 9 px each
