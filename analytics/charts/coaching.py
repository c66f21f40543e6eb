"""Weekly work, arm girth and technique, as the log has them."""

import altair as alt
import pandas as pd

from analytics.charts import theme


def weekly(rows: pd.DataFrame, *, finding: str) -> alt.Chart:
    """Draw direct and indirect hard sets a week.

    Parameters
    ----------
    rows : DataFrame
        `week, direct, indirect, effort_unknown`.
    finding : str
        The sentence above.
    """
    names = {
        "direct": "direct, hard",
        "indirect": "indirect, hard",
        "effort_unknown": "effort not noted",
    }
    long = rows.melt("week", list(names), "kind", "sets")
    long["kind"] = long["kind"].map(names)
    hues = [theme.ESTIMATED, theme.THIRD, theme.MEASURED]
    chart = (
        alt.Chart(long)
        .mark_line(point=True)
        .encode(
            x=theme.by_day("week", "Week"),
            y=alt.Y("sets:Q", title="Sets a week"),
            **theme.by_line("kind", list(names.values()), hues),
            tooltip=[
                alt.Tooltip("week:T", title="Week"),
                alt.Tooltip("kind:N", title="Kind"),
                alt.Tooltip("sets:Q", title="Sets"),
            ],
        )
        .properties(height=240)
    )
    return theme.titled(
        chart,
        finding,
        "Measured: counted in the log. Hard: few repetitions left or failure.",
        description=f"Hard sets a week over {len(rows)} weeks.",
    )


def girth(rows: pd.DataFrame, *, finding: str) -> alt.Chart:
    """Draw the measured arm girth.

    Parameters
    ----------
    rows : DataFrame
        `measured_on, arm_girth_m`.
    finding : str
        The sentence above.
    """
    chart = (
        alt.Chart(rows.assign(girth_cm=100 * rows["arm_girth_m"]))
        .mark_point(shape="square", color=theme.MEASURED, opacity=1)
        .encode(
            x=theme.by_day("measured_on"),
            y=alt.Y("girth_cm:Q", title="Arm girth [cm]", scale=alt.Scale(zero=False)),
            tooltip=[
                alt.Tooltip("measured_on:T", title="Date"),
                alt.Tooltip("girth_cm:Q", title="Arm girth [cm]", format=".1f"),
            ],
        )
        .properties(height=200)
    )
    return theme.titled(
        chart,
        finding,
        "Measured with a tape, which also holds fat, water and its own error.",
        description=f"{len(rows)} measurements of arm girth.",
    )


def lean(
    rows: pd.DataFrame, *, start: float, needed: float, finding: str
) -> alt.LayerChart:
    """Draw lean against how heavy a set was for that day.

    Parameters
    ----------
    rows : DataFrame
        `performed_on, load_kg, done, relative_load, lean_deg, stance, cheat`.
    start : float
        Relative load at which lean begins, NaN if it does not. [1]
    needed : float
        Relative load from which the balance model asks for lean, NaN if unknown. [1]
    finding : str
        The sentence above.
    """
    stances = sorted(rows["stance"].replace("", "not noted").unique())
    shown = rows.assign(stance=rows["stance"].replace("", "not noted"))
    scale = alt.Scale(domain=stances, range=list(theme.CATEGORIES[: len(stances)]))
    forms = alt.Scale(domain=stances, range=list(theme.SHAPES[: len(stances)]))
    dots = (
        theme.as_logged(shown)
        .mark_point(opacity=0.7)
        .encode(
            x=alt.X(
                "relative_load:Q",
                title="Load ÷ that day's strength [%]",
                axis=alt.Axis(format="%"),
                scale=alt.Scale(zero=False),
            ),
            y=alt.Y("lean_deg:Q", title="Lean as logged [°]"),
            color=alt.Color("stance:N", title="Stance", scale=scale),
            shape=alt.Shape("stance:N", title="Stance", scale=forms),
            tooltip=[
                alt.Tooltip("performed_on:T", title="Date"),
                alt.Tooltip("set:N", title="Set"),
                alt.Tooltip("relative_load:Q", title="Relative load", format=".1%"),
                alt.Tooltip("lean_deg:Q", title="Lean [°]", format=".1f"),
                alt.Tooltip("stance:N", title="Stance"),
                alt.Tooltip("cheat:N", title="Cheat"),
            ],
        )
    )
    rules = [
        alt.Chart(pd.DataFrame({"at": [at]}).dropna())
        .mark_rule(strokeDash=dash, color=hue, strokeWidth=2)
        .encode(x=alt.X("at:Q"))
        for at, hue, dash in (
            (start, theme.ESTIMATED, [6, 3]),
            (needed, theme.MODELLED, [1, 3]),
        )
    ]
    return theme.titled(
        alt.layer(dots, *rules).properties(height=260),
        finding,
        "Marks: lean of each set, measured. Dashed: where it begins, estimated. "
        "Dotted: from where balance asks for it, modelled.",
        description=finding,
    )
