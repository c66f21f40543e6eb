"""Research tables: aggregates without anybody in them, as a data package."""

from functools import partial

import pandas as pd
import streamlit as st

from analytics.reports import DIFFERENCING, withheld_cells
from app import figure, state
from app.views.research_tables import needs, personal


def page() -> None:
    st.markdown(
        "Cohort ratios, strength by week, sticking angles, the curve test and data "
        "quality of every movement logged, on all dates, as CSV and Parquet in a data "
        "package with README, codebook and lines for a notebook. Cells with few "
        "lifters are left empty, together with others that would give them away."
    )
    if not needs.logged():
        return figure.nothing_yet("the cohort", state.chosen())
    words = "Fewest lifters a cell may stand for"
    smallest = st.number_input(
        words, 5, 100, 10, key="smallest", bind="query-params", width=320
    )
    releases = state.asking().everything  # what may tell of single lifters
    words = "Also if a former release could be subtracted from it"
    again = releases and st.checkbox(words)
    made = needs.is_made(smallest)
    if not made and not st.button("Make the data package", type="primary"):
        return personal.draw(smallest, again) if releases else None
    content, tables, cited = needs.package(smallest, again=again)
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
    st.markdown(f"Cite as: {figure.lines(cited)}")
    figure.table(
        withheld_cells(tables, smallest_cell=smallest),
        name="withheld",
        note="A cell is a row of a table. Modelled columns have nobody in them and are "
        "never withheld. Where every cell of a line would be, it is not listed.",
    )
    if releases:
        personal.draw(smallest, again)
    draws = {name: partial(_table, name, rows) for name, rows in tables.items()}
    figure.tabs("table", **draws)


def _table(name: str, rows: pd.DataFrame) -> None:
    titles = state.movement_titles()
    figure.table(
        state.named(rows.assign(movement=rows["movement"].replace(titles))),
        name=name,
        note="The package names movements and variants by code.",
    )


page()
