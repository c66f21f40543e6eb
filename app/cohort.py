"""The dashboard on a cohort's result folder: research first, and nothing to change."""

import os
from functools import partial

import pandas as pd
import streamlit as st

from analytics.catalogue import load_catalogue
from analytics.cohort import Cohort, open_cohort
from analytics.errors import AnalyticsError
from analytics.reports import DIFFERENCING
from app import figure, frame, state
from app.package import packed


def address() -> str | None:
    """Return the result folder this dashboard reads, ``LACERTUS_COHORT``, or None."""
    return os.environ.get("LACERTUS_COHORT")


def run() -> None:
    """Show the pages that a cohort without a store has something for."""
    pages = [
        st.Page(_research, title="Research tables", default=True),
        st.Page(
            "views/method_and_cautions/view.py",
            title="Method and cautions",
            url_path="method-and-cautions",
        ),
    ]
    page = st.navigation(pages, expanded=True)
    st.html(frame.style())
    try:
        st.title(page.title)
        page.run()
    except AnalyticsError as error:
        st.error(figure.lines(str(error)))


def _opened() -> Cohort:
    place = str(address())
    return state.cached("cohort", place, partial(open_cohort, place))


def _research() -> None:
    cohort = _opened()
    lifters = {name for of in cohort.counted.values() for name in of.everyone["lifter"]}
    st.markdown(
        f"A cohort of {len(lifters):,} lifters, read from a finished result and not to "
        "be changed here. Cells with few lifters are left empty, together with others "
        "that would give them away."
    )
    for movement, told in cohort.verdicts.items():
        title = load_catalogue().movements[movement].title
        st.markdown(f"**{title}: {told['verdict']}.**")
        figure.bullets(told["reasons"])
    words = "Fewest lifters a cell may stand for"
    smallest = st.number_input(words, 5, 100, 10, key="smallest", bind="query-params")
    again = st.checkbox("Also if a former release could be subtracted from it")
    if st.button("Make the data package", type="primary"):
        write = partial(cohort.write_tables, smallest_cell=smallest, again=again)
        content, _, citation = packed(write)
        st.download_button(
            "Download the data package, ZIP",
            content,
            "lacertus_tables.zip",
            "application/zip",
            on_click="ignore",
        )
        st.markdown(f"Cite as: {figure.lines(citation)}")
    st.caption(DIFFERENCING)
    make = partial(cohort.tables, smallest_cell=smallest)
    tables, _ = state.cached("tables", (address(), smallest), make)
    figure.tabs("table", **{n: partial(_table, n, rows) for n, rows in tables.items()})
    with st.expander("How it was made"):
        st.json({k: v for k, v in cohort.meta.items() if k not in ("sample", "held")})


def _table(name: str, rows: pd.DataFrame) -> None:
    titles = {m: known.title for m, known in load_catalogue().movements.items()}
    figure.table(
        state.named(rows.assign(movement=rows["movement"].replace(titles))),
        name=name,
        note="Aggregates of the whole cohort. The package names movements and variants "
        "by code.",
    )
