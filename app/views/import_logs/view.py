"""Import logs: choose files, confirm how they are read, see what becomes of them."""

import streamlit as st

from app import figure
from app.views.import_logs import several, waiting


def page() -> None:
    st.markdown(
        "A row per set, a row per exercise or the trade's shorthand, with any headers: "
        "CSV, TSV, XLSX, JSON or Parquet. Nothing is stored before you say so, and a "
        "file brought in twice adds nothing."
    )
    if told := st.session_state.pop("message", None):
        st.success("\n".join(f"- {figure.lines(one)}" for one in told))
        st.page_link("views/strength_over_time/view.py", label="See strength over time")
    files = st.file_uploader(
        "Log files",
        type=["csv", "tsv", "txt", "xlsx", "json", "parquet"],
        accept_multiple_files=True,
        key=f"log_{st.session_state.get('files', 0)}",
    )
    several.draw([(file.name, file.getvalue()) for file in files])
    waiting.draw()


page()
