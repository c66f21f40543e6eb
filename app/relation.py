"""At how many repetitions strength is known best, and the relation behind it."""

from functools import partial

import pandas as pd
import streamlit as st

from analytics import advice
from analytics.charts import strength
from analytics.strength import StrengthFit
from app import figure, fits, state


def known_best(fit: StrengthFit, lifter: str, setup: str) -> None:
    """Draw how surely the load for each number of repetitions is known."""
    rows, finding = _by_repetitions(fit, lifter, setup)
    draw = partial(strength.by_repetitions, rows, finding=finding)
    figure.show(draw, rows, name=f"repetitions_{lifter}_{setup}")


def draw(fit: StrengthFit, lifter: str, setup: str) -> None:
    """Draw how repetitions turn into load for one lifter, and what is their own."""
    rows, sentence = _relation(fit, lifter, setup)
    if rows.empty:
        return st.info("No sets of this setup tell how repetitions turn into load.")
    st.markdown(figure.lines(sentence))
    figure.show(
        partial(strength.relation, rows, finding=sentence.split(" (")[0]),
        rows,
        name=f"relation_{lifter}_{setup}",
    )


def _by_repetitions(
    found: StrengthFit, lifter: str, setup: str
) -> tuple[pd.DataFrame, str]:
    """Return how surely each number of repetitions is known, and where best."""
    key = (*fits.fit_key(state.chosen()), lifter, setup)
    table = state.cached(
        "repetitions", key, lambda: advice.by_repetitions(found, lifter, setup)
    )
    return table, f"{state.in_words(setup)}, {advice.known_best(table)}"


def _relation(found: StrengthFit, lifter: str, setup: str) -> tuple[pd.DataFrame, str]:
    """Return the repetition relation of one series, and in words."""
    table = advice.relation_curve(found, lifter, setup)
    return table, advice.relation_sentence(found, lifter, setup)
