"""Are curls needed beside pulls? What both ask of the elbow flexors."""

from functools import partial

import streamlit as st

from analytics.advice.rules import cautions
from analytics.charts import pulls
from app import figure, state
from app.views.are_curls_needed import model, needs


def page() -> None:
    choice = state.chosen()
    if state.lifters().empty:
        return figure.nothing_yet("pulls and curls", choice)
    if choice.lifter is None:
        st.info("Choose one lifter above: whether curls are needed depends on the log.")
    elif not needs.has_sets(choice):
        st.info("No sets in these dates.")
    else:
        _answer(choice)
    titles = needs.titles()
    variant = st.selectbox(
        "Pull",
        list(titles),
        format_func=titles.__getitem__,
        key="pull",
        bind="query-params",
        width=260,
    )
    figure.tabs(
        "pull_part",
        Through_the_pull=partial(model.through, choice, variant),
        Length_of_the_biceps=partial(model.lengths, variant),
        How_muscles_share=partial(model.sharing, variant),
        Against_measured_people=model.checked,
    )
    st.caption(figure.lines(". ".join(cautions(None)) + "."))


def _answer(choice: state.Choice) -> None:
    found, answer = needs.shares(choice, _given(needs.without_share(choice)))
    table = needs.by_variant(found)
    if table.empty:
        st.info(figure.lines(answer.sentence))
    else:
        draw = partial(pulls.shares, table, finding=answer.sentence)
        figure.show(draw, table, name="flexor_shares")
    with st.expander("What this rests on"):
        figure.bullets([*answer.reasons, *needs.beside(choice)])


def _given(exercises: list[str]) -> dict[str, float]:
    """Ask what part of the flexors exercises of one's own use; empty: not counted."""
    if not exercises:
        return {}
    with st.popover("Shares of your own exercises"):
        asked = {
            name: st.number_input(
                figure.lines(state.in_words(name)),
                0.0,
                1.0,
                None,
                0.05,
                key=f"share_{name}",
            )
            for name in exercises
        }
    return {name: share for name, share in asked.items() if share is not None}


page()
