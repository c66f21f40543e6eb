"""What stands behind the verdict, a tab each."""

from functools import partial

import streamlit as st

from analytics.charts import evidence
from analytics.evidence import CurveTest, nearest_shape
from app import figure, state
from app.views.does_the_log_fit import needs

MOST_REASONS = 3  # are seen at once, more fold away


def reasons(test: CurveTest) -> None:
    """Draw the reasons beyond the first, the rivals and left-out variants."""
    figure.bullets(test.reasons[MOST_REASONS:])
    if test.comparison is None:
        return
    rivals = needs.weights(test)
    figure.show(partial(evidence.weights, rivals), rivals, name="weights")
    if len(test.left_out):
        rows = state.named(test.left_out)
        chart = partial(evidence.left_out, rows, winner=needs.winner(test))
        figure.show(chart, rows, name="left_out")


def own(test: CurveTest) -> None:
    """Show the lifter's own curve."""
    if test.personal.empty:
        return st.info("Choose one lifter above who has holds or failure angles.")
    figure.bullets(test.personal["sentence"])
    quantity = test.personal["sentence"].str.partition(":")[0]
    rows = needs.quantities(test.personal.assign(quantity=quantity))
    note = (
        "Estimated under the published prior; *spread ÷ prior* near 1: still the prior."
    )
    figure.table(rows, name="personal_curve", note=note)


def more(test: CurveTest) -> None:
    """Show what to log next."""
    if test.more_data.empty:
        return st.info("Nothing in particular: the verdict needs no more sets.")
    rows = state.named(test.more_data).drop(columns="sentence")
    note = "Expected from the model and this log; about so many sets each."
    figure.table(rows, name="more_data", note=note)


def direct(test: CurveTest) -> None:
    """Draw strength at known joint angles."""
    answered = test.direct.dropna(subset=["value"])
    figure.bullets((answered if len(answered) else test.direct.head(1))["sentence"])
    points, curves = needs.held_loads(test)
    if len(points):
        points, joint = state.named(points), state.joint_of(test.movement)
        said = {"joint": joint, "nearest": nearest_shape(points, curves)}
        figure.show(
            partial(evidence.direct_points, points, curves, **said),
            points,
            name="holds",
        )
    if test.direct_points.empty:
        return
    with st.expander("The numbers"):
        note = "Estimated from holds and failure angles, without any muscle model."
        figure.table(needs.quantities(test.direct), name="direct", note=note)
        note = (
            "Measured angles. The moment of a hold is measured; that of a failure "
            "angle is the demand there at the strength estimated for the setup."
        )
        points = state.named(test.direct_points)
        figure.table(points, name="direct_points", note=note)
