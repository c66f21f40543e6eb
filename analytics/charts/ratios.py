"""Compare exercises: measured in the log beside modelled from anatomy."""

import altair as alt
import pandas as pd

from analytics.charts import theme

OWN, EVERYONE, MODEL = "own log", "everyone's log", "model"
_SOURCES = {  # hue and shape say the same
    OWN: (theme.THIRD, "triangle-up"),
    EVERYONE: (theme.ESTIMATED, "circle"),
    MODEL: (theme.MODELLED, "diamond"),
}


def side_by_side(
    rows: pd.DataFrame, *, reference: str, finding: str, compared_at: str
) -> alt.LayerChart:
    """Draw ratios from several sources, per setup, each with its interval.

    Parameters
    ----------
    rows : DataFrame
        `setup, source, ratio, low, high`, in the order of the setups; sources are
        `OWN`, `EVERYONE` and `MODEL`.
    reference : str
        What the ratios are against.
    finding : str
        The sentence above.
    compared_at : str
        At how many repetitions, as a sentence.
    """
    sources = [name for name in _SOURCES if name in set(rows["source"])]
    hues, shapes = zip(*(_SOURCES[name] for name in sources), strict=True)
    base = alt.Chart(rows).encode(
        y=theme.by_name("setup", sort=list(rows["setup"].unique())),
        yOffset=alt.YOffset("source:N", sort=sources),
        color=alt.Color(
            "source:N", title=None, scale=alt.Scale(domain=sources, range=list(hues))
        ),
    )
    bars = base.mark_rule(strokeWidth=3, opacity=0.55).encode(
        x=alt.X(
            "low:Q",
            title="Ratio per working limb",
            scale=alt.Scale(zero=False),
        ),
        x2=alt.X2("high:Q"),
    )
    dots = base.mark_point(size=90, opacity=1).encode(
        x=alt.X("ratio:Q"),
        shape=alt.Shape(
            "source:N", title=None, scale=alt.Scale(domain=sources, range=list(shapes))
        ),
        tooltip=[
            alt.Tooltip("setup:N", title="Exercise"),
            alt.Tooltip("source:N", title="Source"),
            *theme.interval("low", "ratio", "high", title="Ratio", digits=".2f"),
        ],
    )
    one = alt.Chart(pd.DataFrame({"at": [1.0]})).mark_rule(strokeDash=[3, 3])
    return theme.titled(
        alt.layer(one.encode(x=alt.X("at:Q")), bars, dots).properties(
            height=alt.Step(18)
        ),
        finding,
        f"Against {reference} (dashed), bars are 90 % intervals. "
        f"{compared_at}"
        "Log: estimated from sets of the same lifters at one time. Model: anatomy and "
        "physics alone.",
        description=f"Ratios of {rows['setup'].nunique()} exercises by source.",
    )


def personal(rows: pd.DataFrame) -> alt.LayerChart:
    """Draw one lifter's ratios: from own sets, drawn towards everyone's, everyone's.

    Parameters
    ----------
    rows : DataFrame
        One lifter: `lifter, setup, ratio, low, high, own_ratio, cohort_ratio,
        shrinkage, sets`; everyone's is NaN where it may not be shown.
    """
    words = ["own sets alone", "personal estimate", "everyone"]
    long = rows.melt(
        id_vars=["setup", "low", "high", "shrinkage", "sets"],
        value_vars=["own_ratio", "ratio", "cohort_ratio"],
        var_name="which",
        value_name="value",
    ).dropna(subset=["value"])
    long["which"] = long["which"].map(
        dict(zip(("own_ratio", "ratio", "cohort_ratio"), words, strict=True))
    )
    order = list(rows.sort_values("ratio", ascending=False)["setup"])
    y = theme.by_name("setup", sort=order)
    x = alt.X(
        "low:Q",
        title="Strength per working limb ÷ reference",
        scale=alt.Scale(zero=False),
    )
    interval = (
        alt.Chart(rows)
        .mark_rule(strokeWidth=6, opacity=0.3, color=theme.ESTIMATED)
        .encode(
            y=y,
            x=x,
            x2=alt.X2("high:Q"),
            tooltip=[
                alt.Tooltip("setup:N", title="Exercise"),
                *theme.interval("low", "ratio", "high", title="Ratio", digits=".2f"),
            ],
        )
    )
    pull = (
        alt.Chart(rows.dropna(subset=["own_ratio", "cohort_ratio"]))
        .mark_rule(strokeDash=[2, 2])
        .encode(y=y, x=alt.X("own_ratio:Q"), x2=alt.X2("cohort_ratio:Q"))
    )
    dots = (
        alt.Chart(long)
        .mark_point(size=80, opacity=1)
        .encode(
            y=y,
            yOffset=alt.YOffset("which:N", sort=words),  # where they agree, all show
            x=alt.X("value:Q"),
            color=alt.Color(
                "which:N",
                title=None,
                scale=alt.Scale(
                    domain=words, range=[theme.THIRD, theme.ESTIMATED, theme.MEASURED]
                ),
            ),
            shape=alt.Shape(
                "which:N",
                title=None,
                scale=alt.Scale(
                    domain=words, range=["triangle-up", "circle", "square"]
                ),
            ),
            tooltip=[
                alt.Tooltip("setup:N", title="Exercise"),
                alt.Tooltip("which:N", title="Ratio of"),
                alt.Tooltip("value:Q", title="Ratio", format=".2f"),
                alt.Tooltip("shrinkage:Q", title="Drawn to everyone", format=".1%"),
                alt.Tooltip("sets:Q", title="Own sets"),
            ],
        )
    )
    who = rows["lifter"].iloc[0]
    return theme.titled(
        alt.layer(interval, pull, dots).properties(
            height=alt.Step(44, **{"for": "position"})
        ),
        _furthest(who, rows.dropna(subset="cohort_ratio")),
        "Estimated. The few sets one lifter has are drawn towards everyone's ratio "
        "(dashed); the more own sets, the less. Bars are 90 % intervals.",
        description=f"Personal ratios of {who} in {len(rows)} variants.",
    )


def _furthest(who: str, rows: pd.DataFrame) -> str:
    """Say where a lifter is furthest from everyone, as far as that may be shown."""
    if rows.empty:
        return f"{who}'s own ratios; of everyone's none may be shown"
    strong = rows.loc[(rows["ratio"] - rows["cohort_ratio"]).abs().idxmax()]
    own, theirs = f"{strong['ratio']:.2f}", f"{strong['cohort_ratio']:.2f}"
    if own == theirs:
        return f"No ratio of {who} differs from everyone's"
    more = "above" if strong["ratio"] > strong["cohort_ratio"] else "below"
    return (
        f"{who} is furthest from the others in {strong['setup']}: {own}, {more} their "
        f"{theirs}"
    )
