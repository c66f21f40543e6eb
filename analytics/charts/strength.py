"""Strength over time: the sets, the band, and everyone's latest."""

import altair as alt
import numpy as np
import pandas as pd

from analytics.charts import theme

KIND_WORDS = {
    "failure": "to failure",
    "rir": "reps in reserve noted",
    "unreported": "no effort noted: at least this",
    "flagged": "set apart as implausible",
}


def rm(reps: float) -> str:
    """Name the load that can be lifted so many times, as the trade does."""
    return f"{reps:.0f}RM"


def _axis(field: str, rows: pd.DataFrame) -> alt.Y:
    """Return the axis of loads that can be lifted so many times."""
    title = f"Estimated {rm(rows['reps'].iloc[0])} [kg]"
    return alt.Y(f"{field}:Q", title=title, scale=alt.Scale(zero=False))


# Tukey's fences (1977, value from memory): further from the quartiles is no bulk.
FENCES = 1.5


def over_time(trend: pd.DataFrame, set_points: pd.DataFrame) -> alt.LayerChart:
    """Draw one lifter's strength in one setup with every set behind it.

    The axis fits the band and the bulk of the sets; those beyond stand at its edge.

    Parameters
    ----------
    trend : DataFrame
        One lifter, one setup: `lifter, setup, date, reps, strength_kg, low_kg,
        high_kg`.
    set_points : DataFrame
        The sets: `date, kind, load_kg, done, implied_kg, expected_kg, z`.
    """
    placed = _placed(set_points, trend)
    band = (
        alt.Chart(trend)
        .mark_area(opacity=0.22, color=theme.ESTIMATED)
        .encode(
            x=theme.by_day("date"),
            y=_axis("low_kg", trend),
            y2=alt.Y2("high_kg:Q"),
        )
    )
    line = (
        alt.Chart(trend)
        .mark_line(color=theme.ESTIMATED, point=len(trend) < 3)
        .encode(x=alt.X("date:T"), y=alt.Y("strength_kg:Q"))
    )
    marks = [band, line, _hover(trend), _points(placed[placed["edge"] == ""], trend)]
    outside = placed[placed["edge"] != ""]
    for edge, shape in (("below", "triangle-down"), ("above", "triangle-up")):
        if (there := outside["edge"] == edge).any():
            marks.append(_outside(outside[there], trend, shape))
    first, last = trend.iloc[0], trend.iloc[-1]
    finding = (
        f"{last.lifter}, {last.setup}: {rm(last.reps)} about {last.strength_kg:.1f} kg "
        f"on {last.date:%Y-%m-%d} (90 % interval {last.low_kg:.1f} to "
        f"{last.high_kg:.1f} kg)"
    )
    return theme.titled(
        alt.layer(*marks).properties(height=340),
        finding,
        "Line and band: estimated from the log, 90 % interval. Marks: sets as "
        f"measured, each turned into the {rm(last.reps)} it implies."
        + f" Triangles: {len(outside)} far outside; point at one."
        * bool(len(outside)),
        description=(
            f"Line of estimated strength from {first.strength_kg:.1f} kg on "
            f"{first.date:%Y-%m-%d} to {last.strength_kg:.1f} kg on "
            f"{last.date:%Y-%m-%d}, over {len(set_points)} sets."
        ),
    )


def _placed(points: pd.DataFrame, trend: pd.DataFrame) -> pd.DataFrame:
    """Put sets beyond the band and the fences of their bulk at the edge."""
    implied = points["implied_kg"].astype(float)
    first, third = implied.quantile([0.25, 0.75])
    reach = FENCES * (third - first)
    below = implied < min(trend["low_kg"].min(), first - reach)
    above = implied > max(trend["high_kg"].max(), third + reach)
    inside = implied[~(below | above)]
    low = np.nanmin([trend["low_kg"].min(), inside.min()])
    high = np.nanmax([trend["high_kg"].max(), inside.max()])
    edge = np.select([below, above], ["below", "above"], default="")
    return points.assign(drawn_kg=implied.clip(low, high), edge=edge)


_BAND = theme.interval("low_kg", "strength_kg", "high_kg", title="Strength", unit="kg")


def _hover(rows: pd.DataFrame, *more: alt.Tooltip) -> alt.Chart:
    """Tell each day of a band: a line or an area tells its first day everywhere."""
    return (
        alt.Chart(rows)
        .mark_rule(opacity=0, strokeWidth=8, aria=False)
        .encode(
            x=alt.X("date:T"),
            y=alt.Y("low_kg:Q"),
            y2=alt.Y2("high_kg:Q"),
            tooltip=[*more, alt.Tooltip("date:T", title="Date"), *_BAND],
        )
    )


def _set_tooltips(trend: pd.DataFrame) -> list[alt.Tooltip]:
    often = rm(trend["reps"].iloc[0])
    return [
        alt.Tooltip("date:T", title="Date"),
        alt.Tooltip("set:N", title="Set"),
        alt.Tooltip("told:N", title="Counts as"),
        alt.Tooltip("implied_kg:Q", title=f"Implied {often} [kg]", format=".1f"),
        alt.Tooltip("expected_kg:Q", title="Expected [kg]", format=".1f"),
        alt.Tooltip("z:Q", title="Off by, in spreads", format=".1f"),
    ]


def _of_sets(points: pd.DataFrame) -> alt.Chart:
    """Chart of sets, each told as it was logged."""
    return theme.as_logged(points.assign(told=points["kind"].map(KIND_WORDS)))


def _points(points: pd.DataFrame, trend: pd.DataFrame) -> alt.Chart:
    kinds = [kind for kind in theme.SET_KIND if kind in set(points["kind"])]
    words = [KIND_WORDS[kind] for kind in kinds]
    hues, shapes = zip(*(theme.SET_KIND[kind] for kind in kinds), strict=True) or (
        (),
        (),
    )
    return (
        _of_sets(points)
        .mark_point(opacity=0.75, size=45)
        .encode(
            x=alt.X("date:T"),
            y=alt.Y("drawn_kg:Q"),
            color=alt.Color(
                "told:N", title="Sets", scale=alt.Scale(domain=words, range=list(hues))
            ),
            shape=alt.Shape(
                "told:N",
                title="Sets",
                scale=alt.Scale(domain=words, range=list(shapes)),
            ),
            tooltip=_set_tooltips(trend),
        )
    )


def _outside(points: pd.DataFrame, trend: pd.DataFrame, shape: str) -> alt.Chart:
    """Mark sets beyond the axis by triangles at its edge."""
    return (
        _of_sets(points)
        .mark_point(size=110, opacity=1, color=theme.MODELLED, shape=shape)
        .encode(x=alt.X("date:T"), y=alt.Y("drawn_kg:Q"), tooltip=_set_tooltips(trend))
    )


def latest(
    rows: pd.DataFrame, counts: pd.DataFrame | None = None
) -> alt.LayerChart | alt.Chart:
    """Draw everyone's latest strength in one setup.

    Parameters
    ----------
    rows : DataFrame
        One a lifter: `lifter, setup, date, reps, basis, strength_kg, low_kg, high_kg`.
    counts : DataFrame or None
        `from_kg, to_kg, lifters`, drawn where dots would be too many.
    """
    setup = rows["setup"].iloc[0]
    low, high = rows["strength_kg"].min(), rows["strength_kg"].max()
    often = rm(rows["reps"].iloc[0])
    finding = (
        f"{setup}: latest {often} from {low:.0f} to {high:.0f} kg "
        f"({len(rows)} with sets)"
        if len(rows) > 1
        else f"{setup}: latest {often} of {rows['lifter'].iloc[0]} {low:.1f} kg"
    )
    assumed = int((rows["basis"] == "assumed reserve").sum())
    detail = (
        "Estimated from each log at its last set, 90 % interval. Logged convention: "
        "total on a bar, cable or machine, per hand for dumbbells."
        + f" {assumed} of {len(rows)} rest on assumed reserve."
        * bool(assumed)
    )
    if counts is not None:
        return _spread(rows, counts, finding, detail)
    y = theme.by_name("lifter", sort=alt.SortField("strength_kg", "descending"))
    x = alt.X("low_kg:Q", title=f"Estimated {often} [kg]", scale=alt.Scale(zero=False))
    base = alt.Chart(rows)
    bars = base.mark_rule(strokeWidth=3, color=theme.ESTIMATED, opacity=0.5).encode(
        y=y, x=x, x2=alt.X2("high_kg:Q")
    )
    dots = base.mark_point(size=80, color=theme.ESTIMATED, opacity=1).encode(
        y=y,
        x=alt.X("strength_kg:Q"),
        tooltip=[
            alt.Tooltip("lifter:N", title="Lifter"),
            alt.Tooltip("date:T", title="Last set"),
            alt.Tooltip("basis:N", title="Rests on"),
            *_BAND,
        ],
    )
    step = 30 if len(rows) <= 20 else 18
    return theme.titled(
        alt.layer(bars, dots).properties(height=alt.Step(step)),
        finding,
        detail,
        description=f"One dot and interval for each of {len(rows)} lifters.",
    )


def _spread(
    rows: pd.DataFrame, counts: pd.DataFrame, finding: str, detail: str
) -> alt.Chart:
    """Draw how many lifters have which strength."""
    chart = (
        alt.Chart(counts)
        .mark_rect(color=theme.ESTIMATED, stroke=theme.PAPER["light"])
        .encode(
            x=alt.X("from_kg:Q", title=f"Estimated {rm(rows['reps'].iloc[0])} [kg]"),
            x2=alt.X2("to_kg:Q"),
            y=alt.Y("lifters:Q", title="Lifters"),
            y2=alt.datum(0),
            tooltip=[
                alt.Tooltip("from_kg:Q", title="From [kg]", format=".1f"),
                alt.Tooltip("to_kg:Q", title="to [kg]", format=".1f"),
                alt.Tooltip("lifters:Q", title="Lifters"),
            ],
        )
    )
    return theme.titled(
        chart.properties(height=320),
        finding,
        detail,
        description=f"How many of {len(rows)} lifters have which strength.",
    )


def compared(rows: pd.DataFrame, *, by: str) -> alt.LayerChart:
    """Draw up to four strengths over time, of as many lifters or exercises.

    Parameters
    ----------
    rows : DataFrame
        `lifter, setup, date, reps, strength_kg, low_kg, high_kg`.
    by : str
        What parts the lines: `lifter` or `setup`.
    """
    names = list(rows[by].unique())
    last = rows.sort_values("date").groupby(by)["strength_kg"].last()
    said = ", ".join(f"{name} {last[name]:.1f} kg" for name in names)
    of = rows["setup" if by == "lifter" else "lifter"].iloc[0]
    marks = theme.by_line(by, names, theme.CATEGORIES)
    base = alt.Chart(rows).encode(x=theme.by_day("date"), color=marks["color"])
    band = base.mark_area(opacity=0.15).encode(
        y=_axis("low_kg", rows),
        y2=alt.Y2("high_kg:Q"),
    )
    line = base.mark_line().encode(
        y=alt.Y("strength_kg:Q"), strokeDash=marks["strokeDash"]
    )
    whose = "Exercise" if by == "setup" else "Lifter"
    hover = _hover(rows, alt.Tooltip(f"{by}:N", title=whose))
    return theme.titled(
        alt.layer(band, line, hover).properties(height=320),
        f"{of}, latest {rm(rows['reps'].iloc[0])}: {said}",
        "Estimated from each log, 90 % interval.",
        description=f"Strength over time of {' and '.join(names)}.",
    )


def by_repetitions(rows: pd.DataFrame, *, finding: str) -> alt.LayerChart:
    """Draw how surely the load for each number of repetitions is known.

    Parameters
    ----------
    rows : DataFrame
        `reps, strength_kg, low_kg, high_kg, width_frac, narrowest`.
    finding : str
        The sentence above.
    """
    base = alt.Chart(rows).encode(
        x=alt.X("reps:Q", title="Repetitions", axis=alt.Axis(tickCount=len(rows))),
        y=alt.Y(
            "width_frac:Q",
            title="Give or take [%]",
            axis=alt.Axis(format="%"),
        ),
    )
    marks = base.mark_point(size=80, opacity=1).encode(
        color=alt.Color(
            "narrowest:N",
            legend=None,
            scale=alt.Scale(
                domain=[False, True], range=[theme.ESTIMATED, theme.MODELLED]
            ),
        ),
        shape=alt.Shape(
            "narrowest:N",
            legend=None,
            scale=alt.Scale(domain=[False, True], range=["circle", "diamond"]),
        ),
        tooltip=[
            alt.Tooltip("reps:Q", title="Repetitions"),
            *_BAND,
            alt.Tooltip("width_frac:Q", title="Half of it", format=".1%"),
        ],
    )
    return theme.titled(
        alt.layer(base.mark_line(color=theme.ESTIMATED), marks).properties(height=200),
        finding,
        "Half of the 90 % interval over the load, estimated, latest day. What is "
        "trained is known best (diamond); further away the repetition relation adds "
        "what is not known of it.",
        description=finding,
    )


def relation(rows: pd.DataFrame, *, finding: str) -> alt.LayerChart:
    """Draw the repetition relation of one lifter in one setup.

    Parameters
    ----------
    rows : DataFrame
        `reps, share_frac, low_frac, high_frac`.
    finding : str
        The sentence above.
    """
    base = alt.Chart(rows).encode(x=alt.X("reps:Q", title="Repetitions possible"))
    band = base.mark_area(opacity=0.22, color=theme.ESTIMATED).encode(
        y=alt.Y(
            "low_frac:Q",
            title="Share of the load for one [%]",
            axis=alt.Axis(format="%"),
            scale=alt.Scale(zero=False),
        ),
        y2=alt.Y2("high_frac:Q"),
    )
    line = base.mark_line(color=theme.ESTIMATED).encode(y=alt.Y("share_frac:Q"))
    hover = base.mark_rule(opacity=0, strokeWidth=8, aria=False).encode(
        y=alt.Y("low_frac:Q"),
        y2=alt.Y2("high_frac:Q"),
        tooltip=[
            alt.Tooltip("reps:Q", title="Repetitions"),
            *theme.interval(
                "low_frac", "share_frac", "high_frac", title="Share", digits=".1%"
            ),
        ],
    )
    return theme.titled(
        alt.layer(band, line, hover).properties(height=240),
        finding,
        "The one relation behind strength, charts, next loads and report; band: 90 % "
        "interval of its constant K.",
        description=finding,
    )
