"""Does the log fit: the verdict in a sentence, and everything behind it."""

from functools import partial

import streamlit as st

from analytics.charts import evidence
from analytics.evidence import gaps
from app import figure, fits, state
from app.glossary import explained
from app.views.does_the_log_fit import behind, needs, sticking, trace


def page() -> None:
    choice = state.chosen()
    test = fits.curve_test(choice)
    if test is None:
        return figure.nothing_yet("the curve", choice)
    who = figure.lines(choice.lifter or "all lifters together")
    st.header(f"Verdict for {who}: {test.verdict}", help=explained("verdict, sticking"))
    st.markdown(
        f"Does the strength {figure.BADGE['estimated']} from the log fit the "
        f"length–strength curve {figure.BADGE['modelled']} from anatomy? "
        f"{figure.counted(test.n_obs, 'set')}, {figure.lines(needs.chance(test))}."
    )
    figure.bullets(test.reasons[: behind.MOST_REASONS])
    if test.comparison is not None:
        rows = gaps(state.named(test.residuals))
        figure.show(partial(evidence.residuals, rows), rows, name="residuals")
    figure.tabs(
        "fit_part",
        Reasons=partial(behind.reasons, test),
        Known_angles=partial(behind.direct, test),
        Own_curve=partial(behind.own, test),
        Sticking_point=partial(sticking.draw, choice),
        What_to_log_next=partial(behind.more, test),
        Recorded_set=trace.draw,
    )


page()
