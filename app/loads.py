"""A table of next loads, as Home and Next session show it."""

import pandas as pd
import streamlit as st

from analytics import advice
from app import figure, state

COLUMNS = ["variant", "load_kg", "low_kg", "high_kg", "reps", "caution", "basis"]


def draw(loads: pd.DataFrame) -> None:
    """Draw loads, what is to be said of each beside it and of all below."""
    own, every = advice.split_cautions(loads)
    said = [state.in_words(". ".join(parts)) for parts in own]
    basis = loads["basis"].map(state.in_words)
    shown = state.named(loads.assign(caution=said, basis=basis))[COLUMNS]
    figure.plain(
        shown,
        alt="Next load of each exercise with its 90 % interval, basis and caution",
        column_config={
            "variant": st.column_config.TextColumn("exercise", pinned=True),
            "caution": st.column_config.TextColumn("caution", width="large"),
        },
    )
    if every:
        text = state.in_words(". ".join(every)).removesuffix(".")
        text = figure.lines(f"{text[:1].upper()}{text[1:]}.")
        (st.warning if loads["load_kg"].isna().any() else st.markdown)(text)
