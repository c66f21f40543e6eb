"""The sliders of variant, load, range, posture and body."""

import streamlit as st

from app import model


def choose(titles: dict[str, str]) -> model.Posture:
    """Ask for one posture; the address bar keeps most of the answer."""
    with st.container(horizontal=True, vertical_alignment="bottom"):
        name = st.selectbox(
            "Variant",
            list(titles),
            format_func=titles.__getitem__,
            key="variant",
            bind="query-params",
            width=330,
        )
        variant = model.variant(name)
        load_kg = st.slider(
            f"Load as logged, {variant.load_convention.replace('_', ' ')} [kg]",
            0.0,
            100.0 if variant.arms_share > 1 else 50.0,
            10.0 * variant.arms_share,
            0.5,
            format="%.1f",
            key=f"load_{name}",
            width=260,
        )
        span = st.slider(
            "Range of the elbow [°]",
            0,
            140,
            (int(variant.range_from_deg), int(variant.range_to_deg)),
            key=f"range_{name}",
            width=260,
        )
        elbow_deg = st.slider(
            "Elbow angle of the figure [°]",
            0,
            140,
            90,
            key="elbow",
            bind="query-params",
            width=260,
        )
    with st.expander("Posture and body"), st.container(horizontal=True):
        trunk_deg = st.slider(
            "Trunk lean, forward positive [°]",
            -60,
            90,
            int(variant.trunk_deg),
            key=f"trunk_{name}",
            width=260,
        )
        shoulder_deg = st.slider(
            "Upper arm, moved from its path [°]",
            -40,
            40,
            0,
            key=f"shoulder_{name}",
            width=260,
        )
        body_mass_kg = st.slider("Body mass [kg]", 40, 150, 75, key="mass", width=260)
        stature_m = st.slider("Stature [m]", 1.40, 2.10, 1.75, key="stature", width=260)
        sex = st.selectbox(
            "Segment table", ["pooled", "female", "male"], key="sex", width=160
        )
    return model.Posture(
        variant=model.bent(variant, trunk_deg=trunk_deg, shoulder_deg=shoulder_deg),
        load_kg=load_kg,
        range_deg=span,
        elbow_deg=elbow_deg,
        body_mass_kg=body_mass_kg,
        stature_m=stature_m,
        sex=None if sex == "pooled" else sex,
    )
