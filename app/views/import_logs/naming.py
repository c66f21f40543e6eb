"""Exercise names: a row for each that waits, and what all others mean."""

from typing import Any

import pandas as pd
import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from app import figure, state
from app.views.import_logs import meanings

HIGH = 480  # rows that do not fit scroll [px]
SHOWN = 6
MEANS = {"text": "name in the log", "decided_by": "recognised"}


def draw() -> None:
    """Ask what waiting names mean, and list what the others mean."""
    names = meanings.unnamed()
    if state.asking().own:
        return _told(names)
    if len(names):
        _waiting(names)
    known = meanings.all_names()
    if len(known):
        own = (known["decided_by"] == meanings.RECOGNISED["person"]).sum()
        title = f"All {figure.counted(len(known), 'exercise name')}: {own} said by you"
        with st.expander(title):
            _known(known)


def _told(names: pd.DataFrame) -> None:
    """Tell a lifter what waits for the word of who names exercises for everybody."""
    if len(names):
        waiting = figure.lines(", ".join(names["text"]))
        st.info(f"A coach or an owner has yet to say what these mean: {waiting}.")


def _waiting(names: pd.DataFrame) -> None:
    st.header(f"{figure.counted(len(names), 'exercise name')} to be named")
    st.caption(
        "Their sets are stored, and count as soon as the name has a meaning. Search by "
        "any word of the trade, in English, German or French; what you type as your "
        "own exercise goes before a choice."
    )
    with st.form("naming"):
        many = len(names) > SHOWN
        with st.container(height=HIGH if many else "content", border=False):
            said = [_row(row) for row in names.itertuples()]
        if st.form_submit_button("Give these meanings", type="primary"):
            _teach([one for one in said if one.anything])


def _row(row: Any) -> meanings.Said:
    name, means, own, movement = st.columns([3, 4, 2.5, 2.5], gap="small")
    lifters = figure.counted(row.lifters, "lifter")
    name.markdown(figure.lines(row.text))
    name.caption(f"{figure.counted(row.sets, 'set')}, {lifters}")
    return meanings.Said(
        row.text, *_asked(row.text, row.suggestion, means, own, movement)
    )


def _asked(text: str, suggestion: str, *places: DeltaGenerator) -> tuple[Any, ...]:
    """Ask what one name means: a known exercise, or one's own and its movement."""
    means, own, movement = places
    labels, movements = meanings.labels(), state.movement_titles()
    first = [suggestion] if suggestion else []
    return (
        means.selectbox(
            f"{text} means",
            [*first, *(variant for variant in labels if variant not in first)],
            index=None,
            format_func=labels.__getitem__,
            placeholder=f"suggested: {state.variant_titles()[suggestion]}"
            if suggestion
            else "search an exercise",
            key=f"means_{text}",
        ),
        own.text_input("or my own exercise", key=f"own_{text}"),
        movement.selectbox(
            "of the movement",
            list(movements),
            index=None,
            format_func=lambda name: movements.get(name, name),
            placeholder="one of its own",
            accept_new_options=True,
            key=f"movement_{text}",
            help="Exercises of one movement are compared with each other.",
        ),
    )


def _known(known: pd.DataFrame) -> None:
    figure.table(
        state.named(known).rename(columns=MEANS),
        name="exercise_names",
        note="Recognised by itself without your word: look these over.",
    )
    text = st.selectbox("Name", list(known["text"]), index=None, key="changed_name")
    if text is None:
        return
    with st.form("change_name"):
        said = meanings.Said(text, *_asked(text, "", *st.columns([4, 2.5, 2.5])))
        with st.container(horizontal=True):
            change = st.form_submit_button("Change its meaning")
            undo = st.form_submit_button("Undo my word")
    if change and said.anything:
        _teach([said])
    if undo:
        st.session_state["message"] = [meanings.take_back(text)]
        st.rerun()


def _teach(said: list[meanings.Said]) -> None:
    if said:
        st.session_state["message"] = meanings.teach(said)
        st.rerun()
