"""Predicted and measured ratios of every family of lifts, side by side."""

import altair as alt
import pandas as pd

from analytics.charts import theme


def checks(rows: pd.DataFrame) -> alt.LayerChart:
    """Draw what is predicted of measured people, and what they did.

    Parameters
    ----------
    rows : DataFrame
        Of `family_table`, a ``label`` added.
    """
    across = alt.X("low:Q", title="Ratio of strengths [1]", scale=alt.Scale(zero=False))
    down = alt.Y("label:N", title=None, sort=None, axis=alt.Axis(labelLimit=320))
    tooltip = [
        alt.Tooltip("label:N", title="Compared"),
        *theme.interval("low", "predicted", "high", title="Predicted", digits=".2f"),
        alt.Tooltip("measured:Q", title="Measured", format=".2f"),
        alt.Tooltip("misfit:Q", title="Misfit [SD]", format=".1f"),
        alt.Tooltip("n:Q", title="People measured"),
    ]
    base = alt.Chart(rows).encode(y=down, tooltip=tooltip)
    span = base.mark_rule(color=theme.MODELLED, strokeWidth=2).encode(
        x=across, x2="high:Q"
    )
    middle = base.mark_point(
        color=theme.MODELLED, filled=True, size=70, opacity=1
    ).encode(x="predicted:Q")
    people = base.mark_point(
        color=theme.MEASURED, shape="diamond", filled=True, size=110, opacity=1
    ).encode(x="measured:Q")
    said = rows["verdict"].value_counts()
    failed, wide = said.get("fails", 0), said.get("too wide to fail", 0)
    return theme.titled(
        alt.layer(span, middle, people).properties(height=alt.Step(28)),
        f"{failed} of {len(rows)} predictions fail measured people, {wide} are open",
        "Dots modelled, with 90 % intervals where parameters are uncertain; diamonds "
        "measured.",
        description="Predicted and measured ratios: " + ", ".join(rows["label"]) + ".",
    )
