"""Strength over time: one lifter with every set, or everyone's latest."""

from functools import partial

import streamlit as st

from analytics.charts import strength
from analytics.strength import StrengthFit, one_series
from app import figure, fits, relation, report, state
from app.views.strength_over_time import correction, everyone, needs


def page() -> None:
    st.markdown(
        "The load each lifter could have lifted once or several times, "
        f"{figure.BADGE['estimated']} from every {figure.BADGE['measured']} set, with "
        "its 90 % interval. Logged convention: total on a bar, cable or machine, per "
        "hand for dumbbells."
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
            "Variant",
            setups,
            format_func=state.in_words,
            key="setup",
            bind="query-params",
            width=320,
        )
        reps = st.number_input(
            "Times it can be lifted", 1, 30, 1, key="times", bind="query-params"
        )
    if choice.lifter:
        _one(fit, choice.lifter, setup, reps)
        report.draw(choice)
    else:
        everyone.draw(fit, setup, reps)


def _one(fit: StrengthFit, lifter: str, setup: str, reps: int) -> None:
    trend, points = one_series(fit, lifter, setup, reps=reps)
    variant, trend = trend["variant"].iloc[0], state.named(trend)
    for sentence in fits.doubts(fit, lifter, setup):
        st.warning(figure.lines(sentence))
    for sentence in fits.sentences(fit, lifter, setup):
        st.markdown(figure.lines(sentence))
    figure.show(
        partial(strength.over_time, trend, points),
        trend,
        name=f"strength_{lifter}_{setup}",
    )
    relation.known_best(fit, lifter, setup)
    relation.draw(fit, lifter, setup)
    sides = fits.of(fit.sides, lifter, setup)
    if len(sides):
        figure.table(
            sides,
            name=f"sides_{lifter}_{setup}",
            note="Left against right, estimated, 90 % interval.",
        )
    with st.expander(f"{figure.counted(len(points), 'set')} behind it"):
        figure.table(
            needs.set_table(fit, lifter, setup),
            name=f"sets_{lifter}_{setup}",
            note="Measured: load, repetitions, reserve. Estimated: what each implies "
            "once, how far off the curve it lies, and how much it moves the curve.",
        )
    correction.draw(lifter, variant)


page()
