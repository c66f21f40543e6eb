"""Compare exercises: the log's ratios beside the model's, everyone's and own."""

from functools import partial

import streamlit as st

from analytics.charts import ratios
from analytics.evidence import by_source, compared_at, overlap_sentence
from app import figure, fits, state
from app.glossary import explained
from app.views.compare_exercises import needs


def page() -> None:
    st.markdown(
        "Strength per working limb in each variant, divided by that in the reference: "
        f"{figure.BADGE['estimated']} from the log beside {figure.BADGE['modelled']} "
        "from anatomy and physics."
    )
    choice = state.chosen()
    fit = fits.seen(choice)
    if fit is None:
        return figure.nothing_yet("ratios between variants", choice)
    ratio_table, told = needs.ratio_table(choice), fits.withheld(choice)
    table = state.named(ratio_table)
    if table.empty and not told:
        return st.info(
            "Only one variant has been logged. Log a second one in the same weeks, and "
            "its ratio appears here."
        )
    if len(table):
        draw = partial(
            ratios.side_by_side,
            by_source({ratios.EVERYONE: table}, table),
            reference=table["reference"].iloc[0],
            finding=overlap_sentence(table),
            compared_at=compared_at(table),
        )
        figure.show(draw, table, name="ratios")
    if told:
        st.info(figure.lines(told))
    st.caption(
        f"Reference: {figure.lines(state.in_words(fit.reference))}. In the table, "
        "the spread between lifters is that of the ratio's logarithm. Training "
        "mostly one variant shifts its ratio: strength is specific to what is trained."
    )
    st.header("Personal ratios", help=explained("personal ratios"))
    if choice.lifter is None:
        return st.info("Choose one lifter above to see personal ratios.")
    own = state.named(needs.personal(choice, ratio_table))
    if own.empty:
        words = f"{choice.lifter} has no two variants in overlapping weeks yet."
        return st.info(figure.lines(words))
    figure.show(partial(ratios.personal, own), own, name=f"ratios_{choice.lifter}")


page()
