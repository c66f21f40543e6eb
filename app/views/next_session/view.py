"""Next session: what to put on the bar, why, and what to beware of."""

from functools import partial

import streamlit as st

from analytics.advice import REPS, RIR, lockout_pair
from analytics.errors import InputError
from analytics.strength import StrengthFit
from app import figure, fits, relation, report, state
from app.views.next_session import needs, session, variants, work


def page() -> None:
    choice = state.chosen()
    found = fits.every(choice)
    if not found:
        return figure.nothing_yet("the next load", choice)
    if choice.lifter is None:
        return st.info("Choose one lifter above: a load is always for somebody.")
    known = needs.exercises(choice, found)
    names = st.multiselect(
        "Exercises",
        list(known),
        default=[n for n in needs.last_exercises(choice, found) if n in known],
        format_func=state.in_words,
        key="exercises",
        bind="query-params",
    )
    chosen = {name: known[name] for name in names}
    with st.container(horizontal=True, vertical_alignment="bottom"):
        reps = st.number_input(
            "Repetitions", 1, 20, REPS, key="reps", bind="query-params", width=130
        )
        rir = st.number_input(
            "To leave in reserve", 0, 10, RIR, key="rir", bind="query-params", width=170
        )
        with st.popover("Smallest steps"):
            steps = session.steps(chosen)
    if chosen:
        try:
            session.draw(choice, chosen, reps=reps, rir=rir, steps=steps)
        except InputError as error:
            st.error(figure.lines(str(error)))
    fit = fits.seen(choice)
    if fit and (setups := fits.setups_of(fit, choice.lifter)):
        first = next((name for name in names if name in setups), setups[0])
        _parts(choice, fit, first)


def _parts(choice: state.Choice, fit: StrengthFit, setup: str) -> None:
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
