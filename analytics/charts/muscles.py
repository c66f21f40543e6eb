"""Which muscle does the work, and where on its length–strength curve."""

import altair as alt
import pandas as pd

from analytics.catalogue import Joint
from analytics.charts import theme


def shares(work: pd.DataFrame, *, joint: Joint, title: str) -> alt.LayerChart:
    """Draw each muscle's share of the moment over the range.

    Parameters
    ----------
    work : DataFrame
        The joint's angle, `family, share_frac, mean_frac`.
    joint : Joint
        Which.
    title : str
        Name of the variant.
    """
    others = set(work["family"]) - set(joint.named_muscles)
    top = work.loc[work["mean_frac"].idxmax()]
    families = [*joint.named_muscles, *sorted(others)]
    base = alt.Chart(work).encode(
        x=alt.X(f"{joint.column}:Q", title=f"{joint.axis} [°]"),
        y=alt.Y(
            "share_frac:Q", title="Share of the moment [%]", axis=alt.Axis(format="%")
        ),
    )
    lines = base.mark_line().encode(
        **theme.by_line("family", families, theme.CATEGORIES)
    )
    hover = theme.hover(
        base,
        [
            alt.Tooltip("family:N", title="Muscle"),
            theme.angle(joint),
            alt.Tooltip("share_frac:Q", title="Share", format=".1%"),
        ],
    )
    return theme.titled(
        alt.layer(lines, hover).properties(height=260),
        f"{title}: {top['family']} can give most, {top['mean_frac']:.0%} on average",
        f"Modelled share of the largest moment the {joint.muscles} can give, all "
        "working fully: one muscle set as published, not weighed by measured people.",
        description=f"Shares of {len(families)} muscle groups over the range.",
    )


_ZONES = ["ascending", "plateau", "descending"]
_ZONE_HUE = alt.Scale(
    domain=_ZONES, range=[theme.ESTIMATED, theme.THIRD, theme.MODELLED]
)


def spans(spans: pd.DataFrame, *, joint: Joint) -> alt.LayerChart:
    """Draw which part of its curve the main muscle works on in each variant's range.

    Parameters
    ----------
    spans : DataFrame
        `variant, zone, shortest, longest, from_deg, to_deg` of the main muscle.
    joint : Joint
        Which.
    """
    main = dict(joint.titles)[joint.main_muscle]
    base = alt.Chart(spans).encode(
        y=theme.by_name("variant", sort=alt.EncodingSortField("longest", "max"))
    )
    bars = base.mark_bar(height=10, stroke=theme.MEASURED, strokeWidth=1.5).encode(
        x=alt.X(
            "shortest:Q",
            title=f"{main[:1].upper()}{main[1:]}: length ÷ optimal",
            scale=alt.Scale(zero=False),
        ),
        x2=alt.X2("longest:Q"),
        color=alt.Color("zone:N", title="Part of the curve", scale=_ZONE_HUE),
        strokeDash=alt.StrokeDash(
            "zone:N", scale=alt.Scale(domain=_ZONES, range=list(theme.DASHES[:3]))
        ),
        tooltip=[
            alt.Tooltip("variant:N", title="Exercise"),
            alt.Tooltip("zone:N", title="Part of the curve"),
            alt.Tooltip("shortest:Q", title="Shortest", format=".2f"),
            alt.Tooltip("longest:Q", title="Longest", format=".2f"),
            alt.Tooltip("from_deg:Q", title=f"{joint.title} from [°]", format=".0f"),
            alt.Tooltip("to_deg:Q", title="to [°]", format=".0f"),
        ],
    )
    optimal = (
        alt.Chart(pd.DataFrame({"at": [1.0]}))
        .mark_rule(strokeDash=[6, 3])
        .encode(x=alt.X("at:Q"))
    )
    longest = spans.loc[spans["longest"].idxmax()]
    return theme.titled(
        alt.layer(bars, optimal).properties(height=alt.Step(30)),
        f"{longest['variant']} works the {joint.main_title} longest, up to "
        f"{longest['longest']:.2f} of its optimal length",
        "Modelled by one muscle set as published, each variant over its own range. "
        "Plateau: at least 95 % of the "
        "greatest active force; left of it the ascending, right of it the descending "
        "part. Dashed: optimal length.",
        description=f"Span of {joint.main_title} fibre length in "
        f"{spans['variant'].nunique()} variants.",
    )


def regions(
    grid: pd.DataFrame, path: pd.DataFrame, *, joint: Joint, finding: str
) -> alt.LayerChart:
    """Draw the main muscle's force over both joints, and one variant's way there.

    Parameters
    ----------
    grid : DataFrame
        The joint's angle, `shoulder_deg, active, zone, fibre_length` of the muscle.
    path : DataFrame
        The joint's angle and `shoulder_deg` over the chosen range.
    joint : Joint
        Which.
    finding : str
        The sentence above.
    """
    across = alt.X(
        f"{joint.column}:Q",
        title=f"{joint.axis} [°]",
        scale=alt.Scale(nice=False),
    )
    up = alt.Y(
        "shoulder_deg:Q",
        title=f"{joint.neighbour.capitalize()}, forward positive [°]",
        scale=alt.Scale(nice=False),
    )
    edges = grid.assign(
        end_deg=grid[joint.column] + grid[joint.column].drop_duplicates().diff().min(),
        shoulder_end_deg=grid["shoulder_deg"]
        + grid["shoulder_deg"].drop_duplicates().diff().min(),
    )
    cells = (
        alt.Chart(edges)
        .mark_rect(clip=True)
        .encode(
            x=across,
            x2=alt.X2("end_deg:Q"),
            y=up,
            y2=alt.Y2("shoulder_end_deg:Q"),
            color=alt.Color(
                "active:Q",
                title="Active force ÷ greatest [%]",
                scale=alt.Scale(scheme="cividis"),
                legend=alt.Legend(format="%"),
            ),
            tooltip=[
                theme.angle(joint),
                alt.Tooltip(
                    "shoulder_deg:Q",
                    title=f"{joint.neighbour.capitalize()} [°]",
                    format=".0f",
                ),
                alt.Tooltip("fibre_length:Q", title="Length ÷ optimal", format=".2f"),
                alt.Tooltip("active:Q", title="Active force", format=".1%"),
                alt.Tooltip("zone:N", title="Part of the curve"),
            ],
        )
    )
    way = (
        alt.Chart(path)
        .mark_point(size=45, color="white", stroke="black", strokeWidth=1, opacity=1)
        .encode(x=alt.X(f"{joint.column}:Q"), y=alt.Y("shoulder_deg:Q"))
    )
    return theme.titled(
        alt.layer(cells, way).properties(height=300),
        finding,
        f"Modelled from tendon excursion, {dict(joint.titles)[joint.main_muscle]}, "
        "one muscle set as published. Two strong regions: along the bright band one "
        "joint stretches the muscle while the other shortens it; on a level line, the "
        "other joint fixed, it is mid-range. Dots: this posture.",
        description=finding,
    )
