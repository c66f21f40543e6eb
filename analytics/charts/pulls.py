"""Pulls beside curls: shares, moments, the biceps' length, how muscles share."""

import altair as alt
import pandas as pd

from analytics.charts import theme

_PERCENT = alt.Axis(format="%")


def shares(rows: pd.DataFrame, *, finding: str) -> alt.LayerChart:
    """Draw what a set of each exercise used of the elbow flexors.

    Parameters
    ----------
    rows : DataFrame
        `variant, work, share, low, high, sets_a_week`, means of the weeks.
    finding : str
        The sentence above.
    """
    names = ["curl", "pull"]
    base = alt.Chart(rows).encode(
        y=theme.by_name("variant", sort=alt.EncodingSortField("share", "max")),
        color=alt.Color(
            "work:N",
            title=None,
            scale=alt.Scale(domain=names, range=[theme.ESTIMATED, theme.MODELLED]),
        ),
        tooltip=[
            alt.Tooltip("variant:N", title="Exercise"),
            *theme.interval("low", "share", "high", title="Share", digits=".1%"),
            alt.Tooltip("sets_a_week:Q", title="Hard sets a week", format=".1f"),
        ],
    )
    span = base.mark_rule(strokeWidth=2).encode(
        x=alt.X(
            "low:Q", title="Share of the elbow flexors a set used [%]", axis=_PERCENT
        ),
        x2=alt.X2("high:Q"),
    )
    dot = base.mark_point(opacity=1, size=80).encode(
        x=alt.X("share:Q"),
        shape=alt.Shape(
            "work:N",
            title=None,
            scale=alt.Scale(domain=names, range=["circle", "diamond"]),
        ),
    )
    return theme.titled(
        alt.layer(span, dot).properties(height=alt.Step(30)),
        finding,
        "Modelled, at the logged loads and the lifter's own strength: the largest part "
        "of what the flexors can give, mean over the weeks with 90 % intervals.",
        description=f"Share of the elbow flexors in {len(rows)} exercises.",
    )


def through(table: pd.DataFrame, *, finding: str) -> alt.LayerChart:
    """Draw the moment of shoulder and elbow through a pull.

    Parameters
    ----------
    table : DataFrame
        `joint, progress, elbow_deg, moment_nm, moment_low_nm, moment_high_nm`.
    finding : str
        The sentence above.
    """
    names = ["elbow flexors", "shoulder extensors"]
    base = alt.Chart(table).encode(
        x=alt.X("progress:Q", title="Progress of the pull [%]", axis=_PERCENT)
    )
    told = theme.by_line("joint", names, [theme.ESTIMATED, theme.MODELLED])
    band = base.mark_area(opacity=0.2).encode(
        y=alt.Y("moment_low_nm:Q", title="Moment of one arm [N·m]"),
        y2=alt.Y2("moment_high_nm:Q"),
        color=told["color"],
    )
    line = base.mark_line().encode(y=alt.Y("moment_nm:Q"), **told)
    told_nm = theme.interval(
        "moment_low_nm", "moment_nm", "moment_high_nm", title="Moment", unit="N·m"
    )
    hover = theme.hover(
        base,
        [
            alt.Tooltip("joint:N", title="Muscles"),
            alt.Tooltip("elbow_deg:Q", title="Elbow [°]", format=".0f"),
            *told_nm,
        ],
        y=alt.Y("moment_nm:Q"),
    )
    return theme.titled(
        alt.layer(band, line, hover).properties(height=280),
        finding,
        "Modelled at rest, elbows beside the body's plane of motion. Below 0 the other "
        "side of the joint works. Bands: how far people leave the path.",
        description=finding,
    )


def length_map(
    grid: pd.DataFrame, paths: pd.DataFrame, *, finding: str
) -> alt.LayerChart:
    """Draw the biceps' length over both joints, and the ways of curl and pulls there.

    Parameters
    ----------
    grid : DataFrame
        `elbow_deg, shoulder_deg, length`, evenly spaced.
    paths : DataFrame
        `variant, progress, elbow_deg, shoulder_deg`.
    finding : str
        The sentence above.
    """
    step = grid["elbow_deg"].drop_duplicates().diff().min()
    edges = grid.assign(
        end_deg=grid["elbow_deg"] + step, shoulder_end_deg=grid["shoulder_deg"] + step
    )
    cells = (
        alt.Chart(edges)
        .mark_rect()
        .encode(
            x=alt.X(
                "elbow_deg:Q",
                title="Elbow, 0 = straight [°]",
                scale=alt.Scale(nice=False),
            ),
            x2=alt.X2("end_deg:Q"),
            y=alt.Y(
                "shoulder_deg:Q",
                title="Shoulder, forward positive [°]",
                scale=alt.Scale(nice=False),
            ),
            y2=alt.Y2("shoulder_end_deg:Q"),
            color=alt.Color(
                "length:Q",
                title="Length [fibre lengths]",
                scale=alt.Scale(scheme="cividis"),
            ),
            tooltip=[
                alt.Tooltip("elbow_deg:Q", title="Elbow [°]", format=".0f"),
                alt.Tooltip("shoulder_deg:Q", title="Shoulder [°]", format=".0f"),
                alt.Tooltip("length:Q", title="Length", format=".2f"),
            ],
        )
    )
    ways = alt.Chart(paths).encode(
        x=alt.X("elbow_deg:Q"),
        y=alt.Y("shoulder_deg:Q"),
        detail=alt.Detail("variant:N"),
        order=alt.Order("progress:Q"),
    )
    under = ways.mark_line(color="black", strokeWidth=5)
    over = ways.mark_line(color="white", strokeWidth=2.5)
    ends = paths.loc[paths.groupby("variant")["progress"].idxmax()]
    labels = (
        alt.Chart(ends)
        .mark_text(
            align="right", dy=-14, dx=-4, color="white", stroke="black", strokeWidth=0.3
        )
        .encode(
            x=alt.X("elbow_deg:Q"),
            y=alt.Y("shoulder_deg:Q"),
            text=alt.Text("variant:N"),
        )
    )
    return theme.titled(
        alt.layer(cells, under, over, labels).properties(height=340),
        finding,
        "Modelled from tendon excursion, long head; 0 at elbow 90, arm at the side. "
        "Where a way keeps one shade, the elbow shortens the biceps while the shoulder "
        "lengthens it. Above 120° of "
        "the shoulder lengths are held, since the muscle hardly acts there.",
        description=finding,
    )


def sharing(table: pd.DataFrame, *, finding: str) -> alt.LayerChart:
    """Draw the least and most each muscle can carry, and least effort between.

    Parameters
    ----------
    table : DataFrame
        `muscle, least, most, can, squared, cubed`.
    finding : str
        The sentence above.
    """
    names = {
        "squared": "least squared activation",
        "cubed": "least cubed activation",
        "can": "its part at full effort",
    }
    muscle = theme.by_name("muscle", sort=None)
    span = (
        alt.Chart(table)
        .mark_bar(height=8, color=theme.MEASURED, opacity=0.6)
        .encode(
            y=muscle,
            x=alt.X("least:Q", title="Share of the moment [%]", axis=_PERCENT),
            x2=alt.X2("most:Q"),
            tooltip=[
                alt.Tooltip("muscle:N", title="Muscle"),
                alt.Tooltip("least:Q", title="Least", format=".1%"),
                alt.Tooltip("most:Q", title="Most", format=".1%"),
            ],
        )
    )
    long = table.melt("muscle", list(names), "how", "share")
    long["how"] = long["how"].map(names)
    dots = (
        alt.Chart(long)
        .mark_point(opacity=1, size=80)
        .encode(
            y=muscle,
            x=alt.X("share:Q"),
            color=alt.Color(
                "how:N",
                title=None,
                scale=alt.Scale(
                    domain=list(names.values()),
                    range=[theme.ESTIMATED, theme.MODELLED, theme.THIRD],
                ),
            ),
            shape=alt.Shape(
                "how:N",
                title=None,
                scale=alt.Scale(
                    domain=list(names.values()), range=list(theme.SHAPES[:3])
                ),
            ),
            tooltip=[
                alt.Tooltip("muscle:N", title="Muscle"),
                alt.Tooltip("how:N", title="By"),
                alt.Tooltip("share:Q", title="Share", format=".1%"),
            ],
        )
    )
    return theme.titled(
        alt.layer(span, dots).properties(height=alt.Step(30)),
        finding,
        "Modelled, where the flexors are asked most. Grey: all that balance allows, "
        "from least to most. The criteria are usual, and no more than that.",
        description=f"Shares of {len(table)} muscles of one moment.",
    )
