"""What the predictions hang on: one at a time, each parameter moved."""

from functools import partial

import streamlit as st

from app import figure, model
from app.charts import sensitivity


@st.fragment
def draw(posture: model.Posture, title: str) -> None:
    """Draw how far parameters move limit load, hardest angle or evenness."""
    st.header("What the answer hangs on")
    names = list(sensitivity.PREDICTIONS)
    chosen = st.segmented_control(
        "Prediction",
        names,
        default=names[0],
        format_func=lambda name: sensitivity.PREDICTIONS[name][0],
        key="prediction",
        bind="query-params",
    )
    moved = model.sensitivity(posture)
    chart = partial(
        sensitivity.tornado,
        moved,
        joint=posture.joint,
        title=title,
        prediction=chosen or names[0],
    )
    figure.show(chart, moved, name="sensitivity")
