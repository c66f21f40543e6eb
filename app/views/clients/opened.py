"""One client opened, or up to four compared."""

from functools import partial

import streamlit as st

from analytics.charts import strength
from analytics.strength import StrengthFit, one_series, trend_for
from app import figure, fits, state


def draw(fit: StrengthFit, names: list[str]) -> None:
    """Draw what the fit says of up to four lifters in one variant."""
    *others, last = names
    title = f"{', '.join(others)} and {last}" if others else last
    st.header(figure.lines(title))
    setups = fits.setups_of(fit, names[0])
    setup = st.selectbox(
        "Exercise",
        setups,
        format_func=state.in_words,
        key="client_setup",
        bind="query-params",
    )
    for name in names:
        told = fits.sentences(fit, name, setup)
        doubts = fits.doubts(fit, name, setup)
        figure.bullets(f"{name}: {sentence}" for sentence in [*doubts, *told])
    if len(names) == 1:
        trend, points = one_series(fit, names[0], setup)
        trend = state.named(trend)
        figure.show(partial(strength.over_time, trend, points), trend, name="client")
    else:
        trend = fit.trend[fit.trend["lifter"].isin(names)]
        trend = trend_for(fit, trend[trend["setup"] == setup])
        trend = state.named(trend)
        figure.show(
            partial(strength.compared, trend, by="lifter"),
            trend,
            name="clients_compared",
        )
