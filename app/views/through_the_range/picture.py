"""The limb at an angle, how hard it is there, and both moments over the range."""

from functools import partial

import pandas as pd
import streamlit as st

from analytics.charts import limb, through_range
from app import figure
from app.views.through_the_range import needs


def draw(posture: needs.Posture, title: str) -> None:
    """Draw one posture under its load."""
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
