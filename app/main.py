"""The dashboard's entry: page config, pages in the order of the work, the line."""

import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from analytics.errors import AnalyticsError
from app import figure, frame, model, results, state

# file, title, stage of the line it belongs to
PAGES = (
    ("bring_in_logs", "Bring in logs", "Log"),
    ("strength_over_time", "Strength over time", "Strength"),
    ("variant_against_variant", "Variant against variant", "Ratios"),
    ("through_the_range", "Through the range", "Model"),
    ("log_against_curve", "Log against curve", "Verdict"),
    ("next_load", "Next load", ""),
    ("clients_side_by_side", "Clients side by side", ""),
    ("research_tables", "Research tables", ""),
    ("method_and_cautions", "Method and cautions", ""),
)


@st.fragment(run_every=1.0)
def _fill_line(line: DeltaGenerator, choice: state.Choice, here: str) -> None:
    """Draw the line with what was made beside the page since; until the next run.

    Not by running the page again: that could undo a click on another page.
    """
    frame.draw_line(line, results.line_facts(choice), here=here)


def run() -> None:
    """Choose, show the page, then fill the line above it as more is known."""
    st.set_page_config("Lacertus", layout="wide", initial_sidebar_state="auto")
    pages, stage_of = [], {}
    for file, title, stage in PAGES:
        page = st.Page(
            f"views/{file}.py",
            title=title,
            url_path=file.replace("_", "-"),
            default=not stage_of,
        )
        pages.append(page)
        stage_of[title] = stage
    page = st.navigation(pages)
    here = stage_of[page.title]
    line, st.session_state["progress"] = st.empty(), st.empty()
    try:
        choice = st.session_state["choice"] = frame.choose()
        frame.draw_line(line, results.line_facts(choice), here=here)
        page.run()
        if page.title in ("Bring in logs", "Method and cautions"):
            return
        tested = results.test_soon(choice)
        model.compare_soon(choice)
        frame.draw_line(line, results.line_facts(choice), here=here)
        if not tested:
            _fill_line(line, choice, here)
    except AnalyticsError as error:
        st.error(figure.lines(str(error)))


run()
