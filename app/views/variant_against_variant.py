"""Variant against variant: the log's ratios beside the model's, everyone's and own."""

from functools import partial

import streamlit as st

from app import figure, results, state
from app.charts import ratios


def page() -> None:
    st.title("Variant against variant")
    st.markdown(
        "Strength per working arm in each variant, divided by that in the reference: "
        f"{figure.BADGE['estimated']} from the log beside {figure.BADGE['modelled']} "
        "from anatomy and physics."
    )
    choice = state.chosen()
    fit = results.seen(choice)
    if fit is None:
        return figure.nothing_yet("ratios between variants", choice)
    table, told = state.named(results.ratio_table(choice)), results.withheld(choice)
    if table.empty and not told:
        return st.info(
            "Only one variant has been logged. Log a second one in the same weeks, and "
            "its ratio appears here."
        )
    if len(table):
        figure.show(partial(ratios.side_by_side, table), table, name="ratios")
    if told:
        st.info(figure.lines(told))
    st.caption(
        f"Reference: {figure.lines(state.label(fit.reference))}. In the table, "
        "*between_sd* is how much lifters differ in the ratio's logarithm. Training "
        "mostly one variant shifts its ratio: strength is specific to what is trained."
    )
    st.header("Personal ratios")
    if choice.lifter is None:
        return st.info("Choose one lifter above to see personal ratios.")
    own = state.named(results.of(fit.personal, choice.lifter))
    if own.empty:
        words = f"{choice.lifter} has no two variants in overlapping weeks yet."
        return st.info(figure.lines(words))
    figure.show(
        partial(ratios.personal, own, table), own, name=f"ratios_{choice.lifter}"
    )


page()
