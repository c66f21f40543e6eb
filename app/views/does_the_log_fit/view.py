"""Does the log fit: the verdict in a sentence, and everything behind it."""

from functools import partial

import streamlit as st

from analytics.charts import evidence
from analytics.evidence import CurveTest, gaps, nearest_shape
from app import figure, fits, state
from app.views.does_the_log_fit import needs, sticking, trace


def page() -> None:
    choice = state.chosen()
    test = fits.curve_test(choice)
    if test is None:
        return figure.nothing_yet("the curve", choice)
    who = figure.lines(choice.lifter or "all lifters together")
    st.header(f"Verdict for {who}: {test.verdict}")
    st.markdown(
        f"Does the strength {figure.BADGE['estimated']} from the log fit the "
        f"length–strength curve {figure.BADGE['modelled']} from anatomy? "
        f"{figure.counted(test.n_obs, 'set')}, {figure.lines(needs.chance(test))}."
    )
    figure.bullets(test.reasons)
    if test.comparison is not None:
        _behind(test)
    _direct(test)
    if len(test.personal):
        st.header("The lifter's own curve")
        figure.bullets(test.personal["sentence"])
        note = (
            "Estimated under the published prior; *sd ratio* near 1: still the prior."
        )
        quantity = test.personal["sentence"].str.partition(":")[0]
        rows = needs.quantities(test.personal.assign(quantity=quantity))
        figure.table(rows, name="personal_curve", note=note)
    if len(test.more_data):
        st.header("What to log next")
        figure.table(
            state.named(test.more_data).drop(columns="sentence"),
            name="more_data",
            note="Expected from the model and this log; about so many sets each.",
        )
    sticking.draw(choice)
    trace.draw()


def _direct(test: CurveTest) -> None:
    st.header("Strength at known joint angles")
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


def _behind(test: CurveTest) -> None:
    rows = gaps(state.named(test.residuals))
    figure.show(partial(evidence.residuals, rows), rows, name="residuals")
    rivals = needs.weights(test)
    figure.show(partial(evidence.weights, rivals), rivals, name="weights")
    if len(test.left_out):
        rows = state.named(test.left_out)
        chart = partial(evidence.left_out, rows, winner=needs.winner(test))
        figure.show(chart, rows, name="left_out")


page()
