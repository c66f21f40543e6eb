"""What a coach notes on a lifter: shown, and written anew."""

import streamlit as st

from analytics import store as stored
from analytics.errors import AnalyticsError
from analytics.store.notes import MOST_LETTERS
from app import figure, state


def everyones() -> dict[str, str]:
    """Return the notes by lifter."""
    return dict(state.read(stored.coach_notes))


def draw(lifter: str) -> None:
    """Draw the note on one lifter, and below it the field that changes it."""
    note = everyones().get(lifter, "")
    if note:
        st.markdown(f"Coach's note: {figure.typed(note)}")
    if state.asking().own:
        return
    with st.expander("Change the coach's note" if note else "Note on the lifter"):
        text = st.text_area(
            "Coach's note, also printed in the report",
            note,
            max_chars=MOST_LETTERS,
            key=f"coach_note_{lifter}_{hash(note)}",
        )
        if st.button("Keep the note", disabled=text.strip() == note):
            try:
                stored.note_on(state.store(), lifter, text)
            except AnalyticsError as error:
                return st.error(figure.lines(str(error)))
            st.rerun()
