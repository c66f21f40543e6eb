"""What waits after an intake: unnamed exercises, rejected rows, intakes to undo."""

import pandas as pd
import streamlit as st

from app import figure
from app.views.import_logs import naming, needs


def draw() -> None:
    """Draw what waits, if anything does."""
    naming.draw()
    if doubts := needs.doubts():
        st.warning(f"To look at: {doubts}.")
        st.page_link("views/check_sets/view.py", label="Check sets")
    rows = needs.rejected()
    if len(rows):
        st.header(f"{figure.counted(len(rows), 'rejected row')}")
        figure.table(rows, name="rejected", note="Stored as found, counted nowhere.")
        _fix(dict(zip(rows["intake_id"], rows["file"], strict=True)))
    done = needs.intakes()
    if len(done):
        st.header("Imports")
        figure.table(done, name="intakes", note="Newest first.")
        _undo(done)


def _fix(files: dict[int, str]) -> None:
    with st.expander("Fix rows"):
        intake_id = st.selectbox(
            "Rows of", list(files), format_func=files.__getitem__, key="fix_intake"
        )
        waiting = needs.waiting_rows(intake_id)
        locked = [waiting.columns[0], "problem", "accepted"]
        cells = st.data_editor(
            waiting,
            hide_index=True,
            disabled=locked,
            column_config={locked[0]: None},  # a key, of no use to the eye
            key=f"fix_{intake_id}_{len(waiting)}",
            alt="Rejected rows, cell by cell, to be fixed",
        )
        changed = cells[(cells != waiting).any(axis=1)]
        words = f"Bring {figure.counted(len(changed), 'fixed row')} back"
        if st.button(words, disabled=changed.empty):
            st.session_state["message"] = [needs.fixed(changed)]
            st.rerun()
        words = f"Dismiss {figure.counted(len(waiting), 'row')}, as they are no sets"
        if st.button(words, disabled=len(changed) > 0):
            st.session_state["message"] = [needs.dismissed(waiting)]
            st.rerun()


def _undo(done: pd.DataFrame) -> None:
    with st.expander("Undo import: remove exactly what one file added"):
        labels = dict(zip(done["intake_id"], done["file"], strict=True))
        intake_id = st.selectbox(
            "File",
            list(labels),
            format_func=lambda number: f"{number}: {labels[number]}",
            key="undo",
        )
        sure = st.checkbox("Yes, remove what it added", key="sure")
        if st.button("Undo import", disabled=not sure):
            st.session_state["message"] = [needs.undo(intake_id)]
            st.rerun()
