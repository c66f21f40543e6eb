"""Where the load pulls: free weight, any pulley, band or machine."""

import pandas as pd
import streamlit as st

from analytics.catalogue import Variant
from app.views.through_the_range import needs


def choose(variant: Variant) -> Variant:
    """Ask what pulls and from where; starts as the catalogue has it."""
    name, given = variant.variant, variant.model.resistance
    kind = st.selectbox(
        "Resistance",
        list(needs.PULLS),
        index=list(needs.PULLS).index(given.kind),
        format_func=needs.PULLS.__getitem__,
        key=f"pull_{name}",
        bind="query-params",
        width=260,
    )
    numbers: dict[str, float] = {}
    table = None
    if kind in ("cable", "band"):
        place = "Pulley" if kind == "cable" else "Band's anchor"
        for key, words, low, high in (
            ("anchor_height_m", f"{place} above the floor [m]", 0.0, 2.5),
            ("anchor_forward_m", f"{place} ahead of the hips [m]", -2.0, 2.0),
        ):
            numbers[key] = _length(variant, key, words, low, high)
    if kind == "band":
        numbers["slack_m"] = _length(
            variant, "slack_m", "Band when slack [m]", 0.2, 2.0
        )
        st.caption(
            "The load is the band's pull at twice its slack length: stiffness is that "
            "pull over the slack length, unless a table says otherwise."
        )
        if st.checkbox("Band by table", key=f"by_table_{name}", bind="query-params"):
            table = _table(variant, kind)
    if kind == "constant":
        numbers["load_arm_m"] = _length(
            variant, "load_arm_m", "Moment arm of the load [m]", 0.05, 0.8
        )
    if kind == "cam":
        table = _table(variant, kind)
    if kind == given.kind and kind == "gravity":
        return variant
    return needs.pulled(variant, kind, numbers, table)


def _length(
    variant: Variant, key: str, words: str, low_m: float, high_m: float
) -> float:
    return st.slider(
        words,
        low_m,
        high_m,
        needs.pull_value(variant, key),
        0.05,
        key=f"{key}_{variant.variant}",
        bind="query-params",
        width=260,
    )


def _table(variant: Variant, kind: str) -> pd.DataFrame:
    return st.data_editor(
        needs.pull_table(variant, kind),
        num_rows="dynamic",
        hide_index=True,
        key=f"table_{kind}_{variant.variant}",
        column_config={
            "stretch_frac": "Stretch ÷ slack length",
            "pull_frac": "Pull ÷ pull at twice the slack length",
            "joint_deg": f"{variant.model.joint.title} [°]",
            "load_arm_m": "Moment arm of the load [m]",
        },
        width=420,
    )
