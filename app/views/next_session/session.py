"""The loads of the chosen exercises, their steps, and a sheet to print."""

from functools import partial

import streamlit as st

from analytics.strength import StrengthFit
from app import figure, loads, state
from app.glossary import explained
from app.views.next_session import needs

SHEETS = {"html": "text/html", "pdf": "application/pdf"}


def steps(chosen: dict[str, StrengthFit]) -> dict[str, float]:
    """Ask for the step of each implement; the address bar keeps it."""
    implements, found = needs.implements(list(chosen), chosen), {}
    for name, implement in implements.items():
        if implement not in found:
            found[implement] = st.number_input(
                f"{state.in_words(implement).capitalize()} [{state.unit()}]",
                0.25,
                50.0,
                needs.usual_step(chosen[name], name),
                0.25,
                key=f"step_{implement}_{state.unit()}",
                bind="query-params",
            )
    return {name: found[implement] for name, implement in implements.items()}


def draw(
    choice: state.Choice,
    chosen: dict[str, StrengthFit],
    *,
    reps: int,
    rir: int,
    steps: dict[str, float],
) -> None:
    """Draw the loads of the chosen exercises, a sheet to print and the warm-up."""
    rows = needs.session(choice, chosen, reps=reps, rir=rir, steps=steps)
    said = figure.lines(needs.session_sentence(rows))
    st.header(said, help=explained(said))
    loads.draw(rows)
    st.caption("From and to: 90 % interval of what the log gives; the load is the "
               "step nearest its middle, or its low end where never done.")  # fmt: skip
    with st.container(horizontal=True):
        for kind, mime in SHEETS.items():
            st.download_button(
                f"To print, {kind.upper()}",
                partial(needs.sheet, choice, rows, kind),
                f"session_{choice.lifter}.{kind}",
                mime,
                key=f"sheet_{kind}",
                on_click="ignore",
            )
    if first := needs.warm_ups(rows, steps):
        with st.expander("Warm-up"):
            figure.bullets(first)
