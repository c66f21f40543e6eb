"""Demand, capability and utilisation over the range, setups and the dynamic rep."""

import altair as alt
import pandas as pd

from analytics.catalogue import Joint
from analytics.charts import theme

_MARK = ["capability", "demand"]
_WHOLE = 1.25  # of what can be given, seen in any case
_CAPABILITY = {"title": "Capability", "unit": "N·m"}
_SPAN = [
    alt.Tooltip("range_from_deg:Q", title="Range from [°]", format=".0f"),
    alt.Tooltip("range_to_deg:Q", title="to [°]", format=".0f"),
]


def _angle(joint: Joint) -> alt.X:
    return alt.X(
        f"{joint.column}:Q",
        title=f"{joint.axis} [°]",
        scale=alt.Scale(zero=False, nice=False),
    )


def moments(curve: pd.DataFrame, *, joint: Joint, finding: str) -> alt.LayerChart:
    """Draw what the load asks and what the muscles can give, by joint angle.

    Parameters
    ----------
    curve : DataFrame
        The joint's angle, `demand_nm, capability_nm` and, where the model gives them,
        `capability_low_nm, capability_high_nm`.
    joint : Joint
        Which.
    finding : str
        The sentence above.
    """
    long = curve.melt(
        joint.column, ["demand_nm", "capability_nm"], "which", "moment_nm"
    )
    long["which"] = long["which"].str.removesuffix("_nm")
    base = alt.Chart(long).encode(
        x=_angle(joint),
        y=alt.Y("moment_nm:Q", title=f"Moment at one {joint.title.lower()} [N·m]"),
    )
    told = [
        alt.Tooltip("which:N", title="Moment"),
        theme.angle(joint),
        alt.Tooltip("moment_nm:Q", title="Moment [N·m]", format=".1f"),
    ]
    layers = [
        base.mark_line().encode(
            **theme.by_line("which", _MARK, [theme.MODELLED, theme.FOURTH])
        ),
        theme.hover(base, told),
    ]
    if "capability_low_nm" in curve:
        ends = (f"capability_{end}nm" for end in ("low_", "", "high_"))
        told = [theme.angle(joint), *theme.interval(*ends, **_CAPABILITY)]
        strength = alt.Chart(curve).encode(x=_angle(joint), y=alt.Y("capability_nm:Q"))
        layers.append(theme.hover(strength, told))
        layers.insert(
            0,
            alt.Chart(curve)
            .mark_area(opacity=0.2, color=theme.MODELLED)
            .encode(
                x=_angle(joint),
                y=alt.Y("capability_low_nm:Q"),
                y2=alt.Y2("capability_high_nm:Q"),
            ),
        )
    return theme.titled(
        alt.layer(*layers).properties(height=300),
        finding,
        "Modelled. Demand: moment of load and forearm. Capability: the most the "
        f"{joint.muscles} of an average adult can give, the median of draws weighed by "
        "measured people, with their 90 % interval where drawn.",
        description=f"Moments from {curve[joint.column].min():.0f}° to "
        f"{joint.flexed(curve[joint.column].max())}.",
    )


def utilisation(
    curve: pd.DataFrame, sticking: pd.DataFrame, *, joint: Joint, joint_deg: float
) -> alt.LayerChart:
    """Draw utilisation over the range with the interval of the hardest angle.

    Parameters
    ----------
    curve : DataFrame
        The joint's angle, `utilisation, utilisation_low, utilisation_high`.
    sticking : DataFrame
        One row: `low_deg, high_deg, sentence`.
    joint : Joint
        Which.
    joint_deg : float
        Angle of the drawn figure, marked by a dashed line. [deg]
    """
    hue = theme.MODELLED
    # Where almost nothing can be given the band has no end and would flatten the line.
    reach = curve["utilisation_high"].max()
    top = min(reach, max(_WHOLE, 2 * curve["utilisation"].max()))
    base = alt.Chart(curve).encode(
        x=_angle(joint),
        y=alt.Y(
            "utilisation:Q",
            title="Demand ÷ capability [%]",
            axis=alt.Axis(format="%"),
            scale=alt.Scale(domain=[0, max(top, 1.0)]),
        ),
    )
    ends = (f"utilisation{end}" for end in ("_low", "", "_high"))
    told = theme.interval(*ends, title="Demand ÷ capability", digits=".1%")
    hover = theme.hover(base, [theme.angle(joint), *told])
    line = base.mark_line(color=hue)
    band = (
        alt.Chart(curve)
        .mark_area(opacity=0.15, color=hue, clip=True)
        .encode(
            x=_angle(joint),
            y=alt.Y("utilisation_low:Q"),
            y2=alt.Y2("utilisation_high:Q"),
        )
    )
    where = (
        alt.Chart(sticking)
        .mark_rect(opacity=0.15, color=theme.MEASURED)
        .encode(x=alt.X("low_deg:Q"), x2=alt.X2("high_deg:Q"))
    )
    marks = pd.DataFrame({joint.column: [joint_deg], "limit": [1.0]})
    here = alt.Chart(marks).mark_rule(strokeDash=[2, 3]).encode(x=_angle(joint))
    limit = alt.Chart(marks).mark_rule(strokeDash=[6, 3]).encode(y=alt.Y("limit:Q"))
    finding = str(sticking["sentence"].iloc[0])
    return theme.titled(
        alt.layer(where, band, line, limit, here, hover).properties(height=300),
        finding,
        "Modelled, 90 % intervals of published parameters. Grey: angles at which the "
        "load may first become too heavy. Dotted: the figure's angle."
        + " The band goes on above."
        * bool(reach > top),
        description=f"Utilisation over the range. {finding}",
    )


def hardest(rows: pd.DataFrame, *, joint: Joint) -> alt.LayerChart:
    """Draw where each variant is hardest, as intervals.

    Parameters
    ----------
    rows : DataFrame
        `variant, range_from_deg, range_to_deg`, the joint's angle, `low_deg,
        high_deg, limit_load_ratio, evenness`.
    joint : Joint
        Which.
    """
    base = alt.Chart(rows).encode(y=theme.by_name("variant", sort="-x"))
    whole = base.mark_rule(strokeWidth=1, color=theme.MEASURED).encode(
        x=alt.X("range_from_deg:Q"), x2=alt.X2("range_to_deg:Q")
    )
    bars = base.mark_rule(strokeWidth=5, opacity=0.4, color=theme.MODELLED).encode(
        x=alt.X("low_deg:Q", title=f"{joint.axis} [°]"),
        x2=alt.X2("high_deg:Q"),
        tooltip=[alt.Tooltip("variant:N", title="Exercise"), *_SPAN],
    )
    dots = base.mark_point(shape="diamond", color=theme.MODELLED, opacity=1).encode(
        x=alt.X(f"{joint.column}:Q"),
        tooltip=[
            alt.Tooltip("variant:N", title="Exercise"),
            *theme.interval(
                *("low_deg", joint.column, "high_deg"),
                title="Hardest at",
                unit="°",
                digits=".0f",
            ),
            *_SPAN,
            alt.Tooltip("limit_load_ratio:Q", title="Limit load ratio", format=".2f"),
            alt.Tooltip("evenness:Q", title="Evenness", format=".2f"),
        ],
    )
    none = int(rows[joint.column].isna().sum())
    return theme.titled(
        alt.layer(whole, bars, dots).properties(height=alt.Step(30)),
        f"One hardest angle in {len(rows) - none} of {len(rows)} variants; in the "
        "others the model allows many",
        "Modelled. Thin grey: the range each variant is taken over; on pads its start "
        "decides nearly everything. Bars are 90 % intervals.",
        description=f"Hardest {joint.title.lower()} angle of {len(rows)} variants.",
    )


def setups(found: pd.DataFrame, *, best: int = 5) -> alt.LayerChart:
    """Draw how even each searched setting is and mark the most even ones.

    Parameters
    ----------
    found : DataFrame
        `setting, value, evenness, sticking_deg, limit_load_ratio`.
    """
    base = alt.Chart(found).encode(
        x=alt.X(
            "value:Q", title="Setting [m or °, as named]", scale=alt.Scale(zero=False)
        ),
        y=alt.Y("evenness:Q", title="Evenness, 1 = matched throughout"),
        color=alt.Color("setting:N", title="Setting"),
    )
    dots = base.mark_point(opacity=1, size=70).encode(
        shape=alt.Shape("setting:N", title="Setting"),
        tooltip=[
            alt.Tooltip("setting:N", title="Setting"),
            alt.Tooltip("value:Q", title="Value", format=".2f"),
            alt.Tooltip("evenness:Q", title="Evenness", format=".2f"),
            alt.Tooltip("limit_load_ratio:Q", title="Limit load ratio", format=".2f"),
        ],
    )
    top = found.loc[found["evenness"].idxmax()]
    return theme.titled(
        alt.layer(base.mark_line(opacity=0.5), dots).properties(height=280),
        f"The most even setting found is {top['setting']} at {top['value']:g}: "
        f"evenness {top['evenness']:.2f}",
        "Modelled. Each mark is one setting tried, the others as the variant has them. "
        "Evenness: the mean over published muscle sets and curves, not weighed by "
        "measured people; limit loads are.",
        description=f"Evenness of {len(found)} settings.",
    )


def rep(series: pd.DataFrame, reps: pd.DataFrame, *, joint: Joint) -> alt.LayerChart:
    """Draw the speed of all-out repetitions against the joint angle.

    Parameters
    ----------
    series : DataFrame
        `load` (label), `order`, the joint's angle, `velocity_deg_per_s`.
    reps : DataFrame
        One row per load: `load, completed, stalled_deg, sticking_from_deg,
        slowest_deg`.
    joint : Joint
        Which.
    """
    loads = reps["load"].tolist()
    base = alt.Chart(series).encode(
        x=_angle(joint),
        y=alt.Y(
            "velocity_deg_per_s:Q",
            title=f"{joint.title} speed [°/s]",
            scale=alt.Scale(domainMin=0),
        ),
    )
    # Clipped, since a stalled repetition ends a hair below zero.
    line = base.mark_line(clip=True).encode(
        **theme.by_line("load", loads, theme.CATEGORIES, title="Load"),
        order=alt.Order("order:Q"),
    )
    hover = theme.hover(
        base,
        [
            alt.Tooltip("load:N", title="Load"),
            theme.angle(joint),
            alt.Tooltip("velocity_deg_per_s:Q", title="Speed [°/s]", format=".0f"),
        ],
    )
    slow = reps.dropna(subset="slowest_deg").tail(1)
    region = (
        alt.Chart(slow)
        .mark_rect(opacity=0.15, color=theme.MEASURED)
        .encode(x=alt.X("sticking_from_deg:Q"), x2=alt.X2("slowest_deg:Q"))
    )
    return theme.titled(
        alt.layer(region, line, hover).properties(height=280),
        f"{_slowing(slow)}; {_stalling(reps)}",
        "Modelled, the draw in the middle: full drive from rest, force–velocity and "
        "inertia, speed of the start assumed. Grey: the sticking region, from the "
        "first peak of speed to the slowest angle; where a line ends before the range "
        "does, the repetition stalls.",
        description=f"{joint.title} speed by angle for {len(reps)} loads.",
    )


def _slowing(slow: pd.DataFrame) -> str:
    if slow.empty:
        return "No completed repetition slows between two peaks of speed"
    row = slow.iloc[0]
    return (
        f"With {row['load']} the repetition slows from {row['sticking_from_deg']:.0f}° "
        f"to {row['slowest_deg']:.0f}°"
    )


def _stalling(reps: pd.DataFrame) -> str:
    stalled = reps[~reps["completed"]]
    if stalled.empty:
        return "every load tried is completed"
    row = stalled.iloc[0]
    return f"with {row['load']} it stalls at {row['stalled_deg']:.0f}°"
