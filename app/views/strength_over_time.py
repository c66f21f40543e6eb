"""Strength over time: one lifter with every set, or everyone's latest."""

from functools import partial

import streamlit as st

from app import figure, results, state
from app.charts import strength
from app.views import correction_section, report_section


def page() -> None:
    st.title("Strength over time")
    st.markdown(
        f"The load each lifter could have lifted once, {figure.BADGE['estimated']} "
        f"from every {figure.BADGE['measured']} set, with its 90 % interval. Logged "
        "convention: total on a bar, cable or machine, per hand for dumbbells."
    )
    choice = state.chosen()
    fit = results.fit(choice)
    if fit is None:
        return figure.nothing_yet("strength over time", choice)
    setups = results.setups_of(fit, choice.lifter)
    if not setups:
        return figure.nothing_yet("strength over time", choice)
    setup = st.selectbox(
        "Variant", setups, format_func=state.label, key="setup", bind="query-params"
    )
    if choice.lifter:
        _one(fit, choice.lifter, setup)
        report_section.draw(choice)
    else:
        _everyone(fit, setup)


def _one(fit: results.StrengthFit, lifter: str, setup: str) -> None:
    trend, points = results.series(fit, lifter, setup)
    variant, trend = trend["variant"].iloc[0], state.named(trend)
    for sentence in results.sentences(fit, lifter, setup):
        st.markdown(figure.lines(sentence))
    figure.show(
        partial(strength.over_time, trend, points),
        trend,
        name=f"strength_{lifter}_{setup}",
    )
    sides = results.of(fit.sides, lifter, setup)
    if len(sides):
        figure.table(
            sides,
            name=f"sides_{lifter}_{setup}",
            note="Left against right, estimated, 90 % interval.",
        )
    with st.expander(f"{figure.counted(len(points), 'set')} behind it"):
        figure.table(
            results.set_table(fit, lifter, setup),
            name=f"sets_{lifter}_{setup}",
            note="Measured: load, repetitions, reserve. Estimated: what each implies "
            "once, how far off the curve it lies, and how much it moves the curve.",
        )
    correction_section.draw(lifter, variant)


def _everyone(fit: results.StrengthFit, setup: str) -> None:
    trend = state.named(fit.trend[fit.trend["setup"] == setup])
    figure.show(partial(strength.latest, trend), trend, name=f"latest_{setup}")
    names = list(trend["lifter"].unique())
    if len(names) < 2:
        return
    st.header("Side by side")
    some = st.multiselect(
        "Lifters, up to four",
        names,
        default=names[:2],
        max_selections=4,
        key="compared",
        bind="query-params",
    )
    rows = trend[trend["lifter"].isin(some)]
    if some:
        figure.show(partial(strength.compared, rows), rows, name=f"compared_{setup}")


page()
