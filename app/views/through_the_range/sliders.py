"""The sliders of variant, load and range; the rest folds away."""

import streamlit as st

from app.views.through_the_range import bend, needs, resistance


def choose(titles: dict[str, str]) -> needs.Posture:
    """Ask for one posture; the address bar keeps the answer."""
    with st.container(horizontal=True, vertical_alignment="bottom"):
        name = st.selectbox(
            "Exercise",
            list(titles),
            format_func=titles.__getitem__,
            key="variant",
            bind="query-params",
            width=330,
        )
        variant = needs.variant(name)
        load_kg = st.slider(
            f"Load as logged, {variant.load_convention.replace('_', ' ')} [kg]",
            0.0,
            100.0 if variant.arms_share > 1 else 50.0,
            10.0 * variant.arms_share,
            0.5,
            format="%.1f",
            key=f"load_{name}",
            bind="query-params",
            width=260,
        )
        pad = variant.model.support == "pad"
        span = st.slider(
            "Where on the pad does it start, and end? [°]"
            if pad
            else f"Range of the {variant.model.joint.title.lower()} [°]",
            *map(int, variant.model.joint.grid_deg),
            (int(variant.model.range_from_deg), int(variant.model.range_to_deg)),
            key=f"range_{name}",
            bind="query-params",
            width=300,
        )
    with st.expander("Posture, resistance and body"):
        with st.container(horizontal=True, vertical_alignment="bottom"):
            variant = resistance.choose(bend.bent(variant))
        with st.container(horizontal=True, vertical_alignment="bottom"):
            body = bend.body()
    return needs.Posture(variant=variant, load_kg=load_kg, range_deg=span, **body)
