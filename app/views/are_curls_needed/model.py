"""What the model says of a pull whoever lifts, and what measured people say."""

from functools import partial

import streamlit as st

from analytics.charts import pulls
from app import figure, state
from app.views.are_curls_needed import needs


def through(choice: state.Choice, variant: str) -> None:
    """Draw moments through the pull."""
    table, sentence, words = needs.through_pull(choice, variant)
    figure.show(partial(pulls.through, table, finding=sentence), table, name="pull")
    st.caption(figure.lines(words))


def lengths(variant: str) -> None:
    """Draw the biceps' length over both joints."""
    grid, ways, table, sentence = needs.lengths(variant)
    draw = partial(pulls.length_map, grid, ways, finding=sentence)
    figure.show(draw, table, name="biceps_length")


def sharing(variant: str) -> None:
    """Draw how muscles may share, in the pull and in a curl."""
    load = st.slider("Load, % of what the flexors can give", 10, 100, 50, 5, key="part")
    for name, suffix in ((variant, "pull"), (needs.CURL, "curl")):
        table = needs.shared(name, load / 100)
        finding = f"{state.in_words(name)}: balance alone leaves the shares open"
        figure.show(
            partial(pulls.sharing, table, finding=finding),
            table,
            name=f"sharing_{suffix}",
        )
    st.markdown(figure.lines(needs.takes_over()))


def checked() -> None:
    """Set predictions beside measured people, and growth."""
    table, words = needs.checked()
    st.markdown(figure.lines(words))
    figure.table(table, name="pull_checks", note="Measured, and predicted with 90 %.")
    table, words = needs.growth()
    st.markdown(figure.lines(words))
    figure.table(table, name="growth", note="Thickness gained, pulls over curls.")
