"""Which variant for which purpose, and whether to lock out."""

import streamlit as st

from analytics.advice import GOALS
from analytics.strength import StrengthFit
from app import figure, state
from app.views.next_session import needs


@st.fragment
def ranked(choice: state.Choice, fit: StrengthFit) -> None:
    """Rank the modelled variants for one purpose."""
    goal = st.selectbox(
        "Purpose",
        list(GOALS),
        format_func=lambda name: GOALS[name].title,
        key="goal",
        bind="query-params",
    )
    rows = needs.ranking(choice, fit, goal)
    best = rows.head(3)
    figure.bullets(best["title"] + ": " + best["reason"])
    _, size = needs.body_of(choice)
    rows = rows.drop(columns="variant").rename(columns={"title": "variant"})
    figure.plain(rows.drop(columns="reason"), alt=f"Exercises ranked: {goal}")
    figure.take_away(
        rows,
        name="variants_ranked",
        note=f"Modelled for {size}; own ratios estimated from the log. Scores closer "
        "than their intervals do not tell two variants apart. The file holds every "
        "reason.",
    )


def locked(choice: state.Choice, fit: StrengthFit) -> None:
    """Answer the question of the lockout."""
    facts, sentences = needs.lockout(choice, fit)
    figure.bullets(sentences)
    figure.table(state.named(facts), name="lockout", note="Modelled.")
