"""At how many repetitions strength is known best, and the relation, folded away."""

from functools import partial

import streamlit as st

from app import figure, results
from app.charts import strength


def known_best(fit: results.StrengthFit, lifter: str, setup: str) -> None:
    """Draw how surely the load for each number of repetitions is known."""
    rows, finding = results.by_repetitions(fit, lifter, setup)
    draw = partial(strength.by_repetitions, rows, finding=finding)
    figure.show(draw, rows, name=f"repetitions_{lifter}_{setup}")


def draw(fit: results.StrengthFit, lifter: str, setup: str) -> None:
    """Draw how repetitions turn into load for one lifter, and what is their own."""
    rows, sentence = results.relation(fit, lifter, setup)
    if rows.empty:
        return
    with st.expander("Repetitions and load: the relation behind it"):
        st.markdown(figure.lines(sentence))
        figure.show(
            partial(strength.relation, rows, finding=sentence.split(" (")[0]),
            rows,
            name=f"relation_{lifter}_{setup}",
        )
