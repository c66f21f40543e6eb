"""Clients: who needs attention first, one row each; a click opens the lifter."""

from functools import partial

import streamlit as st

from app import attention, figure, fits, notes, report, state
from app.glossary import explained
from app.views.clients import needs, opened
from app.views.clients.columns import COLUMNS


def page() -> None:
    choice = state.chosen()
    fit = fits.fit(choice)
    if fit is None:
        return figure.nothing_yet("clients", choice)
    variant = st.selectbox(
        "1RM in",
        needs.exercises(fit),
        format_func=state.in_words,
        key="clients_in",
        help=explained("1RM"),
        bind=state.bind(),
        width=320,
    )
    rows = needs.client_rows(choice, fit, variant)
    attention.headline(rows)
    st.caption(
        "Small pictures: estimated, 90 % interval, "
        "10 % to both sides; a diamond's interval misses the dashed line of no change."
    )
    shown = state.named(needs.client_pictures(rows, fit.trend))
    if noted := notes.everyones():
        shown.insert(3, "note", shown["lifter"].map(noted).fillna(""))
    figure.plain(
        shown,
        row_height=42,
        height=min(40 + 42 * len(shown), 900),
        column_config=COLUMNS,
        on_select=partial(attention.opens, "clients", list(shown["lifter"])),
        selection_mode="single-cell",
        key="clients",
        alt="One row per lifter: reason, strength, change over 4 and 8 weeks, counts",
    )
    figure.take_away(
        rows.drop(columns=["spark", "ratios"]).assign(
            outliers=rows["outliers"].map(" ".join)
        ),
        name="clients",
        note=f"All numbers of {figure.counted(len(rows), 'lifter')}.",
    )
    names = st.multiselect(
        "Compare up to four",
        list(rows["lifter"]),
        max_selections=4,
        key="open",
        bind=state.bind(),
    )
    attention.leave()
    if names:
        opened.draw(fit, names)
    report.draw_all()


page()
