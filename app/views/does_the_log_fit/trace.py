"""The rep explorer: a recorded set, its speed, and the events found."""

from functools import partial

import streamlit as st

from analytics import traces
from analytics.catalogue import load_catalogue
from analytics.charts import reps
from app import figure
from app.views.does_the_log_fit import needs


def draw() -> None:
    """Take a trace file and draw one of its sets."""
    joint = load_catalogue().joints[traces.JOINT]
    file = st.file_uploader(
        f"A trace: time_s with {joint.column} or height_m, CSV",
        type=["csv", "tsv", "txt"],
        key="trace",
    )
    if file is None:
        return st.caption(
            "Looked at first; kept in the store only when you say so, and undone on "
            "the page *Import logs* like any file."
        )
    samples, found = needs.trace(file.name, file.getvalue())
    label = st.selectbox(
        "Recorded set", list(samples["recorded"].unique()), key="trace_set"
    )
    one, events = (rows[rows["recorded"] == label] for rows in (samples, found))
    sentence = traces.reps_in_words(events)
    for panel in reps.panels(joint):
        figure.show(
            partial(reps.explorer, one, joint=joint, panel=panel, finding=sentence),
            one,
            name=f"trace_{panel}",
        )
    figure.table(events, name="reps", note="Measured trace, events found in it.")
    keep = f"Keep the {len(found)} repetitions of this file"
    if st.button(keep, key="trace_keep", help="Keeping a file again changes nothing."):
        needs.store_trace(file.name, file.getvalue())
        st.rerun()
