"""Pain: what notes say of it, one click each, and pain that is over."""

import streamlit as st

from app import correcting, figure, state
from app.views.check_sets import needs

HIGH = 480  # rows that do not fit scroll [px]
SHOWN = 5


def draw(choice: state.Choice) -> None:
    """Offer notes that speak of pain, and let pain be over."""
    notes = needs.pains(choice)
    if len(notes):
        st.header(f"Notes that speak of pain: {len(notes)}")
        st.caption("Accepted, it stops a load: nobody is advised through pain.")
        height = HIGH if len(notes) > SHOWN else "content"
        with st.container(height=height, border=False):
            for note in notes.itertuples():
                _note(note)
    sore, over = needs.standing_pains(choice), needs.over(choice)
    if len(sore) or over:
        st.header("Pain that was logged")
    for row in sore.itertuples():
        said = f"{row.lifter}: {row.pain:g} of 10, last on {row.last_on:%Y-%m-%d}"
        if _button(said, "It is over", f"end_{row.lifter}"):
            correcting.tell(needs.end(row.lifter, row.last_on.date()))
    for lifter, until in over.items():
        if _button(f"{lifter}: over since {until}", "It is not over", f"back_{lifter}"):
            correcting.tell(needs.end(lifter, None))


def _note(note) -> None:
    with st.container(horizontal=True, vertical_alignment="center"):
        where = f", {note.site}" if note.site else ""
        st.markdown(
            figure.lines(
                f"{note.lifter}, {note.performed_on:%Y-%m-%d}, {note.exercise}{where}: "
                f"{note.note}"
            )
        )
        at = f"Pain{where}, {note.size:g} of 10"
        if st.button(at, key=f"pain_{note.set_id}", width=230):
            correcting.tell(needs.accept(note.set_id, note.size))
        if st.button("No pain", key=f"none_{note.set_id}", width=110):
            correcting.tell(needs.dismiss(note.set_id))


def _button(said: str, label: str, key: str) -> bool:
    with st.container(horizontal=True, vertical_alignment="center"):
        st.markdown(figure.lines(said))
        return st.button(label, key=key, width=140)
