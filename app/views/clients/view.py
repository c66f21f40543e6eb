"""Clients: one row per lifter, one to open, up to four to compare."""

from functools import partial

import streamlit as st

from app import figure, fits, report, state
from app.views.clients import needs, opened
from app.views.clients.columns import COLUMNS


def page() -> None:
    choice = state.chosen()
    fit = fits.fit(choice)
    if fit is None:
        return figure.nothing_yet("clients", choice)
    rows = needs.client_rows(choice, fit)
    st.header(figure.lines(needs.clients_sentence(rows)))
    st.markdown(figure.lines(needs.client_reason(rows.iloc[0])))
    st.markdown(
        f"{figure.BADGE['estimated']} strength, slope, last 4 and 8 weeks against "
        "before (10 % to both sides), ratios and sides with 90 % intervals; "
        f"{figure.BADGE['assumed']} strengths whose basis says so; "
        f"{figure.BADGE['measured']} pain, technique, counts. A diamond's "
        "interval misses the dashed line (no change, everyone's ratio, equal sides), a "
        "circle's holds it. Click a heading to sort; tick one row to open it, or up to "
        "four to compare. Leaned and cheated: share of the sets watched."
    )
    shown = state.named(needs.client_pictures(choice, fit))
    codes = list(shown["lifter"])
    st.dataframe(
        shown,
        hide_index=True,
        row_height=42,
        height=min(44 + 42 * len(shown), 800),
        column_config=figure.column_settings(shown) | COLUMNS,
        placeholder="–",
        on_select=partial(_tick, codes),
        selection_mode="multi-row",
        key="clients",
        alt="One row per lifter: strength, slope, stall, ratios, sides, flags, counts",
    )
    figure.take_away(
        rows.drop(columns=["spark", "ratios"]).assign(
            outliers=rows["outliers"].map(" ".join)
        ),
        name="clients",
        note=f"All numbers of {figure.counted(len(rows), 'lifter')}.",
    )
    names = st.multiselect(
        "Open one, or compare up to four",
        list(rows["lifter"]),
        max_selections=4,
        key="open",
        bind="query-params",
    )
    if names:
        opened.draw(fit, names)
    report.draw_all()


def _tick(codes: list[str]) -> None:
    ticked = st.session_state["clients"].selection.rows[:4]
    st.session_state["open"] = [codes[row] for row in ticked]


page()
