"""The report of one lifter, and those of all in one file, written when asked for."""

import tempfile
from collections.abc import Callable, Hashable
from dataclasses import dataclass
from datetime import date
from functools import partial
from pathlib import Path

import streamlit as st

from analytics import reports
from analytics.errors import AnalyticsError
from analytics.store import HOLDER, Store
from app import figure, fits, state

KINDS = {"html": "text/html", "pdf": "application/pdf", "zip": "application/zip"}


@dataclass(frozen=True, slots=True)
class Words:
    """What the coach adds to a report."""

    coach: str = ""
    note: str = ""
    since: date | None = None
    unit: str = "kg"


def draw(choice: state.Choice) -> None:
    """Offer the report as HTML and as PDF."""
    st.markdown(
        "All lifts in plain words: strength and what changed, the next loads, cautions "
        "and what the log cannot say. From the whole log, whatever dates are chosen "
        "above."
    )
    words = _asked(choice.lifter)
    with st.container(horizontal=True):
        for kind in ("html", "pdf"):
            _offer(
                kind,
                f"report_{choice.lifter}.{kind}",
                (choice.lifter, words),
                partial(written, choice, kind, words),
                ask=f"Write it as {kind.upper()}",
                take=f"Download the report, {kind.upper()}",
            )


def draw_all() -> None:
    """Offer the reports of everybody as one ZIP."""
    with st.expander("Reports of all"):
        words = _asked("all")
        _offer(
            "zip",
            "reports.zip",
            (None, words),
            partial(all_written, words),
            ask="Write the reports of all",
            take="Download the reports, ZIP",
        )
        st.caption("HTML pages, one a lifter; each shows what that lifter may see.")


def _asked(whose: str | None) -> Words:
    """Ask what the coach adds."""
    with st.container(horizontal=True):
        coach = st.text_input("Coach", max_chars=80, key=f"report_coach_{whose}")
        since = st.date_input(
            "Changes since, else four weeks",
            value=None,
            max_value="today",
            format="YYYY-MM-DD",
            key=f"report_since_{whose}",
        )
    note = st.text_area("Note", max_chars=1000, key=f"report_note_{whose}")
    return Words(coach.strip(), note.strip(), since, state.unit())


def _offer(
    kind: str,
    name: str,
    about: Hashable,
    make: Callable[[], bytes],
    *,
    ask: str,
    take: str,
) -> None:
    if not state.is_cached(*_key(kind, about)):
        if not st.button(ask, key=f"write_{kind}"):
            return
        try:
            make()
        except AnalyticsError as error:
            return st.error(figure.lines(str(error)))
    st.download_button(
        take,
        make(),
        name,
        KINDS[kind],
        type="primary",
        key=f"report_{kind}",
        on_click="ignore",
    )


def _key(kind: str, about: Hashable) -> tuple[str, Hashable]:
    stamps = state.stamp(), state.stamp(whose=HOLDER)  # others' sets count in it too
    return "report", (*stamps, kind, about, date.today())


def _fit_all() -> None:
    """Fit every movement first: that is stored and changes the stamp."""
    for movement in state.movement_titles():
        fits.fit(state.Choice(None, movement, None, None))


def written(choice: state.Choice, kind: str, words: Words) -> bytes:
    """Return the report of the chosen lifter, its bytes as HTML or PDF."""
    _fit_all()
    make = partial(_write, state.store(), choice.lifter, kind, words)
    key, doing = _key(kind, (choice.lifter, words)), "Writing the report"
    return state.made_beside(*key, make, doing=doing)


def all_written(words: Words) -> bytes:
    """Return the reports of everybody, a ZIP."""
    _fit_all()
    make = partial(_write, state.store(), None, "zip", words)
    key, doing = _key("zip", (None, words)), "Writing the reports"
    return state.made_beside(*key, make, doing=doing)


def _write(store: Store, lifter: str | None, kind: str, words: Words) -> bytes:
    said = {"coach": words.coach, "note": words.note, "since": words.since}
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / f"reports.{kind}"
        if lifter is None:
            reports.write_reports(store, path, **said, unit=words.unit)
        else:
            reports.write_report(store, lifter, path, **said, unit=words.unit)
        return path.read_bytes()
