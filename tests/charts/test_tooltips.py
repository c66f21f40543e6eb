"""What every figure says of a point, and how it writes its numbers."""

import inspect
import re
from collections.abc import Iterator
from functools import cache
from importlib import import_module
from pkgutil import iter_modules

import pytest
import vl_convert
from charts_drawn import CHARTS

from analytics import charts
from analytics.charts import theme

# How a number of a unit is written: one decimal, angles and ratios as far as known.
DIGITS = {
    "kg": (".1f",),
    "N·m": (".1f",),
    "cm": (".1f",),
    "°": (".0f", ".1f"),
    "°/s": (".0f",),
    "m": (".2f",),
    "s": (".2f",),
    "SD": (".1f",),
    "": (".1f", ".2f", ".1%", "+.1%", None),  # without a unit: ratio, share or count
}
DRAWINGS = ("balance",)  # bodies to scale: their numbers stand in the title


def marks(spec: dict) -> Iterator[tuple[dict, dict]]:
    """Every mark of a figure with its channels, what its layers share included."""

    def walk(part: dict, above: dict) -> Iterator[tuple[dict, dict]]:
        shared = above | part.get("encoding", {})
        if "mark" in part:
            yield part["mark"], shared
        for kind in ("layer", "hconcat", "vconcat"):
            for one in part.get(kind, []):
                yield from walk(one, shared)

    return walk(spec, {})


def tips(channels: dict) -> list[dict]:
    return channels.get("tooltip", [])


@cache
def marks_of(name: str) -> list[tuple[dict, dict]]:
    return list(marks(CHARTS[name]().to_dict()))


@pytest.fixture(params=CHARTS)
def drawn(request):
    return request.param, marks_of(request.param)


def test_every_function_that_draws_is_held_to_the_rules():
    made = {
        f"{module.name}.{name}"
        for module in iter_modules(charts.__path__)
        if module.name not in ("theme", "sparkline")
        for name, one in inspect.getmembers(
            import_module(f"analytics.charts.{module.name}"), inspect.isfunction
        )
        if one.__module__.endswith(f".{module.name}")
        and not name.startswith("_")
        and "Chart" in str(inspect.signature(one).return_annotation)
    }
    held = {
        ".".join(found)
        for draw in CHARTS.values()
        for found in re.findall(r"(\w+)\.(\w+)\(", inspect.getsource(draw))
    }
    assert made - held == set()


def test_a_figure_tells_its_points_in_words(drawn):
    name, found = drawn
    told = [tip for _, channels in found for tip in tips(channels)]
    assert told or name in DRAWINGS
    for tip in told:
        assert tip.get("title"), tip
        assert "_" not in tip["title"]
        assert tip["title"] != tip["field"]


def test_a_number_that_is_told_has_the_digits_of_its_unit(drawn):
    for _, channels in drawn[1]:
        for tip in tips(channels):
            if tip["type"] == "quantitative":
                unit = re.search(r"\[(.+)\]$", tip["title"])
                assert tip.get("format") in DIGITS[unit[1] if unit else ""], tip


def test_an_interval_is_told_low_estimate_high(drawn):
    """What is drawn from x to x2 is told, 90 % ends around their estimate."""
    ends, told = set(), set()
    for mark, channels in drawn[1]:
        fields = [tip["field"] for tip in tips(channels)]
        titles = [tip["title"].split(" [")[0] for tip in tips(channels)]
        told |= set(fields)
        for at, title in enumerate(titles):
            if title == "90 % from":
                assert titles[at + 2] == "to"
                assert titles[at + 1] not in ("to", "90 % from")
        for one, two in (("x", "x2"), ("y", "y2")):
            if two in channels and mark["type"] in ("rule", "area", "bar"):
                ends |= {channels[one]["field"], channels[two].get("field")}
    # Ends of the base of support and of a range are told by the drawing beside them.
    beside = {"base_back_m", "base_front_m", "own_ratio", "cohort_ratio"}
    assert ends - told - beside == set()


def test_a_line_leaves_the_telling_to_its_points(drawn):
    """Vega tells of a line or an area its first point, wherever one points."""
    name, found = drawn
    for mark, channels in found:
        if mark["type"] in ("line", "area") and tips(channels):
            # The muscles of the drawing are one line per muscle and frame.
            assert mark.get("point") or name.startswith("lift")


def test_a_point_that_is_a_set_tells_the_set_itself():
    for name in ("over_time", "lean"):
        told = [tips(c) for _, c in marks_of(name)]
        told = [rows for rows in told if any(tip["field"] == "set" for tip in rows)]
        assert told
        for rows in told:
            assert [tip["title"] for tip in rows[:2]] == ["Date", "Set"]
        svg = vl_convert.vegalite_to_svg(theme.printed(CHARTS[name]()))
        assert "Set: 22.5 kg × 10, 2 in reserve" in svg


@pytest.mark.parametrize("name", CHARTS)
def test_per_cent_has_one_form_in_every_figure(name):
    svg = vl_convert.vegalite_to_svg(theme.printed(CHARTS[name]()))
    assert re.findall(r".{0,12}\d%", svg) == []
