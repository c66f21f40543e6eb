"""Files to bring in together: one mapping for each layout, one button for all."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import pandas as pd
import streamlit as st

from analytics.errors import AnalyticsError
from analytics.intake import ColumnMap, IntakeResult
from app import figure
from app.views.import_logs import mapping, needs

COUNTS = {
    "rows_read": "Rows read",
    "sets_added": "Sets to import",
    "already_known": "Already known",
    "rejected": "Rows rejected",
}


@dataclass(frozen=True, slots=True)
class _Opened:
    path: Path
    found: needs.Suggestion


@dataclass(frozen=True, slots=True)
class _Tried:
    path: Path
    column_map: ColumnMap
    result: IntakeResult | None


def draw(files: Sequence[tuple[str, bytes]]) -> None:
    """Ask how files are read, show what becomes of them, and take them in."""
    layouts: dict[tuple[str, ...], list[_Opened]] = {}
    for number, (name, content) in enumerate(files):
        path = needs.saved(name, content, number)
        try:
            found = _chosen_sheets(path, needs.suggestion(path))
        except AnalyticsError as error:
            st.error(figure.lines(needs.question(error)))
        else:
            layouts.setdefault(found.headers, []).append(_Opened(path, found))
    tried = [one for alike in layouts.values() for one in _of_one_layout(alike)]
    if not tried:
        return
    if any(one.result is None for one in tried):
        return st.info("Nothing can be added before the question above is answered.")
    _what_happens([(one, one.result) for one in tried if one.result])


def _chosen_sheets(path: Path, found: needs.Suggestion) -> needs.Suggestion:
    if len(found.sheets) < 2:
        return found
    before = found.column_map.read.get("sheet", list(found.sheets))
    sheets = st.multiselect(
        f"Sheets of {path.name}", found.sheets, before, key=f"sheets_{path}"
    )
    same = not sheets or sheets == before
    return found if same else needs.suggestion(path, tuple(sheets))


def _of_one_layout(alike: list[_Opened]) -> list[_Tried]:
    """Ask once how files with the same headers are read, and try each."""
    one = len(alike) == 1
    name = alike[0].path.name
    title = f"{name} is" if one else f"{len(alike)} files with the same headers are"
    st.header(figure.lines(f"How {title} read"))
    if not one:
        st.caption(figure.lines(", ".join(file.path.name for file in alike)))
    top, found = st.container(), alike[0].found
    column_map = mapping.confirm(found)
    tried = []
    for file in alike:
        own = column_map
        if not one and not {"lifter"} & column_map.columns.keys():
            own = mapping.with_lifter(column_map, file.path.name)
        own = replace(own, read=needs.with_sheets(own.read, file.found))
        result, refusal = None, None
        try:
            result = needs.tried(file.path, own)
        except AnalyticsError as error:
            refusal = error
        for question in needs.asked(file.path, file.found, refusal):
            top.warning(figure.lines(question))
        tried.append(_Tried(file.path, own, result))
    words: dict[str, int] = {}
    for trial in tried:
        for word, sets in (trial.result.effort_words if trial.result else {}).items():
            words[word] = words.get(word, 0) + sets
    mapping.ask_effort(words, found)
    return tried


def _what_happens(tried: list[tuple[_Tried, IntakeResult]]) -> None:
    st.header("What will happen")
    results = [result for _, result in tried]
    sums = {name: sum(getattr(r, name) for r in results) for name in COUNTS}
    with st.container(horizontal=True):
        for name, label in COUNTS.items():
            st.metric(label, f"{sums[name]:,}", width=150)
    if len(results) > 1:
        rows = [{"file": r.file} | {n: getattr(r, n) for n in COUNTS} for r in results]
        figure.plain(pd.DataFrame(rows), alt="What becomes of each file")
    notes = [n for r in results for n in r.notes if n not in r.warnings]
    for note in dict.fromkeys(notes):
        st.caption(figure.lines(note))
    st.markdown("The first sets as they would be stored:")
    preview = pd.concat([result.preview for result in results])
    st.dataframe(preview, hide_index=True, height=220, alt="First sets as read")
    if any(result.issues for result in results):
        figure.table(
            pd.concat([needs.issue_table(result) for result in results]),
            name="would_be_rejected",
            note="Rows that would be rejected, and what would be accepted.",
        )
    for result in results:
        for warning in result.warnings:
            st.warning(figure.lines(f"{result.file}: {warning}"))
    _button(tried, sums)


def _button(tried: list[tuple[_Tried, IntakeResult]], sums: dict[str, int]) -> None:
    words = f"Import {figure.counted(sums['sets_added'], 'set')}"
    if len(tried) > 1:
        words += f" from {len(tried)} files"
    ready = sums["sets_added"] + sums["rejected"] + sum(r.rows_added for _, r in tried)
    if st.button(words, type="primary", disabled=not ready):
        st.session_state["message"] = [
            needs.taken(one.path, one.column_map) for one, _ in tried
        ]
        st.session_state["files"] = st.session_state.get("files", 0) + 1
        st.rerun()
