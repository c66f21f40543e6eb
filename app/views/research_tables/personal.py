"""The package with rows about single lifters, for who brings a key."""

import streamlit as st

from analytics.errors import AnalyticsError
from app import figure
from app.views.research_tables import needs


def draw(smallest: int, again: bool) -> None:
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
