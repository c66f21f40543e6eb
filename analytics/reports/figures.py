"""Pictures of the client report: result tables to Vega-Lite, Vega-Lite to SVG.

Vega-Lite written out as plain dictionaries, because the library knows no
charting package of the screen.
"""

import json
from typing import Any

import pandas as pd
import vl_convert

from analytics.catalogue import Joint

VEGA_LITE = "6.1"
HUES = ["#0072B2", "#D55E00", "#009E73", "#555555"]  # told apart by colour-blind eyes
DASHES = [[1, 0], [6, 3], [2, 2], [8, 2, 2, 2]]
MARKS = ["circle", "square", "triangle-up", "diamond"]
WIDTH, HEIGHT = 620, 190
QUIET: dict[str, Any] = {
    "view": {"stroke": None},
    "font": "Liberation Sans, Arial, sans-serif",
    "axis": {
        "labelFontSize": 11,
        "titleFontSize": 11,
        "gridColor": "#e4e4e4",
        "labelFlush": False,
        "labelSeparation": 8,
    },
    "legend": {
        "labelFontSize": 11,
        "title": None,
        "orient": "top",
        "labelLimit": 290,
        "columns": 2,
    },
}


def _records(table: pd.DataFrame) -> list[dict[str, Any]]:
    """Rows of a table, with no digit that is not for the reader's eye."""
    numbers = table.select_dtypes("float").columns
    digits = {name: 2 if name in ("ratio", "low", "high") else 1 for name in numbers}
    table = table.round(digits)
    return json.loads(table.to_json(orient="records", date_format="iso"))


def _scales(names: list[str]) -> dict[str, Any]:
    """Hue, dash and mark of each name: never colour alone."""
    count = len(names)
    return {
        "color": {
            "field": "setup",
            "scale": {"domain": names, "range": HUES[:count]},
        },
        "strokeDash": {
            "field": "setup",
            "scale": {"domain": names, "range": DASHES[:count]},
        },
        "shape": {
            "field": "setup",
            "scale": {"domain": names, "range": MARKS[:count]},
        },
    }


def svg(specification: dict[str, Any]) -> str:
    """Draw one picture.

    Parameters
    ----------
    specification : dict
        Vega-Lite.

    Returns
    -------
    svg : str
        For placing in a page.
    """
    return str(
        vl_convert.vegalite_to_svg(
            {"config": QUIET, **specification}, vl_version=VEGA_LITE
        )
    )


def strength_figure(trend: pd.DataFrame, *, interval: float) -> dict[str, Any]:
    """Strength over time with its interval, at most four setups.

    Parameters
    ----------
    trend : DataFrame
        ``setup, date, strength_kg, low_kg, high_kg, sets`` of one lifter.
    interval : float
        Level of the interval, for the axis title. [1]

    Returns
    -------
    specification : dict
        Vega-Lite.
    """
    most = trend.groupby("setup")["sets"].sum().nlargest(len(HUES)).index.tolist()
    shown = trend[trend["setup"].isin(most)]
    columns = ["setup", "date", "strength_kg", "low_kg", "high_kg"]
    scales = _scales(most)
    days = {"format": "%-d %b %y", "labelOverlap": "greedy", "tickCount": 7}
    x = {"field": "date", "type": "temporal", "title": None, "axis": days}
    y = {
        "field": "strength_kg",
        "type": "quantitative",
        "scale": {"zero": False},
        "title": f"strength, kg, {interval:.0%} interval",
    }
    legend = {"symbolType": "stroke", "symbolOpacity": 1, "symbolStrokeWidth": 2}
    band = {"y": {**y, "field": "low_kg"}, "y2": {"field": "high_kg"}}
    return {
        "width": WIDTH,
        "height": HEIGHT,
        "data": {"values": _records(shown[columns])},
        "encoding": {
            "x": x,
            "color": {**scales["color"], "legend": legend},
            "strokeDash": {**scales["strokeDash"], "legend": legend},
        },
        "layer": [
            {"mark": {"type": "area", "opacity": 0.15}, "encoding": band},
            {"mark": {"type": "line", "strokeWidth": 2}, "encoding": {"y": y}},
        ],
    }


def ratio_figure(ratios: pd.DataFrame, *, interval: float) -> dict[str, Any]:
    """Own, cohort and modelled ratios side by side.

    Parameters
    ----------
    ratios : DataFrame
        ``setup, source, ratio, low, high``; source is ``yours``, ``cohort`` or
        ``modelled``.
    interval : float
        Level of the intervals. [1]

    Returns
    -------
    specification : dict
        Vega-Lite.
    """
    order = ["yours", "cohort", "modelled"]
    y = {
        **{"field": "setup", "type": "nominal", "title": None, "sort": None},
        "axis": {"labelLimit": 300},
    }
    offset = {"field": "source", "sort": order}
    hue = {"field": "source", "scale": {"domain": order, "range": HUES[:3]}}
    mark = {"field": "source", "scale": {"domain": order, "range": MARKS[:3]}}
    x = {
        "type": "quantitative",
        "scale": {"zero": False},
        "title": f"strength per working arm ÷ reference, with {interval:.0%} interval",
    }
    return {
        "width": WIDTH - 160,
        "height": {"step": 12},
        "data": {"values": _records(ratios)},
        "encoding": {"y": y, "yOffset": offset, "color": hue},
        "layer": [
            {
                "mark": {"type": "rule", "strokeWidth": 2},
                "encoding": {"x": {**x, "field": "low"}, "x2": {"field": "high"}},
            },
            {
                "mark": {"type": "point", "filled": True, "size": 55},
                "encoding": {"x": {**x, "field": "ratio"}, "shape": mark},
            },
        ],
    }


def range_figure(curve: pd.DataFrame, *, title: str, joint: Joint) -> dict[str, Any]:
    """Moment the load asks for against the moment the muscles can give.

    Parameters
    ----------
    curve : DataFrame
        The joint's angle, ``demand_nm, capability_nm``.
    title : str
        What is drawn.
    joint : Joint
        Which.

    Returns
    -------
    specification : dict
        Vega-Lite.
    """
    named = {"demand_nm": "asked by the load", "capability_nm": "muscles can give"}
    long = curve.rename(columns=named).melt(
        id_vars=joint.column, value_vars=list(named.values()), var_name="setup"
    )
    scales = _scales(list(named.values()))
    return {
        "width": WIDTH,
        "height": HEIGHT - 20,
        "title": {"text": title, "anchor": "start", "fontSize": 12},
        "data": {"values": _records(long)},
        "mark": {"type": "line", "strokeWidth": 2},
        "encoding": {
            "x": {
                "field": joint.column,
                "type": "quantitative",
                "title": f"{joint.title.lower()} angle, degrees (0 = {joint.zero})",
            },
            "y": {
                "field": "value",
                "type": "quantitative",
                "title": f"{joint.title.lower()} moment, N m, modelled",
            },
            "color": scales["color"],
            "strokeDash": scales["strokeDash"],
        },
    }
