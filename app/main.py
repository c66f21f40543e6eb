"""The dashboard's entry: page config, pages in the order of the work, the line."""

import streamlit as st

from analytics.errors import AnalyticsError
from app import figure, fits, frame

# Folder of the page, its title, stage of the line it belongs to.
PAGES = {
    "home": ("Home", ""),
    "import_logs": ("Import logs", "Log"),
    "check_sets": ("Check sets", "Log"),
    "strength_over_time": ("Strength over time", "Strength"),
    "compare_exercises": ("Compare exercises", "Ratios"),
    "through_the_range": ("Through the range", "Model"),
    "does_the_log_fit": ("Does the log fit?", "Verdict"),
    "next_session": ("Next session", ""),
    "clients": ("Clients", ""),
    "research_tables": ("Research tables", ""),
    "method_and_cautions": ("Method and cautions", ""),
}
WITHOUT_LOG = ("import_logs", "method_and_cautions")


def run() -> None:
    """Choose, show the page, then fill the line above it as more is known."""
    st.set_page_config("Lacertus", layout="wide", initial_sidebar_state="auto")
    pages = {
        st.Page(
            f"views/{name}/view.py",
            title=title,
            url_path=name.replace("_", "-"),
            default=name == "home",
        ): name
        for name, (title, _) in PAGES.items()
    }
    page = st.navigation(list(pages))
    name = pages[page]
    title, here = PAGES[name]
    line, st.session_state["progress"] = st.empty(), st.empty()
    try:
        choice = st.session_state["choice"] = frame.choose()
        frame.draw_line(line, fits.line_facts(choice), here=here)
        st.title(title)
        page.run()
        if name in WITHOUT_LOG:
            return
        frame.draw_line(line, fits.line_facts(choice), here=here)
    except AnalyticsError as error:
        st.error(figure.lines(str(error)))


run()
