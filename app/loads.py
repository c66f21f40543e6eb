"""A table of next loads of the chosen lifter, as Home and Next session show it."""

import pandas as pd
import streamlit as st

from analytics import advice
from analytics import store as stored
from app import figure, state

COLUMNS = ["variant", "load_kg", "low_kg", "high_kg", "reps", "basis", "caution"]


def draw(loads: pd.DataFrame) -> None:
    """Draw loads, what is to be said of each beside it and of all below."""
    _warn_of_notes()
    own, every = advice.split_cautions(loads)
    said = [state.in_words(". ".join(parts)) for parts in own]
    basis = loads["basis"].map(state.in_words)
    shown = state.named(loads.assign(caution=said, basis=basis))[COLUMNS]
    shown = shown if any(said) else shown.drop(columns="caution")
    figure.plain(
        shown,
        alt="Next load of each exercise with its 90 % interval, basis and caution",
        column_config={
            "caution": st.column_config.TextColumn("caution", width="large")
        },
    )
    # A cell shows only the beginning of its text: cautions are for reading.
    if any(said):
        pairs = zip(shown["variant"], said, strict=True)
        figure.bullets(f"{name}: {text}" for name, text in pairs if text)
    if every:
        text = state.in_words(". ".join(every)).removesuffix(".")
        text = figure.lines(f"{text[:1].upper()}{text[1:]}.")
        (st.warning if loads["load_kg"].isna().any() else st.markdown)(text)


def _warn_of_notes() -> None:
    """Say above the loads which note speaks of pain that nobody has judged yet."""
    lifter = state.chosen().lifter
    last_day = state.read(stored.sets_and_pains, lifter=lifter)["performed_on"].max()
    notes = state.read(stored.pain_in_notes, lifter=lifter)
    if said := advice.note_sentence(notes, last_day):
        st.warning(figure.lines(f"{said[:1].upper()}{said[1:]}."))
        st.page_link("views/check_sets/view.py", label="Judge it under Check sets")
