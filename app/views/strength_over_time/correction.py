"""Corrections: edit or delete stored sets; what they were is kept."""

import streamlit as st

from analytics.errors import AnalyticsError
from app import figure
from app.views.strength_over_time import needs


def draw(lifter: str, variant: str) -> None:
    """Draw one lifter's stored sets in one variant to be corrected."""
    with st.expander("Correct or delete sets"):
        if told := st.session_state.pop("corrected", None):
            st.success(told)
        stored = needs.stored_sets(lifter, variant)
        settings = figure.column_settings(stored)
        cells = st.data_editor(
            stored,
            hide_index=True,
            column_config=settings | {"delete": st.column_config.CheckboxColumn()},
            key=f"correct_{lifter}_{variant}_{hash(tuple(stored.index))}",
            placeholder="–",
            alt="Stored sets, cell by cell, to be corrected",
        )
        same = cells.equals(stored)
        if st.button("Store the corrections", disabled=same):
            try:
                st.session_state["corrected"] = needs.corrected(stored, cells)
            except AnalyticsError as error:
                return st.error(figure.lines(str(error)))
            st.rerun()
        changes = needs.corrections(lifter)
        if len(changes):
            figure.table(changes, name="corrections", note="Corrected so far.")
