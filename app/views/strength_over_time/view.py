"""Strength over time: one lifter with every set, or everyone's latest."""

from functools import partial

import streamlit as st

from analytics.charts import strength
from analytics.strength import StrengthFit
from app import figure, fits, relation, report, state
from app.glossary import explained
from app.views.strength_over_time import everyone, needs, sets


def page() -> None:
    st.markdown(
        "The load each lifter could have lifted once or several times, "
        f"{figure.BADGE['estimated']} from every {figure.BADGE['measured']} set, with "
        "its 90\N{NO-BREAK SPACE}% interval. Logged convention: total on a bar, cable "
        "or machine, per hand for dumbbells."
    )
    choice = state.chosen()
    fit = fits.seen(choice)
    if fit is None:
        return figure.nothing_yet("strength over time", choice)
    setups = fits.setups_of(fit, choice.lifter)
    if not setups:
        return figure.nothing_yet("strength over time", choice)
    with st.container(horizontal=True, vertical_alignment="bottom"):
        setup = st.selectbox(
            "Exercise",
            setups,
            format_func=state.in_words,
            key="setup",
            bind="query-params",
            width=320,
        )
        reps = st.number_input(
            "Times it can be lifted",
            *(1, 30, 1),
            key="times",
            bind="query-params",
            width=200,
        )
    if choice.lifter:
        _one(fit, choice.lifter, setup, reps)
    else:
        everyone.draw(fit, setup, reps)


def _one(fit: StrengthFit, lifter: str, setup: str, reps: int) -> None:
    trend, points = needs.series(fit, lifter, setup, reps=reps)
    variant, trend = trend["variant"].iloc[0], state.named(trend)
    for sentence in fits.doubts(fit, lifter, setup):
        st.warning(figure.lines(sentence))
    for sentence in fits.sentences(fit, lifter, setup):
        said = figure.lines(sentence)
        st.markdown(said, help=explained(said))
    figure.show(
        partial(strength.over_time, trend, points),
        trend,
        name=f"strength_{lifter}_{setup}",
    )
    figure.tabs(
        "strength_part",
        Repetitions=partial(_repetitions, fit, lifter, setup),
        Sets=partial(sets.listed, fit, lifter, setup),
        Correct=partial(sets.corrected, lifter, variant),
        Report=partial(report.draw, state.chosen()),
    )


def _repetitions(fit: StrengthFit, lifter: str, setup: str) -> None:
    relation.known_best(fit, lifter, setup)
    relation.draw(fit, lifter, setup)


page()
