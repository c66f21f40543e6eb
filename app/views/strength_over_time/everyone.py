"""Everyone's latest strength in one setup, and up to four lifters side by side."""

from functools import partial

import streamlit as st

from analytics.charts import strength
from analytics.strength import StrengthFit, latest, spread, trend_for
from app import figure, state

MOST_DRAWN = 100


def draw(fit: StrengthFit, setup: str, reps: int) -> None:
    """Draw the load every lifter can lift so many times."""
    trend = trend_for(fit, fit.trend[fit.trend["setup"] == setup], reps=reps)
    trend = state.named(trend)
    rows = latest(trend)
    counts = spread(rows) if len(rows) > MOST_DRAWN else None
    draw = partial(strength.latest, rows, counts)
    figure.show(draw, trend, name=f"latest_{setup}")
    names = list(trend["lifter"].unique())
    if len(names) < 2:
        return
    st.header("Side by side")
    some = st.multiselect(
        "Lifters, up to four",
        names,
        default=names[:2],
        max_selections=4,
        key="compared",
        bind="query-params",
    )
    rows = trend[trend["lifter"].isin(some)]
    if some:
        figure.show(
            partial(strength.compared, rows, by="lifter"),
            rows,
            name=f"compared_{setup}",
        )
