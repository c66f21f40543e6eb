"""Clients side by side: one row per lifter, one to open, up to four to compare."""

import streamlit as st

from app import decisions, figure, results, state
from app.charts import strength

COLUMNS = {
    "spark": st.column_config.LineChartColumn("trend"),
    "stall_probability": st.column_config.ProgressColumn(
        "P(not gaining)", min_value=0.0, max_value=1.0, format="%.2f"
    ),
    "ratios": None,
}


def page() -> None:
    st.title("Clients side by side")
    choice = state.chosen()
    fit = results.fit(choice)
    if fit is None:
        return figure.nothing_yet("clients", choice)
    rows = state.named(decisions.client_rows(choice, fit))
    st.header(decisions.clients_sentence(rows))
    st.markdown(
        f"{figure.BADGE['estimated']} strength, slope and sides with 90 % intervals; "
        f"{figure.BADGE['measured']} pain, technique and counts. Tick one row to open "
        "it, or up to four to compare."
    )
    picked = st.dataframe(
        rows,
        hide_index=True,
        column_config=COLUMNS,
        on_select="rerun",
        selection_mode="multi-row",
        key="clients",
    ).selection.rows
    figure.take_away(rows.drop(columns=["spark", "ratios"]), name="clients")
    names = list(rows["lifter"].iloc[picked[:4]])
    if names:
        for sentence in rows["sentence"].iloc[picked[:4]]:
            st.markdown(figure.lines(sentence))
        setup = st.selectbox(
            "Compare in", results.setups_of(fit, names[0]), format_func=state.label
        )
        trend = fit.trend[fit.trend["lifter"].isin(names)]
        trend = state.named(trend[trend["setup"] == setup])
        figure.show(strength.compared(trend), trend, name="clients_compared")


page()
