"""How the posture departs from the catalogue's, and whose body it is."""

from typing import Any

import streamlit as st

from analytics.catalogue import BODY_LIMITS, Variant
from app.views.through_the_range import needs


def bent(variant: Variant) -> Variant:
    """Ask for trunk, upper arm and forearm; starts as the catalogue has them."""
    name, (low, high) = variant.variant, needs.shoulder_room(variant)
    near, forearm = variant.model.joint.neighbour, int(variant.model.rotation_deg)
    moved = "Upper arm" if near == "shoulder" else near.capitalize()
    return needs.bent(
        variant,
        trunk_deg=_angle(
            "Trunk lean, forward positive [°]",
            -90, 90, int(variant.model.trunk_deg), f"trunk_{name}",
        ),
        shoulder_deg=_angle(
            f"{moved}, moved from its path [°]", low, high, 0, f"shoulder_{name}"
        ),
        rotation_deg=_angle(
            "Forearm, 90 palm up, −90 palm down [°]",
            -90, 90, forearm, f"rotation_{name}",
        ) if near == "shoulder" else forearm,
    )  # fmt: skip


def body() -> dict[str, Any]:
    """Ask whose body it is, as `needs.Posture` takes it."""
    sex = st.selectbox(
        "Segment table", ["pooled", "female", "male"], key="sex", bind="query-params"
    )
    return {
        "body_mass_kg": st.slider(
            "Body mass [kg]", 40, 150, 75, key="mass", bind="query-params", width=260
        ),
        "stature_m": st.slider(
            "Stature [m]",
            1.4,
            2.1,
            1.75,
            key="stature",
            bind="query-params",
            width=260,
        ),
        "sex": None if sex == "pooled" else sex,
        "forearm_m": st.number_input(
            "Forearm measured, to the wrist [m]",
            *BODY_LIMITS["forearm_m"],
            None,
            0.005,
            format="%.3f",
            placeholder="from stature",
            key="forearm",
            bind="query-params",
            width=260,
        ),
    }


def _angle(words: str, low: int, high: int, start: int, key: str) -> int:
    return st.slider(words, low, high, start, key=key, bind="query-params", width=260)
