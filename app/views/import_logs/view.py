"""Import logs: choose a file, confirm how it is read, see what becomes of it."""

import streamlit as st

from analytics.errors import AnalyticsError
from app import figure
from app.views.import_logs import mapping, needs, waiting


def page() -> None:
    st.markdown(
        "A row per set, a row per exercise or the trade's shorthand, with any headers: "
        "CSV, TSV, XLSX, JSON or Parquet. Nothing is stored before you say so, and a "
        "file brought in twice adds nothing."
    )
    if told := st.session_state.pop("message", None):
        st.success("\n".join(f"- {figure.lines(one)}" for one in told))
        st.page_link("views/strength_over_time/view.py", label="See strength over time")
    file = st.file_uploader(
        "Log file",
        type=["csv", "tsv", "txt", "xlsx", "json", "parquet"],
        key=f"log_{st.session_state.get('files', 0)}",
    )
    if file is not None:
        _one_file(file.name, file.getvalue())
    waiting.draw()


def _one_file(name: str, content: bytes) -> None:
    path = needs.saved(name, content)
    try:
        found = needs.suggestion(path)
    except AnalyticsError as error:
        return st.error(figure.lines(needs.question(error)))
    st.header("How the file is read")
    top = st.container()
    column_map, result, refusal = mapping.confirm(found), None, None
    try:
        result = needs.tried(path, column_map)
    except AnalyticsError as error:
        refusal = error
    for question in needs.asked(path, found, refusal):
        top.warning(figure.lines(question))
    if result is None:
        return st.info("Nothing can be added before the question above is answered.")
    st.header("What will happen")
    with st.container(horizontal=True):
        for label, count in (
            ("Rows read", result.rows_read),
            ("Sets to import", result.sets_added),
            ("Already known", result.already_known),
            ("Rows rejected", result.rejected),
        ):
            st.metric(label, f"{count:,}", width=150)
    mapping.ask_effort(result.effort_words)
    for note in (note for note in result.notes if note not in result.warnings):
        st.caption(figure.lines(note))
    st.markdown("The first sets as they would be stored:")
    st.dataframe(result.preview, hide_index=True, height=220, alt="First sets as read")
    if result.issues:
        figure.table(
            needs.issue_table(result),
            name="would_be_rejected",
            note="Rows that would be rejected, and what would be accepted.",
        )
    for warning in result.warnings:
        st.warning(figure.lines(warning))
    ready = result.sets_added > 0 or result.rows_added > 0 or result.rejected > 0
    if st.button(
        f"Import {figure.counted(result.sets_added, 'set')}",
        type="primary",
        disabled=not ready,
    ):
        stored = needs.taken(path, column_map)
        st.session_state["message"] = [
            f"{stored.file}: {figure.counted(stored.sets_added, 'set')} added, "
            f"{stored.already_known:,} known already, "
            f"{figure.counted(stored.rejected, 'row')} rejected."
        ]
        st.session_state["files"] = st.session_state.get("files", 0) + 1
        st.rerun()


page()
