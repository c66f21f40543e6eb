"""Research tables: aggregates without anybody in them, as a data package."""

import streamlit as st

from analytics.reports import DIFFERENCING
from app import decisions, figure, results, state


def page() -> None:
    st.title("Research tables")
    st.markdown(
        "Cohort ratios, strength by week, sticking angles, the curve test and data "
        "quality as CSV and Parquet in a data package, with units, sources and method. "
        "Cells with few lifters are left empty, together with others that would give "
        "them away."
    )
    choice = state.chosen()
    if results.fit(choice) is None:
        return figure.nothing_yet("the cohort", choice)
    smallest = st.number_input(
        "Fewest lifters a cell may stand for",
        5,
        100,
        10,
        key="smallest",
        bind="query-params",
    )
    made = decisions.package_is_made(choice, smallest)
    if not made and not st.button("Make the data package", type="primary"):
        return None
    content, tables = decisions.research_package(choice, smallest)
    st.download_button(
        "Take away the data package, ZIP",
        content,
        "lacertus_tables.zip",
        "application/zip",
        type="primary",
        on_click="ignore",
    )
    st.caption(DIFFERENCING)
    for name, rows in tables.items():
        st.header(name.replace("_", " ").capitalize())
        figure.table(
            state.named(rows), name=name, note="The package names variants by code."
        )


page()
