"""Through the range: what a load asks, what muscles can give, where it is hardest."""

from functools import partial

import streamlit as st

from analytics.charts import muscles, through_range
from app import figure, state
from app.views.through_the_range import equipment, needs, picture, sensitivity, sliders


def page() -> None:
    st.markdown(
        f"Everything here is {figure.BADGE['modelled']}: anatomy and physics of an "
        "average adult moving slowly. The log plays no part."
    )
    titles = needs.modelled_titles(state.chosen())
    if not titles:
        return st.info(
            "This movement is logged but not modelled: it has strength over time and "
            f"ratios, no mechanics. Choose {needs.modelled_movements()} above."
        )
    posture = sliders.choose(titles)
    title = titles[posture.variant.variant]
    if refusal := needs.refusal(posture):
        return st.info(figure.lines(refusal))
    figure.tabs(
        "range_part",
        Picture=partial(picture.draw, posture, title),
        Muscles=partial(_muscles, posture, title),
        All_exercises=partial(_variants, posture),
        Equipment=partial(equipment.settings, posture),
        One_lift=partial(equipment.rep, posture),
        Balance=partial(equipment.balance, posture),
        Sensitivity=partial(sensitivity.draw, posture, title),
    )


def _variants(posture: needs.Posture) -> None:
    table = state.named(needs.all_hardest(state.chosen()))
    chart = partial(through_range.hardest, table, joint=posture.joint)
    figure.show(chart, table, name="hardest")


def _muscles(posture: needs.Posture, title: str) -> None:
    joint, work = posture.joint, needs.muscle_shares(posture)
    chart = partial(muscles.shares, work, joint=joint, title=title)
    figure.show(chart, work, name="muscles")
    grid, path, finding = needs.strong_regions(posture)
    chart = partial(muscles.regions, grid, path, joint=joint, finding=finding)
    figure.show(chart, grid, name="regions")
    spans = state.named(needs.fibre_spans(state.chosen()))
    figure.show(partial(muscles.spans, spans, joint=joint), spans, name="fibre_lengths")


page()
