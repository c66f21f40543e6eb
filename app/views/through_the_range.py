"""Through the range: what a load asks, what muscles can give, where it is hardest."""

import streamlit as st

from app import figure, model, state
from app.charts import limb, muscles, through_range
from app.views import physics_section, posture_section


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
    curve, hardest = model.range_curve(posture), model.hardest(posture)
    at, words = model.at_angle(curve, posture.elbow_deg)
    left, right = st.columns([2, 3], gap="large")
    with left:
        joints = limb.joints(posture.variant, elbow_deg=posture.elbow_deg)
        drawn = limb.limb(joints, elbow_deg=posture.elbow_deg, hardest=words)
        figure.show(drawn, at, name="limb")
    with right:
        use = through_range.utilisation(curve, hardest, elbow_deg=posture.elbow_deg)
        figure.show(use, curve, name="utilisation")
    title = titles[posture.variant.variant]
    moments = through_range.moments(curve, title=title, load_kg=posture.arm_load_kg)
    figure.show(moments, curve, name="moments")
    _muscles(posture, title)
    st.header("Every variant over its own range")
    table = state.named(model.all_hardest(state.chosen()))
    figure.show(through_range.hardest(table), table, name="hardest")
    physics_section.draw(posture)


def _muscles(posture: model.Posture, title: str) -> None:
    st.header("Which muscle, and how long it is")
    work = model.muscle_work(posture)
    figure.show(muscles.shares(work, title=title), work, name="muscles")
    spans = state.named(model.fibre_spans(state.chosen()))
    figure.show(muscles.spans(spans), spans, name="fibre_lengths")


page()
