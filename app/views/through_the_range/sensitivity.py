"""What the predictions hang on: one at a time, each parameter moved."""

from functools import partial

import streamlit as st

from analytics.charts import sensitivity
from app import figure
from app.views.through_the_range import needs


@st.fragment
def draw(posture: needs.Posture, title: str) -> None:
    """Draw how far parameters move limit load, hardest angle or evenness."""
    names = list(sensitivity.PREDICTIONS)
    chosen = st.segmented_control(
        "Prediction",
        names,
        default=names[0],
        format_func=lambda name: sensitivity.PREDICTIONS[name][0],
        key="prediction",
        bind="query-params",
    )
    moved = needs.sensitivity(posture)
    chart = partial(
        sensitivity.tornado,
        moved,
        joint=posture.joint,
        title=title,
        prediction=chosen or names[0],
    )
    figure.show(chart, moved, name="sensitivity")
