"""Where it is hardest, three ways: modelled, logged at failure, traced in a rep."""

from functools import partial

import streamlit as st

from analytics.charts import evidence
from app import figure, state
from app.views.does_the_log_fit import needs


def draw(choice: state.Choice) -> None:
    """Draw the sticking angle of every variant that was logged."""
    table, agreement = needs.sticking(choice)
    if table.empty:
        return st.info("No modelled variant of this movement has sets yet.")
    compared = agreement[agreement["sources"] > 1]
    titles = compared["variant"].map(state.in_words)
    figure.bullets(titles + ": " + compared["sentence"])
    if compared.empty:
        st.markdown(
            "The log holds no failure angles and no traced repetitions: the modelled "
            "angles stand alone. Note the joint angle at which a set fails, "
            "or import a trace."
        )
    agree = int(compared["agree"].fillna(False).sum())
    verdict = (
        f"The sources agree in {agree} of {len(compared)} variants that have several"
        if len(compared)
        else "Only the model says yet where each variant is hardest"
    )
    joint = state.joint_of(choice.movement)
    rows = state.named(table)
    figure.show(
        partial(evidence.sticking_ways, rows, joint=joint, verdict=verdict),
        rows,
        name="sticking",
    )
