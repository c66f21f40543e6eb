"""What each uncertain parameter does to a prediction."""

import altair as alt
import pandas as pd

from analytics.catalogue import Joint
from analytics.charts import theme

MOST_DRAWN = 12
PREDICTIONS = {  # words, axis, digits, suffix of the columns
    "limit_load_ratio": ("limit load", "Limit load ÷ published", ".2f", ""),
    "sticking": ("hardest angle", "Hardest angle [°]", ".0f", "_deg"),
    "evenness": ("evenness", "Evenness", ".2f", ""),
}

_KINDS = {
    "profile_tilt": "moment arms along the range",
    "profile_straight": "moment arms near straight",
    "grip_distance": "joint to grip",
    "grip": "palm-down factor",
    "neutral_grip": "palm-sideways factor",
    "optimal_angle": "angle of optimal length",
    "own_angle": "angle of optimal length",
    "personal_angle": "angle of optimal length, personal",
    "shoulder_arm": "shoulder's pull on the main muscle",
    "posture_deg": "path of the upper arm",
    "arm_deg": "upper arm in this variant",
    "shoulder_deg": "trunk in this variant",
    "slack": "slack length of the band",
    "rise": "time to full drive",
    "greatest_velocity": "fastest shortening",
    "top_speed": "speed of the start",
    "between": "maximum between hold and lift",
    "failed": "overload of the stalled lift",
}
_CURVES = {"millard": "Millard", "thelen": "Thelen", "de_groote": "De Groote"}


def tornado(
    moved: pd.DataFrame, *, joint: Joint, title: str, prediction: str
) -> alt.LayerChart:
    """Draw how far each parameter moves one prediction.

    Parameters
    ----------
    moved : DataFrame
        `parameter, structure` and `_low`, `_high` of `limit_load_ratio`, `sticking`
        (with `_deg`) and `evenness`: one standard deviation down and up; where
        `structure`, another muscle set or curve as printed.
    joint : Joint
        Whose muscles.
    title : str
        Name of the variant.
    prediction : str
        Which of `PREDICTIONS` is drawn.
    """
    words, axis, digits, unit = PREDICTIONS[prediction]
    ends = [f"{prediction}_{end}{unit}" for end in ("low", "high")]
    rows = moved[["structure"]].assign(
        parameter=[_in_words(name, joint) for name in moved["parameter"]],
        low=moved[ends[0]],
        high=moved[ends[1]],
    )
    reach = (rows["high"] - rows["low"]).where(~rows["structure"])
    single = rows.loc[reach.nlargest(MOST_DRAWN).index]
    drawn = pd.concat([single, rows[rows["structure"]]])
    base = alt.Chart(drawn).encode(
        y=theme.by_name("parameter", sort=list(drawn["parameter"])),
        x=alt.X("low:Q", title=axis, scale=alt.Scale(zero=False)),
        tooltip=[
            alt.Tooltip("parameter:N", title="Parameter"),
            alt.Tooltip("low:Q", title="From", format=digits),
            alt.Tooltip("high:Q", title="To", format=digits),
        ],
    )
    bars = base.mark_bar(height=8, color=theme.MODELLED).encode(x2=alt.X2("high:Q"))
    ticks = base.mark_tick(height=8, thickness=2, color=theme.MODELLED)
    first = single.iloc[0]
    return theme.titled(
        alt.layer(bars, ticks).properties(height=alt.Step(30)),
        f"{title}: of single parameters, {first['parameter']} moves the {words} most, "
        f"from {first['low']:{digits}} to {first['high']:{digits}}",
        f"Modelled: the {len(single)} parameters that move it most, each one standard "
        "deviation down and up from the published values of one muscle set and curve, "
        "not weighed by measured people, so that its middle is not the limit load told "
        "elsewhere; below them other sets and curves as printed. Spreads are published "
        "or, where marked so in the data, assumed.",
        description=f"Effect of {len(drawn)} parameters on the {words}.",
    )


def _in_words(name: str, joint: Joint) -> str:
    """Say a parameter's name as a person would."""
    kind, _, muscle = name.partition(".")
    said = _KINDS.get(kind, kind) + (f" of {muscle}" if muscle else "")
    for code, words in [*joint.titles, *_CURVES.items()]:
        said = said.replace(code, words)
    return said.replace("_", " ")
