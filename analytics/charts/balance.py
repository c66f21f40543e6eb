"""Balance over the progress of a standing lift."""

import altair as alt
import pandas as pd

from analytics.catalogue import Joint
from analytics.charts import theme


def over_progress(rows: pd.DataFrame, *, joint: Joint) -> alt.VConcatChart:
    """Draw lean and centre of pressure while a lift goes on, by stance.

    Parameters
    ----------
    rows : DataFrame
        As `lift_balance` gives them: `stance, progress`, the joint's angle,
        `load_ahead_m, centre_of_pressure_m, base_back_m, base_front_m, lean_deg`.
    joint : Joint
        Which.
    """
    stances = list(rows["stance"].unique())
    progress = alt.X(
        "progress:Q", title="Progress of the lift [%]", axis=alt.Axis(format="%")
    )
    tooltip = [
        alt.Tooltip("stance:N", title="Stance"),
        theme.angle(joint),
        alt.Tooltip(
            "load_ahead_m:Q", title="Load ahead of the ankles [m]", format=".2f"
        ),
        alt.Tooltip("lean_deg:Q", title="Lean back [°]", format=".1f"),
        alt.Tooltip(
            "margin_m:Q", title="Left to the end of the base [m]", format=".2f"
        ),
    ]
    by_stance = theme.by_line("stance", stances, theme.CATEGORIES)
    base = alt.Chart(rows).encode(x=progress)
    back = alt.Y("lean_deg:Q", title="Lean back that balance needs [°]")
    lean = base.mark_line().encode(y=back, **by_stance)
    feet = base.mark_area(opacity=0.12).encode(
        y=alt.Y("base_back_m:Q", title="Ahead of the ankles [m]"),
        y2=alt.Y2("base_front_m:Q"),
        color=by_stance["color"],
    )
    ahead = base.mark_line(color=theme.MODELLED).encode(y="centre_of_pressure_m:Q")
    load = base.mark_line(color=theme.MEASURED, strokeDash=[4, 3]).encode(
        y="load_ahead_m:Q"
    )
    most = rows.groupby("stance")["lean_deg"].agg(["max", "min"], skipna=False)
    said = [
        f"{one} stance {_span(most.loc[one, 'min'], most.loc[one, 'max'])}"
        for one in stances
    ]
    return theme.titled(
        alt.vconcat(
            alt.layer(lean, theme.hover(base, tooltip, y=back)).properties(height=190),
            alt.layer(
                *(feet, ahead, load),
                *(
                    theme.hover(base, tooltip, y=alt.Y(f"{column}:Q"))
                    for column in ("centre_of_pressure_m", "load_ahead_m")
                ),
            ).properties(height=190),
        ),
        f"Lean over the lift: {', '.join(said)}",
        "Modelled, a rigid lean about the ankles: a lower bound. Below: centre of "
        "pressure without lean (full line) and load (broken), over the base of each "
        "stance.",
        description="Lean and centre of pressure by progress of the lift.",
    )


def _span(least: float, most: float) -> str:
    """Say from where to where a lean goes."""
    if pd.isna(most):
        return "cannot be balanced"
    if max(abs(least), abs(most)) < 0.05:
        return "none"
    return f"{least:.0f}° to {most:.0f}°"
