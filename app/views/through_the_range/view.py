"""Through the range: what a load asks, what muscles can give, where it is hardest."""

from functools import partial

import pandas as pd
import streamlit as st

from analytics.charts import limb, muscles, through_range
from app import figure, state
from app.views.through_the_range import equipment, needs, sensitivity, sliders


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
    _range(posture, title)
    _muscles(posture, title)
    st.header("Every variant over its own range")
    table = state.named(needs.all_hardest(state.chosen()))
    chart = partial(through_range.hardest, table, joint=posture.joint)
    figure.show(chart, table, name="hardest")
    sensitivity.draw(posture, title)
    equipment.draw(posture)


def _range(posture: needs.Posture, title: str) -> None:
    curve = needs.range_curve(posture)
    _figure(posture, curve)
    figure.bullets(needs.limits(posture))
    said = {"joint": posture.joint, "finding": needs.spare(posture, curve, title)}
    figure.show(partial(through_range.moments, curve, **said), curve, name="moments")


@st.fragment
def _figure(posture: needs.Posture, curve: pd.DataFrame) -> None:
    """Draw the limb at an angle of its own; moving it runs nothing else anew."""
    joint, (first, last) = posture.joint, map(int, posture.joint.grid_deg)
    row = st.container(horizontal=True, gap="medium")  # below each other if narrow
    left, right = row.container(width=350), row.container(width=540)
    with left:
        words = f"{joint.title} angle of the figure [°]"
        asked = {"key": joint.joint, "bind": "query-params", "width": 290}
        angle = st.slider(words, first, last, last - 50, **asked)
        at, words = needs.at_angle(curve, joint, angle)
        joints = needs.limb(posture, angle)
        where = {"joint": joint, "joint_deg": angle}
        figure.show(partial(limb.limb, joints, hardest=words, **where), at, name="limb")
    with right:
        use = partial(through_range.utilisation, curve, needs.hardest(posture), **where)
        figure.show(use, curve, name="utilisation")


def _muscles(posture: needs.Posture, title: str) -> None:
    st.header("Which muscle, and how long it is")
    joint, work = posture.joint, needs.muscle_shares(posture)
    chart = partial(muscles.shares, work, joint=joint, title=title)
    figure.show(chart, work, name="muscles")
    grid, path, finding = needs.strong_regions(posture)
    chart = partial(muscles.regions, grid, path, joint=joint, finding=finding)
    figure.show(chart, grid, name="regions")
    spans = state.named(needs.fibre_spans(state.chosen()))
    figure.show(partial(muscles.spans, spans, joint=joint), spans, name="fibre_lengths")


page()
