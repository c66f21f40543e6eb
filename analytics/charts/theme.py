"""Hues, shapes and type of every figure: one visual language, light and dark.

A hue says where a number comes from and is never alone: a shape or a dash says it
again. Nothing here knows Streamlit.
"""

from collections.abc import Sequence
from textwrap import wrap
from threading import Lock
from typing import Any

import altair as alt
import numpy as np
import pandas as pd
import vl_convert

from analytics.catalogue import Joint
from analytics.labels import typeset
from analytics.shown_loads import loads_in, text_in

# A channel given as text costs 4 ms, as an object nothing, so charts give objects.
_ALTAIR_LOCK = Lock()  # how it turns tables into data is one setting for all threads

# Every hue reaches 3:1 (WCAG 2.2, 1.4.11) on both backgrounds of config.toml.
ESTIMATED = "#1F82BE"
MODELLED = "#CF5C12"
THIRD = "#12906A"
FOURTH = "#B9649B"
MEASURED = "#78808A"
CATEGORIES = (ESTIMATED, MODELLED, THIRD, FOURTH, MEASURED)
DASHES = ([1, 0], [6, 3], [2, 2], [8, 3, 2, 3], [1, 4], [4, 2, 1, 2])
SHAPES = ("circle", "diamond", "triangle-up", "square", "cross")

DAY = "%Y-%m-%d"
FRAME_MS = 60  # of what is played
DIGITS = 4  # of a number that a figure carries
# Per cent as sentences have it: `typeset` puts the same space before the sign.
_NUMBERS = {
    **{"decimal": ".", "thousands": ",", "grouping": [3], "currency": ["", ""]},
    "percent": "\N{NO-BREAK SPACE}%",
}

PROVENANCE = {
    "measured": (MEASURED, "square"),
    "estimated": (ESTIMATED, "circle"),
    "modelled": (MODELLED, "diamond"),
    "assumed": (FOURTH, "triangle-down"),
}
SET_KIND = {
    "failure": (ESTIMATED, "circle"),
    "rir": (THIRD, "diamond"),
    "unreported": (MEASURED, "square"),  # triangles are sets outside the axis
    "flagged": (MODELLED, "cross"),
}
RIVAL = {
    "peaked": (ESTIMATED, [1, 0]),
    "flat": (MODELLED, [6, 3]),
    "inverted": (FOURTH, [2, 2]),
    "leverage": (THIRD, [8, 3, 2, 3]),
    "rising": (MEASURED, [1, 4]),
    "falling": (MODELLED, [4, 2, 1, 2]),
}
FONT = "'Source Sans', 'Source Sans Pro', 'Source Sans 3', sans-serif"
PRINT_FONT = "Liberation Sans, Arial, sans-serif"  # as the page around it
INK = {"light": "#1C2528", "dark": "#E8EAE6"}
QUIET = {"light": "#586469", "dark": "#A3AFB3"}
GRID = {"light": "#E2DFD5", "dark": "#2C363B"}
ON_PRIMARY = {"light": "#FFFFFF", "dark": "#141A1D"}
PAPER = {"light": "#FBFAF6", "dark": "#141A1D"}


def config(mode: str) -> dict[str, Any]:
    """Vega-Lite config of one mode, ``"light"`` or ``"dark"``."""
    ink, quiet, grid = INK[mode], QUIET[mode], GRID[mode]
    return {
        "background": PAPER[mode],
        "font": FONT,
        "tooltipFormat": {"timeFormat": DAY},
        "locale": {"number": _NUMBERS},
        "view": {"stroke": None, "continuousHeight": 300, "continuousWidth": 560},
        "range": {"category": list(CATEGORIES), "symbol": list(SHAPES)},
        "title": {
            "anchor": "start",
            "color": ink,
            "fontSize": 15,
            "fontWeight": 600,
            "subtitleColor": quiet,
            "subtitleFontSize": 12,
            "offset": 10,
        },
        "axis": {
            "labelColor": quiet,
            "titleColor": ink,
            "titleFontWeight": "normal",
            "labelFontSize": 12,
            "titleFontSize": 12,
            "gridColor": grid,
            "domainColor": quiet,
            "tickColor": quiet,
            "tickCount": 7,
            "labelLimit": 170,
            "labelSeparation": 8,
            "labelFlush": False,  # moved inward, an end's label meets its neighbour
        },
        "legend": {
            "orient": "bottom",
            "direction": "horizontal",
            "columns": 2,
            "labelColor": ink,
            "titleColor": quiet,
            "titleFontWeight": "normal",
            "labelFontSize": 12,
            "labelLimit": 260,
            "symbolSize": 90,
            "symbolOpacity": 1,
        },
        "header": {"labelColor": ink, "titleColor": quiet, "labelFontSize": 12},
        "text": {"color": ink, "fontSize": 12},
        "rule": {"color": quiet},
        "line": {"strokeWidth": 2},
        "point": {"size": 60, "filled": True},
    }


def by_name(field: str, **settings: Any) -> alt.Y:
    """Return a vertical axis of names, broken into lines that a phone can show."""
    lines = r"split(replace(datum.label, regexp('(.{1,22})( |$)', 'g'), '$1\n'), '\n')"
    higher = [  # else the first of the lines stands at the tick
        {"test": f"length(datum.label) > {letters}", "value": px}
        for letters, px in ((44, -14), (22, -7))
    ]
    axis = alt.Axis(
        labelExpr=f"slice({lines}, 0, -1)",
        labelLimit=200,
        labelOffset={"condition": higher, "value": 0},
        title=None,
        grid=False,
    )
    return alt.Y(f"{field}:N", axis=axis, **settings)


def by_line(
    field: str, names: list[str], hues: Sequence[str], *, title: str | None = None
) -> dict[str, Any]:
    """Return hue and dash of lines with names, and a legend that shows both."""
    legend = alt.Legend(symbolType="stroke", symbolSize=600, symbolStrokeWidth=2)
    colour = alt.Scale(domain=names, range=list(hues[: len(names)]))
    dash = alt.Scale(domain=names, range=list(DASHES[: len(names)]))
    return {
        "color": alt.Color(f"{field}:N", title=title, scale=colour, legend=legend),
        "strokeDash": alt.StrokeDash(
            f"{field}:N", title=title, scale=dash, legend=legend
        ),
    }


def by_day(field: str, title: str = "Date") -> alt.X:
    """Return a horizontal axis of days with few enough labels for a phone."""
    axis = alt.Axis(format=DAY, tickCount=5, labelOverlap="greedy")
    return alt.X(f"{field}:T", title=title, axis=axis)


def in_mode(chart: alt.TopLevelMixin, mode: str) -> Any:
    """Return the chart dressed for a light or a dark screen."""
    return chart.configure(**config(mode))


def _short(data: Any) -> Any:
    """Round what a figure carries to four digits: nobody sees more, so none is there.

    What is drawn of others is rounded before, by :func:`analytics.reports.seen_by`.
    """
    if not isinstance(data, pd.DataFrame):
        return data
    numbers = data.select_dtypes("float")
    size = numbers.abs().replace([0.0, np.inf], np.nan)
    factor = 10.0 ** (DIGITS - 1 - np.floor(np.log10(size)))
    rounded = (numbers * factor).round() / factor
    return data.assign(**rounded.fillna(numbers))


def _by_name(data: Any, frames: dict[str, Any]) -> dict[str, str]:
    name = next((name for name, frame in frames.items() if frame is data), None)
    if name is None:
        frames[name := f"table_{len(frames)}"] = data
    return {"name": name}


def _values(data: Any, unit: str) -> Any:
    if isinstance(data, pd.DataFrame):
        data = loads_in(data, unit)
    return alt.to_values(_short(data))


alt.data_transformers.register("by_name", _by_name)
alt.data_transformers.register("values", _values)


def _in_unit(drawn: Any, unit: str) -> Any:
    """Put what a figure says of loads in a unit; its tables are for `loads_in`."""
    if isinstance(drawn, str):
        return text_in(drawn, unit)
    if isinstance(drawn, dict):
        return {
            name: part if name == "datasets" else _in_unit(part, unit)
            for name, part in drawn.items()
        }
    return (
        [_in_unit(part, unit) for part in drawn] if isinstance(drawn, list) else drawn
    )


def played(
    name: str, ticked: str, *, first: float, last: float, step: float
) -> dict[str, Any]:
    """Return what lets a parameter of a figure run on while another is ticked.

    Parameters
    ----------
    name, ticked : str
        Parameter that runs, and the one of a checkbox.
    first, last, step : float
        Of its values; after the last the first follows.
    """
    update = (
        f"{ticked} ? ({name} + {step} > {last} ? {first} : {name} + {step}) : {name}"
    )
    timer = {"type": "timer", "throttle": FRAME_MS}
    return {"plays": {"name": name, "on": [{"events": timer, "update": update}]}}


def _with_events(drawn: dict[str, Any]) -> dict[str, Any]:
    """Hand a parameter its events, which Vega-Lite only passes on."""
    plays = drawn.get("usermeta", {}).get("plays", {})
    for param in drawn.get("params", ()):
        if param["name"] == plays.get("name"):
            param["on"] = plays["on"]
    return drawn


def on_screen(chart: Any, mode: str, unit: str = "kg") -> dict[str, Any]:
    """Return what Vega-Lite draws in one mode: no title, tables left as they are.

    Parameters
    ----------
    chart : altair chart
        Any unconfigured chart.
    mode : str
        ``light`` or ``dark``.
    unit : str
        ``kg`` or ``lb``, of all loads.
    """
    frames: dict[str, Any] = {}
    screen = in_mode(chart, mode)
    screen.title = alt.Undefined
    with _ALTAIR_LOCK, alt.data_transformers.enable("by_name", frames=frames):
        drawn = screen.to_dict(validate=False)
    tables = {name: _short(loads_in(frames[name], unit)) for name in frames}
    return {**_in_unit(_with_events(drawn), unit), "datasets": tables}


def printed(chart: Any, unit: str = "kg") -> dict[str, Any]:
    """Return what Vega-Lite draws on paper: light, with its title and numbers."""
    with _ALTAIR_LOCK, alt.data_transformers.enable("values", unit=unit):
        return dict(_in_unit(in_mode(chart, "light").to_dict(validate=False), unit))


def svg(chart: Any, unit: str = "kg", **size: Any) -> str:
    """Return a picture for a page that says beside it what the chart's title says.

    Parameters
    ----------
    chart : altair chart
        Any unconfigured chart.
    unit : str
        ``kg`` or ``lb``, of all loads.
    **size
        Width and height, as Vega-Lite takes them.
    """
    drawn = {**printed(chart, unit), **size}
    del drawn["title"]
    drawn["autosize"] = {"type": "fit-x", "contains": "padding"}
    drawn["config"] |= {"font": PRINT_FONT, "background": "#FFFFFF"}
    drawn["config"]["legend"]["columns"] = 4
    return str(vl_convert.vegalite_to_svg(drawn))


def angle(joint: Joint, title: str | None = None) -> alt.Tooltip:
    """Return the tooltip of a joint's angle."""
    title = title or f"{joint.title} [°]"
    return alt.Tooltip(f"{joint.column}:Q", title=title, format=".0f")


def interval(
    low: str, middle: str, high: str, *, title: str, unit: str = "", digits: str = ".1f"
) -> list[alt.Tooltip]:
    """Return the tooltips of an estimate between the ends of its 90 % interval.

    Parameters
    ----------
    low, middle, high : str
        Columns.
    title, unit : str
        Of the estimate.
    digits : str
        How the numbers are written.
    """
    sign = f" [{unit}]" * bool(unit)
    return [
        alt.Tooltip(f"{column}:Q", title=f"{words}{sign}", format=digits)
        for column, words in ((low, "90 % from"), (middle, title), (high, "to"))
    ]


def hover(chart: alt.Chart, tooltip: list[alt.Tooltip], **channels: Any) -> alt.Chart:
    """Tell each point of a line or band: the marks themselves tell but their first."""
    return chart.mark_point(opacity=0, size=300, aria=False, clip=True).encode(
        tooltip=tooltip, **channels
    )


def as_logged(sets: pd.DataFrame) -> alt.Chart:
    """Chart of sets, each with a ``set`` as it was logged, its unit that of the axes.

    Parameters
    ----------
    sets : DataFrame
        `load_kg, done`: the load and the rest in words.
    """
    load = "format(datum.load_kg, '.4~g') + ' ' + slice('[kg]', 1, 3)"
    return alt.Chart(sets).transform_calculate(set=f"{load} + ' × ' + datum.done")


def titled(chart: Any, finding: str, detail: str, *, description: str) -> Any:
    """Give a chart the finding as title, how to read it, and words for the blind.

    Parameters
    ----------
    chart : altair chart
        Any unconfigured chart.
    finding : str
        One sentence that states what the figure shows.
    detail : str
        Where its numbers come from and what the marks mean.
    description : str
        What a screen reader says of the picture.
    """
    finding, detail = typeset(finding), typeset(detail)
    title = alt.Title(text=wrap(finding, 62), subtitle=wrap(detail, 84))
    return chart.properties(title=title, description=description)
