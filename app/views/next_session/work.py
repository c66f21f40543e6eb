"""Weekly work, arm girth and technique of one lifter, and what they cannot say."""

from functools import partial

import streamlit as st

from analytics.charts import coaching
from analytics.strength import StrengthFit
from app import figure, state
from app.views.next_session import needs


def weekly(choice: state.Choice, fit: StrengthFit) -> None:
    """Draw direct and indirect work, and girth."""
    st.subheader(f"Are direct {needs.direct_each()}s needed?")
    work = needs.work(choice, fit)
    figure.bullets(work.can_say)
    st.markdown("What this log cannot say:")
    figure.bullets(work.cannot_say)
    chart = partial(coaching.weekly, work.weekly, finding=work.can_say[0])
    figure.show(chart, work.weekly, name="weekly_sets")
    if len(work.girth):
        chart = partial(coaching.girth, work.girth, finding=work.can_say[1])
        figure.show(chart, work.girth, name="arm_girth")


def technique(choice: state.Choice, fit: StrengthFit) -> None:
    """Draw lean against load."""
    seen = needs.technique(choice, fit)
    figure.bullets(seen.sentences)
    leaning = seen.sets.dropna(subset=["lean_deg"])
    if len(leaning):
        chart = partial(
            coaching.lean,
            leaning,
            start=seen.start.start_frac,
            needed=seen.model_start_frac,
            finding=seen.sentences[0],
        )
        figure.show(chart, leaning, name="lean")
