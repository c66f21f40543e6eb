"""The report of one lifter, written when asked for."""

import tempfile
from collections.abc import Hashable
from dataclasses import replace
from datetime import date
from pathlib import Path

import streamlit as st

from analytics import reports
from analytics.errors import AnalyticsError
from app import figure, fits, state

KINDS = {"html": "text/html", "pdf": "application/pdf"}


def draw(choice: state.Choice) -> None:
    """Offer the report as HTML and as PDF."""
    st.markdown(
        "Two pages in plain words: strength, ratios, the next loads, cautions and what "
        "the log cannot say. From the whole log, whatever dates are chosen above."
    )
    with st.container(horizontal=True):
        for kind in KINDS:
            _offer(choice, kind)


def _offer(choice: state.Choice, kind: str) -> None:
    name = kind.upper()
    if not is_written(choice, kind):
        if not st.button(f"Write it as {name}", key=f"write_{kind}"):
            return
        try:
            written(choice, kind)
        except AnalyticsError as error:
            return st.error(figure.lines(str(error)))
    st.download_button(
        f"Download the report, {name}",
        written(choice, kind),
        f"report_{choice.lifter}.{kind}",
        KINDS[kind],
        type="primary",
        key=f"report_{kind}",
        on_click="ignore",
    )


def _key(choice: state.Choice, kind: str) -> tuple[str, Hashable]:
    return "report", (state.stamp(), choice.lifter, choice.movement, kind, date.today())


def is_written(choice: state.Choice, kind: str) -> bool:
    """Tell whether today's report of this log is there."""
    return state.is_cached(*_key(choice, kind))


def written(choice: state.Choice, kind: str) -> bytes:
    """Return the report of the chosen lifter, its bytes as HTML or PDF."""
    # Fitted first: that is stored and changes the stamp.
    fits.fit(replace(choice, since=None, until=None))

    def make() -> bytes:
        with (
            state.progress("Writing the report"),
            tempfile.TemporaryDirectory() as folder,
        ):
            path = Path(folder) / f"report.{kind}"
            reports.write_report(
                state.store(), choice.lifter, path, movement=choice.movement
            )
            return path.read_bytes()

    return state.cached(*_key(choice, kind), make)
