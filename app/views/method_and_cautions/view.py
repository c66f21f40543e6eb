"""Method and cautions: where every number comes from, and what to beware of."""

from functools import partial

import streamlit as st

from app import figure
from app.views.method_and_cautions import families, simulated, weighed


def _weighed() -> None:
    st.markdown(figure.words("weighed"))
    weighed.draw()


st.header("What is measured, estimated and modelled")
st.markdown(figure.words("sources_of_numbers"))
st.header("Cautions")
st.markdown(figure.words("cautions"))
figure.tabs(
    "method_part",
    How_far_a_strength_can_be_trusted=simulated.strengths,
    How_much_a_log_can_tell=simulated.verdicts,
    Weighed_by_measured_people=_weighed,
    Other_lifts_and_joints=families.draw,
    The_equations=partial(st.markdown, figure.words("equations")),
    Rival_shapes=partial(st.markdown, figure.words("shapes")),
    What_was_checked=simulated.checked,
    Sources=simulated.sources,
)
