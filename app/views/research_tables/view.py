"""Research tables: aggregates without anybody in them, as a data package."""

import streamlit as st

from analytics.errors import AnalyticsError
from analytics.reports import DIFFERENCING
from app import figure, state
from app.views.research_tables import needs


def page() -> None:
    st.markdown(
        "Cohort ratios, strength by week, sticking angles, the curve test and data "
        "quality of every movement logged, on all dates, as CSV and Parquet in a data "
        "package, with units, sources and method. Cells with few lifters are left "
        "empty, together with others that would give them away."
    )
    if not needs.logged():
        return figure.nothing_yet("the cohort", state.chosen())
    words = "Fewest lifters a cell may stand for"
    smallest = st.number_input(words, 5, 100, 10, key="smallest", bind="query-params")
    again = st.checkbox("Also if a former release could be subtracted from it")
    made = needs.is_made(smallest)
    if not made and not st.button("Make the data package", type="primary"):
        return _personal(smallest, again)
    content, tables = needs.package(smallest, again=again)
    if not made:
        st.rerun()  # the button that made it is of no more use
    st.download_button(
        "Download the data package, ZIP",
        content,
        "lacertus_tables.zip",
        "application/zip",
        type="primary",
        on_click="ignore",
    )
    st.caption(DIFFERENCING)
    _personal(smallest, again)
    titles = state.movement_titles()
    for name, rows in tables.items():
        st.header(name.replace("_", " ").capitalize())
        figure.table(
            state.named(rows.assign(movement=rows["movement"].replace(titles))),
            name=name,
            note="The package names movements and variants by code.",
        )


def _personal(smallest: int, again: bool) -> None:
    """Offer the package with rows about single lifters to who brings a key."""
    with (
        st.expander("Add personal tables under pseudonyms"),
        st.form("personal", clear_on_submit=True),
    ):
        secret = st.text_input(
            "Key of the pseudonyms", type="password", autocomplete="off"
        )
        st.caption(
            "A random secret of 32 hexadecimal digits or more, such as *openssl rand "
            "-hex 32* makes, replaces every lifter's code by a pseudonym, as on "
            "the command line. The rows are about single lifters, so share them under "
            "an agreement only; the key is used once and kept nowhere."
        )
        if not st.form_submit_button("Make the package with personal tables"):
            return
    try:
        content = needs.personal_package(smallest, secret, again=again)
    except AnalyticsError as error:
        return st.error(figure.lines(str(error)))
    st.download_button(
        "Download the package with personal tables, ZIP",
        content,
        "lacertus_personal_tables.zip",
        "application/zip",
        on_click="ignore",
    )


page()
