"""How a file is read: which header means what, its units and its dates."""

import streamlit as st

from app import bringing, figure


def confirm(found: bringing.Suggestion) -> bringing.ColumnMap:
    """Show the suggested mapping for confirmation and return the answer."""
    st.header("How the file is read")
    st.caption(
        "Remembered from a file with the same headers."
        if found.remembered
        else "Suggested from the headers: please check it."
    )
    for question in found.questions:
        st.warning(figure.lines(question))
    st.dataframe(
        bringing.sample_table(found),
        hide_index=True,
        height=180,
        alt="First rows of the file as they are",
    )
    columns = _pick(found, bringing.NEEDED) | _pick(found, bringing.EFFORT)
    with st.expander("More columns"):
        columns |= _pick(found, bringing.MORE)
    with st.container(horizontal=True, vertical_alignment="bottom"):
        unit = st.selectbox(
            "Unit of the loads",
            list(bringing.UNITS),
            format_func=bringing.UNITS.__getitem__,
            key="unit",
            width=200,
        )
        dates = st.selectbox(
            "Order of the dates",
            list(bringing.DATES),
            format_func=bringing.DATES.__getitem__,
            key="date_order",
            width=200,
        )
        lifter = st.text_input(
            "Code of the lifter, if no column says", key="lifter_code", width=280
        )
    return bringing.mapped(
        found, columns, unit=unit, dates=dates, lifter=lifter or None
    )


def _pick(
    found: bringing.Suggestion, fields: dict[str, str]
) -> dict[str, tuple[str, ...]]:
    """Ask for the header of each field; several where each set has its own."""
    picked = {}
    with st.container(horizontal=True, vertical_alignment="bottom"):
        for field, words in fields.items():
            known = found.column_map.columns.get(field, ())
            if len(known) > 1:
                several = st.multiselect(
                    words, found.headers, known, key=f"map_{field}", width=300
                )
                picked[field] = tuple(several)
                continue
            at = found.headers.index(known[0]) if known else None
            one = st.selectbox(
                words,
                found.headers,
                index=at,
                placeholder="not in this file",
                key=f"map_{field}_{hash(found.headers)}",
                width=200,
            )
            picked[field] = (one,) if one else ()
    return picked
