"""The dashboard's entry: page config, pages in the order of the work, the line."""

import os
from functools import partial

import streamlit as st

from analytics.errors import AnalyticsError
from analytics.store import Asking
from app import figure, fits, frame, sign_in, state

# Folder of the page, its title, stage of the line it belongs to.
PAGES = {
    "home": ("Home", ""),
    "import_logs": ("Import logs", "Log"),
    "today": ("Today", "Log"),
    "check_sets": ("Check sets", "Log"),
    "strength_over_time": ("Strength over time", "Strength"),
    "compare_exercises": ("Compare exercises", "Ratios"),
    "through_the_range": ("Through the range", "Model"),
    "are_curls_needed": ("Are curls needed?", ""),
    "does_the_log_fit": ("Does the log fit?", "Verdict"),
    "next_session": ("Next session", ""),
    "clients": ("Clients", ""),
    "research_tables": ("Research tables", ""),
    "method_and_cautions": ("Method and cautions", ""),
    "people_and_data": ("People and data", ""),
}
WITHOUT_LOG = ("import_logs", "today", "method_and_cautions", "people_and_data")
# Pages that have something for a role; what is on them is decided in the store.
NOT_OF = {
    "lifter": ("clients", "research_tables"),
    "coach": ("research_tables", "people_and_data"),
}
ONLY_OF = {
    "researcher": ("research_tables", "through_the_range", "method_and_cautions")
}


def pages_of(who: Asking) -> list[str]:
    """Return the pages that have something for somebody, the first page first."""
    # On one's own machine there are no people.
    hidden = NOT_OF.get(who.role, () if who.address else ("people_and_data",))
    return [name for name in ONLY_OF.get(who.role, PAGES) if name not in hidden]


def _who() -> Asking | None:
    """Return who asks, or show why nobody is let in."""
    error = None
    try:
        if sign_in.address() != "":
            return state.asking()
    except AnalyticsError as refused:
        error = refused
    st.navigation(
        [st.Page(partial(frame.ask_to_sign_in, error), title="Sign in")]
    ).run()
    return None


def run() -> None:
    """Choose, show the page, then fill the line above it as more is known."""
    st.set_page_config("Lacertus", layout="wide", initial_sidebar_state="auto")
    if os.environ.get("LACERTUS_COHORT"):
        from app import cohort  # its libraries are an extra

        return cohort.run()
    who = _who()
    if who is None:
        return
    names = pages_of(who)
    pages = {
        st.Page(
            f"views/{name}/view.py",
            title=PAGES[name][0],
            url_path=name.replace("_", "-"),
            default=name == names[0],
        ): name
        for name in names
    }
    page = st.navigation(list(pages), expanded=True)
    if sign_in.shared():
        frame.offer_sign_out()
    name = pages[page]
    title, here = PAGES[name]
    line, st.session_state["progress"] = st.empty(), st.empty()
    st.session_state.update(keys={}, behind=False)
    try:
        choice = st.session_state["choice"] = frame.choose()
        frame.draw_line(line, fits.line_facts(choice), here=here)
        st.title(title)
        page.run()
        if name in WITHOUT_LOG:
            return
        frame.draw_line(line, fits.line_facts(choice), here=here)
        if state.behind():
            frame.say_behind()
    except AnalyticsError as error:
        st.error(figure.lines(str(error)))
    finally:
        st.session_state["progress"].empty()


if __name__ == "__main__":  # which it is not in the process beside
    run()
