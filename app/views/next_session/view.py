"""Next session: what to put on the bar, why, and what to beware of."""

from functools import partial

import streamlit as st

from analytics.advice import lockout_pair, warm_up
from app import figure, fits, relation, report, state
from app.views.next_session import needs, variants, work


def page() -> None:
    choice = state.chosen()
    fit = fits.seen(choice)
    if fit is None:
        return figure.nothing_yet("the next load", choice)
    if choice.lifter is None:
        return st.info("Choose one lifter above: a load is always for somebody.")
    titles = needs.setup_titles(fit, choice.lifter)
    with st.container(horizontal=True, vertical_alignment="bottom"):
        setup = st.selectbox(
            "Variant",
            list(titles),
            format_func=titles.__getitem__,
            key="load_setup",
            bind="query-params",
            width=320,
        )
        reps = st.number_input(
            "Repetitions", 1, 20, 8, key="reps", bind="query-params", width=130
        )
        rir = st.number_input(
            "To leave in reserve", 0, 10, 2, key="rir", bind="query-params", width=170
        )
        usual_kg = needs.usual_step_kg(fit, setup)
        step_kg = st.number_input(
            "Smallest step [kg]",
            0.25,
            20.0,
            usual_kg,
            0.25,
            key=f"step_{usual_kg:g}",  # each implement keeps a step of its own
            bind="query-params",
            width=170,
        )
    suggested = needs.next_load(fit, choice, setup, reps=reps, rir=rir, step_kg=step_kg)
    row = suggested.iloc[0]
    st.header(needs.load_sentence(row))
    if row["basis"]:
        basis = figure.lines(state.in_words(row["basis"]))
        st.markdown(f"{figure.BADGE['estimated']} {basis}")
    caution = figure.lines(state.in_words(row["caution"])).removesuffix(".")
    st.warning(f"{caution[:1].upper()}{caution[1:]}.")
    if row["load_kg"] > 0:
        with st.expander("Warm-up"):
            steps = warm_up(row["load_kg"], step_kg=step_kg)
            figure.table(steps, name="warm_up", note="Common practice, rounded down.")
    parts = {
        "Which_exercise": partial(variants.ranked, choice, fit),
        "Lockout": partial(variants.locked, choice, fit),
    }
    figure.tabs(
        "session_part",
        **(parts if lockout_pair(choice.movement) else {}),
        Weekly_work=partial(work.weekly, choice, fit),
        Technique=partial(work.technique, choice, fit),
        Repetitions_and_load=partial(relation.draw, fit, choice.lifter, setup),
        Report=partial(report.draw, choice),
    )


page()
