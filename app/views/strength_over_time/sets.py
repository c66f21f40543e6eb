"""The sets behind a strength: listed, or edited and deleted with a history."""

import streamlit as st

from analytics.errors import AnalyticsError
from analytics.strength import StrengthFit
from app import figure, fits
from app.views.strength_over_time import needs


def listed(fit: StrengthFit, lifter: str, setup: str) -> None:
    """List the sets of one series, and left against right."""
    figure.table(
        needs.set_table(fit, lifter, setup),
        name=f"sets_{lifter}_{setup}",
        note="Measured: load, repetitions, reserve. Estimated: the 1RM each implies, "
        "how far off the curve it lies, and how much it moves the curve.",
    )
    sides = fits.of(fit.sides, lifter, setup)
    if len(sides):
        note = "Left against right, estimated, 90 % interval."
        figure.table(sides, name=f"sides_{lifter}_{setup}", note=note)


def corrected(lifter: str, variant: str) -> None:
    """Draw one lifter's stored sets in one variant to be corrected."""
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
