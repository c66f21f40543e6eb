"""What each uncertain parameter does to a prediction."""

import altair as alt
import pandas as pd

from app import theme

_PANELS = (
    ("limit_load_ratio", "Limit load ÷ published [1]", ".2f"),
    ("sticking", "Hardest angle [°]", ".0f"),
    ("evenness", "Evenness [1]", ".2f"),
)


def tornado(moved: pd.DataFrame, *, title: str) -> alt.HConcatChart:
    """Draw how far each parameter moves limit load, hardest angle and evenness.

    Parameters
    ----------
    moved : DataFrame
        `parameter` and `_low`, `_high` of `limit_load_ratio`, `sticking` (with
        `_deg`) and `evenness`: one standard deviation down and up.
    title : str
        Name of the variant.
    """
    reach = (moved["limit_load_ratio_high"] - moved["limit_load_ratio_low"]).abs()
    order = moved["parameter"].iloc[reach.argsort()[::-1]].tolist()
    panels = []
    for i, (name, axis, digits) in enumerate(_PANELS):
        unit = "_deg" if name == "sticking" else ""
        low, high = f"{name}_low{unit}", f"{name}_high{unit}"
        names = alt.Axis(title=None, labelLimit=220) if i == 0 else None
        base = alt.Chart(moved).encode(
            y=alt.Y("parameter:N", sort=order, axis=names),
            x=alt.X(f"{low}:Q", title=axis, scale=alt.Scale(zero=False)),
            tooltip=[
                alt.Tooltip("parameter:N", title="Parameter"),
                alt.Tooltip(f"{low}:Q", title="From", format=digits),
                alt.Tooltip(f"{high}:Q", title="To", format=digits),
            ],
        )
        bars = base.mark_bar(height=7, color=theme.MODELLED).encode(
            x2=alt.X2(f"{high}:Q")
        )
        ends = base.mark_tick(height=7, thickness=2, color=theme.MODELLED)
        panels.append(alt.layer(bars, ends).properties(width=230, height=alt.Step(15)))
    return theme.titled(
        alt.hconcat(*panels, spacing=14),
        f"{title}: {order[0]} moves the limit load most, by "
        f"{reach.max():.0%} from one end to the other",
        "Modelled: one parameter at a time, one standard deviation down and up, from "
        "the published values of one muscle set and curve; the other sets and curves "
        "as printed. Spreads are published or, where marked so in the data, assumed.",
        description=f"Effect of {len(moved)} parameters on three predictions.",
    )
