"""Which muscle does the work, and where on its length–strength curve."""

import altair as alt
import pandas as pd

from app import theme

_NAMED = ("biceps", "brachialis", "brachioradialis")


def _family(muscle: str) -> str:
    plain = muscle.replace("_", " ")
    return next((name for name in _NAMED if plain.startswith(name)), "the others")


def shares(work: pd.DataFrame, *, title: str) -> alt.Chart:
    """Draw each muscle's share of the moment over the range.

    Parameters
    ----------
    work : DataFrame
        `elbow_deg, muscle, share_frac`.
    title : str
        Name of the variant.
    """
    rows = work.assign(family=work["muscle"].map(_family))
    rows = rows.groupby(["elbow_deg", "family"], as_index=False)["share_frac"].sum()
    families = [*_NAMED, "the others"]
    mean = rows.groupby("family")["share_frac"].mean()
    chart = (
        alt.Chart(rows)
        .mark_line()
        .encode(
            x=alt.X("elbow_deg:Q", title="Elbow angle, 0 = straight [°]"),
            y=alt.Y(
                "share_frac:Q",
                title="Share of the moment [%]",
                axis=alt.Axis(format="%"),
            ),
            **theme.by_line("family", families, theme.CATEGORIES),
            tooltip=[
                alt.Tooltip("family:N", title="Muscle"),
                alt.Tooltip("elbow_deg:Q", title="Elbow [°]", format=".0f"),
                alt.Tooltip("share_frac:Q", title="Share", format=".0%"),
            ],
        )
        .properties(height=260)
    )
    return theme.titled(
        chart,
        f"{title}: {mean.idxmax()} can give most, {mean.max():.0%} on average",
        "Modelled share of the largest moment the elbow flexors can give, all working "
        "fully.",
        description=f"Shares of {len(mean)} muscle groups over the range.",
    )


_ZONES = ["ascending", "plateau", "descending"]
_ZONE_HUE = alt.Scale(
    domain=_ZONES, range=[theme.ESTIMATED, theme.THIRD, theme.MODELLED]
)


def spans(spans: pd.DataFrame) -> alt.LayerChart:
    """Draw which part of its curve the biceps works on in each variant's range.

    Parameters
    ----------
    spans : DataFrame
        `variant, zone, shortest, longest, elbow_from_deg, elbow_to_deg` of the long
        head.
    """
    base = alt.Chart(spans).encode(
        y=theme.by_name("variant", sort=alt.EncodingSortField("longest", "max"))
    )
    bars = base.mark_bar(height=10, stroke=theme.MEASURED, strokeWidth=1.5).encode(
        x=alt.X(
            "shortest:Q",
            title="Biceps' long head, length ÷ optimal [1]",
            scale=alt.Scale(zero=False),
        ),
        x2=alt.X2("longest:Q"),
        color=alt.Color("zone:N", title="Part of the curve", scale=_ZONE_HUE),
        strokeDash=alt.StrokeDash(
            "zone:N", scale=alt.Scale(domain=_ZONES, range=list(theme.DASHES[:3]))
        ),
        tooltip=[
            alt.Tooltip("variant:N", title="Variant"),
            alt.Tooltip("zone:N", title="Part of the curve"),
            alt.Tooltip("shortest:Q", title="Shortest", format=".2f"),
            alt.Tooltip("longest:Q", title="Longest", format=".2f"),
            alt.Tooltip("elbow_from_deg:Q", title="Elbow from [°]", format=".0f"),
            alt.Tooltip("elbow_to_deg:Q", title="to [°]", format=".0f"),
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
        f"{longest['variant']} works the biceps longest, up to "
        f"{longest['longest']:.2f} of its optimal length",
        "Modelled, each variant over its own range. Plateau: at least 95 % of the "
        "greatest active force; left of it the ascending, right of it the descending "
        "part. Dashed: optimal length.",
        description=f"Span of biceps fibre length in {spans['variant'].nunique()} "
        "variants.",
    )


def regions(grid: pd.DataFrame, path: pd.DataFrame, *, finding: str) -> alt.LayerChart:
    """Draw the biceps' active force over both joints, and one variant's way there.

    Parameters
    ----------
    grid : DataFrame
        `elbow_deg, shoulder_deg, active, zone, fibre_length` of the long head.
    path : DataFrame
        `elbow_deg, shoulder_deg` over the chosen range.
    finding : str
        The sentence above.
    """
    across = alt.X(
        "elbow_deg:Q",
        title="Elbow angle, 0 = straight [°]",
        scale=alt.Scale(nice=False),
    )
    up = alt.Y(
        "shoulder_deg:Q",
        title="Shoulder, forward positive [°]",
        scale=alt.Scale(nice=False),
    )
    edges = grid.assign(
        elbow_end_deg=grid["elbow_deg"]
        + grid["elbow_deg"].drop_duplicates().diff().min(),
        shoulder_end_deg=grid["shoulder_deg"]
        + grid["shoulder_deg"].drop_duplicates().diff().min(),
    )
    cells = (
        alt.Chart(edges)
        .mark_rect(clip=True)
        .encode(
            x=across,
            x2=alt.X2("elbow_end_deg:Q"),
            y=up,
            y2=alt.Y2("shoulder_end_deg:Q"),
            color=alt.Color(
                "active:Q",
                title="Active force ÷ greatest [%]",
                scale=alt.Scale(scheme="cividis"),
                legend=alt.Legend(format="%"),
            ),
            tooltip=[
                alt.Tooltip("elbow_deg:Q", title="Elbow [°]", format=".0f"),
                alt.Tooltip("shoulder_deg:Q", title="Shoulder [°]", format=".0f"),
                alt.Tooltip("fibre_length:Q", title="Length ÷ optimal", format=".2f"),
                alt.Tooltip("active:Q", title="Active force", format=".0%"),
                alt.Tooltip("zone:N", title="Part of the curve"),
            ],
        )
    )
    way = (
        alt.Chart(path)
        .mark_point(size=45, color="white", stroke="black", strokeWidth=1, opacity=1)
        .encode(x=alt.X("elbow_deg:Q"), y=alt.Y("shoulder_deg:Q"))
    )
    return theme.titled(
        alt.layer(cells, way).properties(height=300),
        finding,
        "Modelled from tendon excursion, long head. Two strong regions: along the "
        "bright band one joint stretches the muscle while the other shortens it; on "
        "any level line, the shoulder fixed, it is mid-range. Dots: this posture.",
        description=finding,
    )
