"""Tabs of the range page: equipment, one lift, balance."""

from functools import partial

import streamlit as st

from analytics.charts import balance as lift_charts
from analytics.charts import limb, through_range
from analytics.mechanics import LEAN_IS_BALANCE, SUPPORT_HOLDS
from app import figure
from app.views.through_the_range import needs


def settings(posture: needs.Posture) -> None:
    """Draw how even each setting is, and the most even ones found."""
    sweep, found = needs.settings(posture)
    if sweep is None or sweep.empty:
        st.info("This variant has no pulley, band, pad or bench to adjust.")
    else:
        figure.show(partial(through_range.setups, sweep), sweep, name="settings")
        figure.table(
            found,
            name="settings_search",
            note="Modelled: from as catalogued to the most even match found, one "
            "setting more in each row, within assumed equipment limits. Evenness: the "
            "mean over muscle sets and curves as published; limit loads are weighed.",
        )


def rep(posture: needs.Posture) -> None:
    """Draw repetitions with all force at loads around the limit."""
    found = needs.all_out_reps(posture)
    if isinstance(found, str):
        st.info(figure.lines(found))
    else:
        motion, reps = found
        figure.show(
            partial(through_range.rep, motion, reps, joint=posture.joint),
            motion,
            name="all_out_rep",
        )
        figure.table(
            reps,
            name="all_out_reps",
            note="Modelled. Sticking region: from the first peak of speed to the next; "
            "–: none, or the rep ends before. Load as logged.",
        )


@st.fragment
def balance(posture: needs.Posture) -> None:
    """Draw the body under the load, and the lean that each stance needs."""
    through = needs.lift_balance(posture)
    if isinstance(through, str):
        return st.info(figure.lines(through))
    chart = partial(lift_charts.over_progress, through, joint=posture.joint)
    figure.show(chart, through, name="lift_balance")
    stance = st.segmented_control(
        "Stance",
        ["parallel", "split"],
        default="parallel",
        key="stance",
        bind="query-params",
    )
    rows, body, base = needs.balance(posture, stance or "parallel")
    finding = needs.balance_sentence(rows, stance or "parallel", posture.load_kg)
    row = st.container(horizontal=True, gap="medium")  # below each other if narrow
    left, right = row.container(width=350), row.container(width=540)
    with left:
        figure.show(
            partial(limb.balance, body, base, finding=finding), rows, name="balance"
        )
    with right:
        leans = needs.leans(posture)
        figure.show(partial(limb.lean, leans), leans, name="lean")
        figure.bullets([LEAN_IS_BALANCE, SUPPORT_HOLDS])
    rows = rows.replace(float("inf"), float("nan"))
    figure.table(rows, name="stances", note="Modelled, no cheating; –: no limit.")
