"""Log against curve: the verdict in a sentence, and everything behind it."""

import streamlit as st

from app import figure, results, state
from app.charts import evidence
from app.views import sticking_section, trace_section


def page() -> None:
    st.title("Log against curve")
    choice = state.chosen()
    test = results.curve_test(choice)
    if test is None:
        return figure.nothing_yet("the curve", choice)
    who = choice.lifter or "all lifters together"
    st.header(f"Verdict for {who}: {test.verdict}")
    st.markdown(
        f"Does the strength {figure.BADGE['estimated']} from the log fit the "
        f"length–strength curve {figure.BADGE['modelled']} from anatomy? "
        f"{test.n_obs} sets, p = {test.p_value:.2g}."
    )
    figure.bullets(test.reasons)
    if test.comparison is not None:
        _behind(test)
    if len(test.direct):
        st.header("Strength at known joint angles")
        figure.bullets(test.direct["sentence"])
        figure.table(test.direct, name="direct", note="Estimated from holds.")
    if len(test.more_data):
        st.header("What to log next")
        figure.table(
            test.more_data,
            name="more_data",
            note="Expected from the model and this log; about so many sets each.",
        )
    sticking_section.draw(choice)
    trace_section.draw()


def _behind(test: results.CurveTest) -> None:
    left, right = st.columns(2, gap="large")
    with left:
        rows = state.named(test.residuals)
        figure.show(evidence.residuals(rows), rows, name="residuals")
    with right:
        rivals = results.weights(test)
        figure.show(evidence.weights(rivals), rivals, name="weights")
    if len(test.left_out):
        rows = state.named(test.left_out)
        chart = evidence.left_out(rows, winner=results.winner(test))
        figure.show(chart, rows, name="left_out")


page()
