"""Sections of the range page: equipment settings, one all-out rep, balance."""

import streamlit as st

from app import figure, model
from app.charts import limb, through_range


def draw(posture: model.Posture) -> None:
    """Draw the three, each under its own header."""
    st.header("Setting the equipment")
    sweep, found = model.settings(posture)
    if sweep is None:
        st.info("This variant has no pulley, band, pad or bench to adjust.")
    else:
        figure.show(through_range.setups(sweep), sweep, name="settings")
        figure.table(
            found,
            name="settings_search",
            note="Modelled: from as catalogued to the most even match found, one "
            "setting more in each row, within assumed equipment limits.",
        )
    st.header("One all-out repetition")
    reps = model.all_out_reps(posture)
    figure.show(through_range.rep(reps), reps, name="all_out_rep")
    st.header("Balance while standing")
    stance = st.segmented_control(
        "Stance", ["parallel", "split"], default="parallel", key="stance"
    )
    rows, body, base = model.balance(posture, stance or "parallel")
    finding = model.balance_sentence(rows, stance or "parallel", posture.load_kg)
    figure.show(limb.balance(body, base, finding=finding), rows, name="balance")
    figure.table(rows, name="stances", note="Modelled, no heave; –: no limit.")
