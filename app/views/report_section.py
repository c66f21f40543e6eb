"""The report of one lifter, written when asked for."""

import streamlit as st

from analytics.errors import AnalyticsError
from app import decisions, figure, state


def draw(choice: state.Choice) -> None:
    """Offer the report as HTML and as PDF."""
    st.header(f"A report for {figure.lines(choice.lifter)}")
    st.markdown(
        "Two pages in plain words: strength, ratios, the next loads, cautions and what "
        "the log cannot say. From the whole log, whatever dates are chosen above."
    )
    with st.container(horizontal=True):
        for kind in decisions.REPORT_KINDS:
            _offer(choice, kind)


def _offer(choice: state.Choice, kind: str) -> None:
    name = kind.upper()
    if not decisions.report_is_written(choice, kind):
        if not st.button(f"Write it as {name}", key=f"write_{kind}"):
            return
        try:
            decisions.report(choice, kind)
        except AnalyticsError as error:
            return st.error(figure.lines(str(error)))
    st.download_button(
        f"Take away the report, {name}",
        decisions.report(choice, kind),
        f"report_{choice.lifter}.{kind}",
        decisions.REPORT_KINDS[kind],
        type="primary",
        key=f"report_{kind}",
        on_click="ignore",
    )
