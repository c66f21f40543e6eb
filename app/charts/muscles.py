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
            color=alt.Color(
                "family:N",
                title=None,
                scale=alt.Scale(domain=families, range=list(theme.CATEGORIES[:4])),
            ),
            strokeDash=alt.StrokeDash(
                "family:N",
                title=None,
                scale=alt.Scale(domain=families, range=list(theme.DASHES[:4])),
            ),
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


def spans(work: pd.DataFrame) -> alt.LayerChart:
    """Draw which fibre lengths of the biceps each variant's range covers.

    Parameters
    ----------
    work : DataFrame
        `variant, fibre_length, zone` of the long head over each variant's range.
    """
    flat = work[work["zone"] == "plateau"]["fibre_length"]
    band = pd.DataFrame({"from": [flat.min()], "to": [flat.max()]})
    reach = work.groupby("variant", as_index=False)["fibre_length"].agg(
        low="min", high="max"
    )
    bars = (
        alt.Chart(reach)
        .mark_bar(height=9, color=theme.MODELLED)
        .encode(
            y=theme.by_name("variant", sort=alt.SortField("high", "descending")),
            x=alt.X(
                "low:Q",
                title="Fibre length of the biceps' long head ÷ optimal [1]",
                scale=alt.Scale(zero=False),
            ),
            x2="high:Q",
            tooltip=[
                alt.Tooltip("variant:N", title="Variant"),
                alt.Tooltip("low:Q", title="Shortest", format=".2f"),
                alt.Tooltip("high:Q", title="Longest", format=".2f"),
            ],
        )
    )
    plateau = (
        alt.Chart(band)
        .mark_rect(opacity=0.18, color=theme.THIRD)
        .encode(x="from:Q", x2="to:Q")
    )
    longest = reach.loc[reach["high"].idxmax()]
    return theme.titled(
        alt.layer(plateau, bars).properties(height=alt.Step(30)),
        f"{longest['variant']} works the biceps longest, up to {longest['high']:.2f} "
        "of its optimal length",
        "Modelled. Shaded: plateau, at least 95 % of the greatest active force; left "
        "of it the ascending, right of it the descending part.",
        description=f"Span of biceps fibre length in {len(reach)} variants.",
    )
