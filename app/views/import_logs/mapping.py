"""How a file is read: which header means what, its units and its dates."""

import streamlit as st

from app.views.import_logs import needs


def confirm(found: needs.Suggestion) -> needs.ColumnMap:
    """Show the suggested mapping for confirmation and return the answer."""
    st.caption(
        "Remembered from a file with the same headers."
        if found.remembered
        else "Suggested from the headers: please check it."
    )
    st.dataframe(
        needs.sample_table(found),
        hide_index=True,
        height=180,
        alt="First rows of the file as they are",
    )
    columns = _pick(found, needs.NEEDED) | _pick(found, needs.EFFORT)
    with st.expander("More columns"):
        columns |= _pick(found, needs.MORE)
    with st.container(horizontal=True, vertical_alignment="bottom"):
        settings = {
            name: st.selectbox(
                words,
                list(options),
                format_func=options.__getitem__,
                key=f"setting_{name}",
                width=200,
            )
            for name, (words, options) in needs.CHOICES.items()
        }
        lifter = st.text_input(
            "Code of the lifter, if no column says", key="lifter_code", width=280
        )
    return needs.mapped(found, columns, lifter=lifter or None, **settings)


def _pick(
    found: needs.Suggestion, fields: dict[str, str]
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
