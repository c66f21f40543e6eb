"""Who needs attention first, said above a table, and the row that opens a lifter."""

import pandas as pd
import streamlit as st

from app import figure

KEPT = ("movement", "dates", "unit")  # choices in the address beside the lifter


def headline(rows: pd.DataFrame) -> None:
    """Say who stands first and why, and how many have a reason.

    Parameters
    ----------
    rows : DataFrame
        ``lifter, flags``, who needs attention first.
    """
    first, many = rows.iloc[0], int((rows["flags"] != "").sum())
    lifters = figure.counted(len(rows), "lifter")
    said = f"No reason to look at any of {lifters} first"
    if many:
        said = f"{first['lifter']} first: {first['flags'].split('; ')[0]}"
    st.header(figure.lines(said))
    st.markdown(
        f"{many} of {lifters} {'has' if many == 1 else 'have'} a reason beside "
        "the name. Click a row to open the lifter."
    )


def clicked(table: str, codes: list[str]) -> None:
    """Choose the lifter whose row of a table was clicked."""
    cells = st.session_state[table].selection.cells
    if cells:
        st.session_state["who"] = codes[cells[0][0]]


def opens(table: str, codes: list[str]) -> None:
    """Choose the lifter whose row was clicked, and leave for their home page."""
    clicked(table, codes)
    kept = {n: st.query_params.get_all(n) for n in KEPT if n in st.query_params}
    st.session_state["leaving"] = {**kept, "who": st.session_state["who"]}


def leave() -> None:
    """Go to the home page if a row was clicked, once no choice is in the address."""
    if address := st.session_state.pop("leaving", None):
        st.switch_page("views/home/view.py", query_params=address)
