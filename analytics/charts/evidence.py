"""Does the log fit: residuals, rivals, left-out variants, direct points, power."""

import altair as alt
import pandas as pd

from analytics.catalogue import Joint
from analytics.charts import theme
from analytics.labels import typeset


def residuals(rows: pd.DataFrame) -> alt.LayerChart:
    """Draw how far each setup's logged ratio lies from its predicted one.

    Parameters
    ----------
    rows : DataFrame
        `setup, ratio, predicted, gap_frac, gap_low, gap_high, misses, informative`.
    """
    states = ["holds zero", "misses zero"]
    shown = rows.assign(off=rows["misses"].map({False: states[0], True: states[1]}))
    hue = alt.Scale(domain=states, range=[theme.ESTIMATED, theme.MODELLED])
    form = alt.Scale(domain=states, range=["circle", "diamond"])
    base = alt.Chart(shown).encode(
        y=theme.by_name("setup", sort=alt.SortField("gap_frac", "descending")),
        color=alt.Color("off:N", title=None, scale=hue),
        tooltip=[
            alt.Tooltip("setup:N", title="Exercise"),
            alt.Tooltip("ratio:Q", title="Log's ratio", format=".2f"),
            alt.Tooltip("predicted:Q", title="Model's ratio", format=".2f"),
            *theme.interval(
                *("gap_low", "gap_frac", "gap_high"), title="Difference", digits="+.1%"
            ),
            alt.Tooltip("informative:N", title="Tells about muscle length"),
        ],
    )
    bars = base.mark_rule(strokeWidth=3, opacity=0.5).encode(
        x=alt.X(
            "gap_low:Q",
            title="Log's ratio against the model's [%]",
            axis=alt.Axis(format="+%", labelExpr="datum.value ? datum.label : '0'"),
        ),
        x2=alt.X2("gap_high:Q"),
    )
    dots = base.mark_point(size=80, opacity=1).encode(
        x=alt.X("gap_frac:Q"),
        shape=alt.Shape("off:N", title=None, scale=form),
    )
    zero = alt.Chart(pd.DataFrame({"at": [0]})).mark_rule(strokeDash=[3, 3])
    missed = int(shown["misses"].sum())
    worst = shown.loc[shown["gap_frac"].abs().idxmax()]
    finding = (
        f"{missed or 'None'} of {len(shown)} compared variants "
        f"{'miss' if missed > 1 else 'misses'} the model; the furthest is "
        f"{worst['setup']}, {worst['gap_frac']:+.0%}"
    )
    if len(shown) == 1:
        does = "misses" if missed else "does not miss"
        finding = f"{worst['setup']}, {worst['gap_frac']:+.0%}, {does} the model"
    return theme.titled(
        alt.layer(zero.encode(x=alt.X("at:Q")), bars, dots).properties(
            height=alt.Step(30)
        ),
        finding,
        "Estimated ratio against modelled ratio, 90 % interval of both together.",
        description=f"Residuals of {len(shown)} variants.",
    )


def weights(rows: pd.DataFrame) -> alt.LayerChart:
    """Draw how believable each rival shape is after the log.

    Parameters
    ----------
    rows : DataFrame
        `shape, weight`; the weights add up to 1.
    """
    rows = rows.assign(told=[typeset(_share(weight)) for weight in rows["weight"]])
    top = rows.loc[rows["weight"].idxmax()]
    names = list(theme.RIVAL)
    hues = alt.Scale(domain=names, range=[theme.RIVAL[name][0] for name in names])
    base = alt.Chart(rows).encode(y=theme.by_name("shape", sort=names))
    bars = base.mark_bar(height=18).encode(
        x=alt.X(
            "weight:Q",
            title="Posterior weight [%]",
            axis=alt.Axis(format="%"),
            scale=alt.Scale(domain=[0, 1]),
        ),
        color=alt.Color("shape:N", legend=None, scale=hues),
        tooltip=[
            alt.Tooltip("shape:N", title="Shape"),
            alt.Tooltip("weight:Q", title="Weight", format=".1%"),
        ],
    )
    words = base.mark_text(align="left", dx=6).encode(
        x=alt.X("weight:Q"), text=alt.Text("told:N")
    )
    even = alt.Chart(pd.DataFrame({"at": [1 / len(rows)]})).mark_rule(strokeDash=[3, 3])
    finding = f"{str(top['shape']).capitalize()} is the most believable of the shapes"
    if top["weight"] < 0.5:
        finding = f"No shape stands out; most believable is {top['shape']}"
    return theme.titled(
        alt.layer(even.encode(x=alt.X("at:Q")), bars, words).properties(height=150),
        f"{finding}, weight {top['told']}",
        "Estimated. All start equal (dashed); weights compare them and do not say "
        "whether any fits. Peaked: strongest inside the range. Flat: geometry of the "
        "resistance alone. Inverted: strongest at the extremes. Rising, falling: only "
        "stronger, only weaker as the joint bends.",
        description="Posterior weights of the rival shapes of joint strength.",
    )


def _share(weight: float) -> str:
    """Say a weight that is never quite nothing or everything."""
    if weight > 0.995:
        return "over 99%"
    return f"{weight:.0%}" if weight >= 0.005 else "under 1%"


_PREDICTORS = {
    "error_model": "the model",
    "error_same_load": "same load",
    "error_cohort_mean": "the others' mean ratio",
}


def left_out(rows: pd.DataFrame, *, winner: str) -> alt.Chart:
    """Draw the error of each way to predict a variant that was left out.

    Parameters
    ----------
    rows : DataFrame
        `setup, error_model, error_same_load, error_cohort_mean`: mean absolute error
        as a share of the load.
    winner : str
        The sentence on which way wins.
    """
    long = rows.melt("setup", list(_PREDICTORS), "way", "error").dropna()
    long["way"] = long["way"].map(_PREDICTORS)
    long["setup"] = long["setup"].replace("all", "all together")
    ways = [way for way in _PREDICTORS.values() if way in set(long["way"])]
    hues = [theme.MODELLED, theme.MEASURED, theme.ESTIMATED]
    chart = (
        alt.Chart(long)
        .mark_point(size=80, opacity=1)
        .encode(
            y=theme.by_name(
                "setup",
                sort=list(long["setup"].unique()),
                scale=alt.Scale(paddingInner=0.4),
            ),
            yOffset=alt.YOffset("way:N", sort=ways),  # where they agree, all are seen
            x=alt.X(
                "error:Q",
                title="Mean error of the predicted load [%]",
                axis=alt.Axis(format="%"),
            ),
            color=alt.Color(
                "way:N", title=None, scale=alt.Scale(domain=ways, range=hues)
            ),
            shape=alt.Shape(
                "way:N",
                title=None,
                scale=alt.Scale(domain=ways, range=["diamond", "square", "circle"]),
            ),
            tooltip=[
                alt.Tooltip("setup:N", title="Left out"),
                alt.Tooltip("way:N", title="Predicted from"),
                alt.Tooltip("error:Q", title="Mean error", format=".1%"),
            ],
        )
        .properties(height=alt.Step(12))
    )
    return theme.titled(
        chart,
        winner,
        "Each variant left out in turn and predicted from the rest, against what was "
        "logged. Nearer to zero is better; the others' mean has seen the left-out "
        "variant, the model has not.",
        description=winner,
    )


def sticking_ways(rows: pd.DataFrame, *, joint: Joint, verdict: str) -> alt.LayerChart:
    """Draw the sticking angle as modelled, logged and traced on one axis.

    Parameters
    ----------
    rows : DataFrame
        `variant, source, event`, the joint's angle, `low_deg, high_deg, n`.
    joint : Joint
        Which.
    verdict : str
        Whether the ways agree, as a sentence.
    """
    sources = ["modelled", "logged", "traced"]
    hue = alt.Scale(domain=sources, range=[theme.MODELLED, theme.MEASURED, theme.THIRD])
    events = ["hold", "stall", "slowest"]
    form = alt.Scale(domain=events, range=["diamond", "square", "triangle-up"])
    rows = rows.assign(way=rows["event"] + " " + rows["source"])
    ways = [f"{event} {source}" for event in events for source in sources]
    base = alt.Chart(rows).encode(
        y=theme.by_name("variant"),
        yOffset=alt.YOffset("way:N", sort=ways),
        color=alt.Color("source:N", title=None, scale=hue),
    )
    bars = base.mark_rule(strokeWidth=4, opacity=0.5).encode(
        x=alt.X("low_deg:Q", title=f"{joint.axis} [°]"),
        x2=alt.X2("high_deg:Q"),
    )
    dots = base.mark_point(size=80, opacity=1).encode(
        x=alt.X(f"{joint.column}:Q"),
        shape=alt.Shape("event:N", title=None, scale=form),
        tooltip=[
            alt.Tooltip("variant:N", title="Exercise"),
            alt.Tooltip("source:N", title="Source"),
            alt.Tooltip("event:N", title="Where it"),
            *theme.interval(
                *("low_deg", joint.column, "high_deg"),
                title="Angle",
                unit="°",
                digits=".0f",
            ),
            alt.Tooltip("n:Q", title="Sets or reps"),
        ],
    )
    return theme.titled(
        alt.layer(bars, dots).properties(
            height=alt.Step(max(10, 34 // rows["way"].nunique()))
        ),
        verdict,
        "Modelled: where least can be held, where a slightly heavier lift stalls (set "
        "beside logged failure angles) and where a heavy one is slowest (beside traced "
        "reps). Bars are 90 % intervals; no mark: no single angle.",
        description=verdict,
    )


def direct_points(
    points: pd.DataFrame, curves: pd.DataFrame, *, joint: Joint, nearest: str
) -> alt.LayerChart:
    """Draw loads held at known joint angles over the rival shapes.

    Parameters
    ----------
    points : DataFrame
        `variant, base, angle_deg, ratio, low, high`: load held there over that held
        at the angle `base`.
    curves : DataFrame
        `shape, angle_deg, ratio`: the same as modelled.
    joint : Joint
        Whose angle.
    nearest : str
        The shape that the points miss least.
    """
    names = [name for name in theme.RIVAL if name in set(curves["shape"])]
    hues = [theme.RIVAL[name][0] for name in names]
    base_deg, variant = points["base"].iloc[0], points["variant"].iloc[0]
    angle = alt.X("angle_deg:Q", title=f"{joint.axis} [°]")
    share = alt.Y(
        "ratio:Q",
        title=f"Load held ÷ load held at {base_deg:.0f}° [%]",
        axis=alt.Axis(format="%"),
        scale=alt.Scale(domain=[0, 2], clamp=True),
    )
    lines = (
        alt.Chart(curves[curves["ratio"] <= 2])  # a clamped line would look level
        .mark_line(clip=True)
        .encode(x=angle, y=share, **theme.by_line("shape", names, hues))
    )
    base = alt.Chart(points)
    bars = base.mark_rule(strokeWidth=2).encode(
        x=angle, y=alt.Y("low:Q"), y2=alt.Y2("high:Q")
    )
    dots = base.mark_point(shape="square", color=theme.MEASURED, opacity=1).encode(
        x=angle,
        y=alt.Y("ratio:Q"),
        tooltip=[
            alt.Tooltip("angle_deg:Q", title=f"{joint.title} [°]", format=".0f"),
            *theme.interval(
                *("low", "ratio", "high"),
                title=f"Share of {base_deg:.0f}°",
                digits=".1%",
            ),
        ],
    )
    angles = ", ".join(f"{at:.0f}°" for at in sorted(points["angle_deg"]))
    return theme.titled(
        alt.layer(lines, bars, dots).properties(height=300),
        f"{variant}: loads held at {angles} lie nearest the {nearest} shape",
        "Squares: measured holds, 90 % interval. Lines: the three modelled shapes, "
        "which share the geometry of the resistance and differ in joint strength.",
        description=f"Loads held at {len(points)} angles over three curves.",
    )


def power(rows: pd.DataFrame, *, finding: str) -> alt.LayerChart:
    """Draw how often the curve test reaches each verdict as logs grow.

    Parameters
    ----------
    rows : DataFrame
        `truth, sets, agrees`: share of simulated logs that got `agrees`.
    finding : str
        The sentence above.
    """
    names = [name for name in theme.RIVAL if name in set(rows["truth"])]
    rows = rows[rows["truth"].isin(names)]
    hues = [theme.RIVAL[name][0] for name in names]
    line = (
        alt.Chart(rows)
        .mark_line(point=True)
        .encode(
            x=alt.X("sets:Q", title="Sets in the log", scale=alt.Scale(type="log")),
            y=alt.Y(
                "agrees:Q",
                title="Verdict: agrees [% of logs]",
                axis=alt.Axis(format="%"),
                scale=alt.Scale(domain=[0, 1]),
            ),
            **theme.by_line("truth", names, hues, title="Truth"),
            tooltip=[
                alt.Tooltip("truth:N", title="Truth"),
                alt.Tooltip("sets:Q", title="Sets"),
                alt.Tooltip("agrees:Q", title="Says agrees", format=".1%"),
            ],
        )
    )
    limit = alt.Chart(pd.DataFrame({"at": [0.05]})).mark_rule(strokeDash=[3, 3])
    return theme.titled(
        alt.layer(limit.encode(y=alt.Y("at:Q")), line).properties(height=300),
        finding,
        "Simulated logs of growing size with a known truth. Dashed: 5 %.",
        description="Share of verdicts `agrees` by size of the log and truth.",
    )


def battery(rows: pd.DataFrame, *, finding: str) -> alt.LayerChart:
    """Draw how many intervals hold the truth, for each training plan.

    Parameters
    ----------
    rows : DataFrame
        `plan, quantity, covered, bias, error, naive_error, n`; plan `all` is left out.
    finding : str
        The sentence above.
    """
    plans = rows[rows["plan"] != "all"]
    shown = plans.assign(plan=plans["plan"].str.replace("_", " "))
    names = list(shown["quantity"].unique())
    hues = alt.Scale(domain=names, range=list(theme.CATEGORIES[: len(names)]))
    forms = alt.Scale(domain=names, range=list(theme.SHAPES[: len(names)]))
    dots = (
        alt.Chart(shown)
        .mark_point(size=70, opacity=1)
        .encode(
            y=theme.by_name("plan", sort=None),
            x=alt.X(
                "covered:Q",
                title="90 % intervals that hold the truth [%]",
                axis=alt.Axis(format="%"),
                scale=alt.Scale(zero=False),
            ),
            color=alt.Color("quantity:N", title=None, scale=hues),
            shape=alt.Shape("quantity:N", title=None, scale=forms),
            tooltip=[
                alt.Tooltip("plan:N", title="Plan"),
                alt.Tooltip("quantity:N", title="Number"),
                alt.Tooltip("covered:Q", title="Held", format=".1%"),
                alt.Tooltip("bias:Q", title="Bias", format=".2f"),
                alt.Tooltip("error:Q", title="Error", format=".2f"),
                alt.Tooltip("naive_error:Q", title="Usual rule", format=".2f"),
                alt.Tooltip("n:Q", title="Judged"),
            ],
        )
    )
    asked = alt.Chart(pd.DataFrame({"at": [0.9]})).mark_rule(strokeDash=[3, 3])
    return theme.titled(
        alt.layer(asked.encode(x=alt.X("at:Q")), dots).properties(height=alt.Step(18)),
        finding,
        "Invented lifters on usual training plans, their strength known. Dashed: 90 %, "
        "as asked. The usual rule: median of two weeks through a published relation.",
        description=finding,
    )
