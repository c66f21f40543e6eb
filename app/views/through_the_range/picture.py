"""The lift at an angle, how hard it is there, and both moments over the range."""

from functools import partial

import streamlit as st

from analytics.charts import through_range
from app import figure
from app.views.through_the_range import drawing, needs


def draw(posture: needs.Posture, title: str) -> None:
    """Draw one posture under its load."""
    _figure(posture, title)
    figure.bullets(needs.limits(posture))


@st.fragment
def _figure(posture: needs.Posture, title: str) -> None:
    """Draw the lift at an angle of its own; moving it runs nothing else anew."""
    curve, joint = needs.range_curve(posture), posture.joint
    first, last = map(int, joint.grid_deg)
    row = st.container(horizontal=True, gap="medium")  # below each other if narrow
    left, right = row.container(width=350), row.container(width=540)
    with left:
        words = f"{joint.title} angle of the figure [°]"
        asked = {"key": joint.joint, "bind": "query-params", "width": 290}
        shown = last - 50 - (last - 50 - first) % 2  # a frame of the drawing
        angle = st.slider(words, first, last, shown, 2, **asked)
        at, words = drawing.at_angle(curve, joint, angle)
        where = {"joint": joint, "joint_deg": angle}
        drawn = drawing.drawn(posture, curve, hardest=words, **where)
        figure.show(drawn, at, name="lift")
    with right:
        use = partial(through_range.utilisation, curve, needs.hardest(posture), **where)
        figure.show(use, curve, name="utilisation")
        said = {"joint": joint, "finding": needs.spare(posture, curve, title)}
        both = partial(through_range.moments, curve, **said)
        figure.show(both, curve, name="moments")
