"""Through the range: what a load asks, what muscles can give, where it is hardest."""

from functools import partial

import pandas as pd
import streamlit as st

from app import figure, model, state
from app.charts import limb, muscles, through_range
from app.views import hangs_section, physics_section, posture_section


def page() -> None:
    st.title("Through the range")
    st.markdown(
        f"Everything here is {figure.BADGE['modelled']}: anatomy and physics of an "
        "average adult moving slowly. The log plays no part."
    )
    titles = model.modelled_titles(state.chosen())
    if not titles:
        return st.info(
            "This movement is logged but not modelled: it has strength over time and "
            "ratios, no mechanics. Choose elbow flexion above."
        )
    posture = posture_section.choose(titles)
    title = titles[posture.variant.variant]
    if refusal := model.refusal(posture):
        return st.info(figure.lines(refusal))
    _range(posture, title)
    _muscles(posture, title)
    st.header("Every variant over its own range")
    table = state.named(model.all_hardest(state.chosen()))
    figure.show(partial(through_range.hardest, table), table, name="hardest")
    hangs_section.draw(posture, title)
    physics_section.draw(posture)


def _range(posture: model.Posture, title: str) -> None:
    curve = model.range_curve(posture)
    _figure(posture, curve)
    figure.bullets(model.limits(posture))
    moments = partial(
        through_range.moments, curve, title=title, load_kg=posture.arm_load_kg
    )
    figure.show(moments, curve, name="moments")


@st.fragment
def _figure(posture: model.Posture, curve: pd.DataFrame) -> None:
    """Draw the limb at an angle of its own; moving it runs nothing else anew."""
    row = st.container(horizontal=True, gap="medium")  # below each other if narrow
    left, right = row.container(width=350), row.container(width=540)
    with left:
        elbow_deg = st.slider(
            "Elbow angle of the figure [°]",
            0,
            140,
            90,
            key="elbow",
            bind="query-params",
            width=290,
        )
        at, words = model.at_angle(curve, elbow_deg)
        joints = limb.joints(posture.variant, elbow_deg=elbow_deg)
        drawn = partial(limb.limb, joints, elbow_deg=elbow_deg, hardest=words)
        figure.show(drawn, at, name="limb")
    with right:
        hardest = model.hardest(posture)
        use = partial(through_range.utilisation, curve, hardest, elbow_deg=elbow_deg)
        figure.show(use, curve, name="utilisation")


def _muscles(posture: model.Posture, title: str) -> None:
    st.header("Which muscle, and how long it is")
    work = model.muscle_work(posture)
    figure.show(partial(muscles.shares, work, title=title), work, name="muscles")
    grid, path, finding = model.strong_regions(posture)
    figure.show(
        partial(muscles.regions, grid, path, finding=finding), grid, name="regions"
    )
    spans = state.named(model.fibre_spans(state.chosen()))
    figure.show(partial(muscles.spans, spans), spans, name="fibre_lengths")


page()
