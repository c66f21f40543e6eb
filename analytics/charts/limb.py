"""The whole body drawn to scale, from the side, facing right."""

import altair as alt
import pandas as pd

from analytics.charts import theme


def balance(body: pd.DataFrame, base: pd.DataFrame, *, finding: str) -> alt.LayerChart:
    """Draw body, bar, base of support and where the combined centre falls.

    Parameters
    ----------
    body : DataFrame
        `part, order, x_m, y_m`: segments as lines; part `load` is one point.
    base : DataFrame
        `stance, base_back_m, base_front_m, centre_of_mass_m`, metres from the ankle.
    finding : str
        The sentence above.
    """
    # 1.4 m across and 2.1 m up at 200 points a metre, so that angles look right.
    across = alt.X(
        "x_m:Q", title="Forward of the ankle [m]", scale=alt.Scale(domain=[-0.6, 0.8])
    )
    segments = (
        alt.Chart(body[body["part"] != "load"])
        .mark_line(strokeWidth=7, strokeCap="round", color=theme.MEASURED)
        .encode(
            x=across,
            y=alt.Y("y_m:Q", title="Height [m]", scale=alt.Scale(domain=[-0.1, 2.0])),
            detail=alt.Detail("part:N"),
            order=alt.Order("order:Q"),
        )
    )
    load = (
        alt.Chart(body[body["part"] == "load"])
        .mark_point(
            size=500, filled=False, strokeWidth=4, color=theme.FOURTH, opacity=1
        )
        .encode(x=across, y=alt.Y("y_m:Q"))
    )
    feet = (
        alt.Chart(base.assign(y_m=-0.03))
        .mark_rule(strokeWidth=9, color=theme.ESTIMATED)
        .encode(x=alt.X("base_back_m:Q"), x2=alt.X2("base_front_m:Q"), y=alt.Y("y_m:Q"))
    )
    centre = (
        alt.Chart(base)
        .mark_rule(strokeDash=[6, 3], strokeWidth=2, color=theme.MODELLED)
        .encode(x=alt.X("centre_of_mass_m:Q"))
    )
    return theme.titled(
        alt.layer(feet, segments, load, centre).properties(height=420, width=280),
        finding,
        "Modelled from body segment tables, to scale. Thick bar: base of support. "
        "Dashed: where the centre of mass of body and load falls. Leaning to stay "
        "over the feet is balance; cheating to start the load is another thing.",
        description=finding,
    )


def lean(rows: pd.DataFrame) -> alt.LayerChart:
    """Draw the backward lean each stance needs by load.

    Parameters
    ----------
    rows : DataFrame
        `stance, load_kg, lean_deg, largest_load_kg`.
    """
    free = rows.groupby("stance")["largest_load_kg"].first()
    base = alt.Chart(rows).encode(
        x=alt.X("load_kg:Q", title="Load in front [kg]"),
        y=alt.Y("lean_deg:Q", title="Lean back that balance needs [°]"),
    )
    lines = base.mark_line(clip=True).encode(
        **theme.by_line("stance", list(free.index), theme.CATEGORIES)
    )
    hover = theme.hover(
        base,
        [
            alt.Tooltip("stance:N", title="Stance"),
            alt.Tooltip("load_kg:Q", title="Load [kg]", format=".1f"),
            alt.Tooltip("lean_deg:Q", title="Lean [°]", format=".1f"),
        ],
    )
    return theme.titled(
        alt.layer(lines, hover).properties(height=300),
        f"Without lean a parallel stance holds {free['parallel']:.0f} kg in front, a "
        f"split stance {free['split']:.0f} kg",
        "Modelled: the whole body turns about the ankles until the centre of mass of "
        "body and load is over the front of the base.",
        description="Lean by load for parallel and split stance.",
    )
