"""Section of the method page: lifts of many joints, and joints beyond the first."""

from functools import partial

import streamlit as st

from analytics.charts import families
from app import figure, state
from app.views.method_and_cautions import needs


def draw() -> None:
    """Draw predictions beside measured people, and list measured ratios and demand."""
    st.markdown(figure.words("families"))
    checks, squat, ratios, asked = needs.families()
    figure.show(partial(families.checks, checks), checks, name="families")
    note = (
        "Misfit: log measured less predicted over the root of both variances; beyond 2 "
        "it fails; where the ends of an interval are more than 1.6 times apart it "
        "hardly could. Predictions of squats have no spread of their own."
    )
    figure.table(checks, name="family_checks", note=note)
    note = (
        "Modelled, and wrong: planar squats over each other, turning at a knee "
        "angle, with strength beyond the tested angles held or the regression run on. "
        "People: 1.31 and 0.79. Empty: not even the body would rise."
    )
    figure.table(squat, name="squat_checks", note=note)
    table, words = needs.pulls()
    st.markdown(figure.lines(words))
    figure.table(table, name="pull_checks", note="Measured, and predicted with 90 %.")
    note = (
        "Measured, total loads; 90 % intervals of the mean hold an assumed spread of "
        "0.10 between people and 0.06 between studies."
    )
    figure.table(state.named(ratios), name="lift_ratios", note=note)
    note = (
        "Modelled demand under 100 kg, body of 75 kg and 1.75 m, both sides together: "
        "where on the way up, 0 bottom to 1 top, each joint is asked most, and the "
        "centre of pressure ahead of the ankles there."
    )
    figure.table(state.named(asked), name="lift_demand", note=note)
