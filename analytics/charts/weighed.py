"""Torque by angle before and after measured people weighed it."""

from typing import Any

import altair as alt
import pandas as pd

from analytics.catalogue import Joint
from analytics.charts import theme


def torque_angle(
    bands: pd.DataFrame, points: pd.DataFrame, *, joint: Joint
) -> alt.HConcatChart:
    """Draw both bands and the measured ratios, one panel per population.

    Parameters
    ----------
    bands : DataFrame
        `population, drawn, low, middle, high` and the joint's angle.
    points : DataFrame
        `population, middle, low, high, source` and the joint's angle.
    joint : Joint
        Whose strength.
    """
    panels = [
        _panel(mine, points[points["population"] == population], joint).properties(
            title=population, width=190, height=220
        )
        for population, mine in bands.groupby("population", sort=False)
    ]
    return theme.titled(
        alt.hconcat(*panels).resolve_scale(y="shared"),
        "Measured people narrow the curve of strength by angle",
        "Modelled, 90 % bands and medians over muscle sets, curves and parameters, "
        "before and after weighing; dots with 90 % intervals: measured.",
        description="Bands of modelled torque by angle for men, trained men and women, "
        "before and after weighing, with the measured ratio in each.",
    )


def _panel(bands: pd.DataFrame, points: pd.DataFrame, joint: Joint) -> Any:
    names, hues = ["before", "after"], [theme.MEASURED, theme.MODELLED]
    hue = alt.Color("drawn:N", title=None, scale=alt.Scale(domain=names, range=hues))
    dashes = alt.Scale(domain=names, range=[theme.DASHES[2], theme.DASHES[0]])
    dash = alt.StrokeDash("drawn:N", title=None, scale=dashes)
    angle = alt.X(f"{joint.column}:Q", title=f"{joint.title} [°]")
    torque = alt.Y("low:Q", title="Torque over that at 60° [1]")
    top, middle = alt.Y2("high:Q"), alt.Y("middle:Q")
    curve = alt.Chart(bands).encode(x=angle, color=hue)
    people = alt.Chart(points).encode(x=angle)
    ends = ("low", "middle", "high")
    deg = theme.angle(joint)
    seen = [
        deg,
        *theme.interval(*ends, title="Measured", digits=".2f"),
        alt.Tooltip("source:N", title="Source"),
    ]
    told = [
        alt.Tooltip("drawn:N", title="Weighing"),
        deg,
        *theme.interval(*ends, title="Modelled", digits=".2f"),
    ]
    return alt.layer(
        curve.mark_area(opacity=0.25).encode(y=torque, y2=top),
        curve.mark_line().encode(y=middle, strokeDash=dash),
        theme.hover(alt.Chart(bands).encode(x=angle), told, y=middle),
        people.mark_rule(strokeWidth=2).encode(y=torque, y2=top),
        people.mark_point(size=60, filled=True).encode(y=middle, tooltip=seen),
    )
