"""How a file is read: which header means what, its units and its dates."""

import streamlit as st

from app import bringing


def confirm(found: bringing.Suggestion) -> bringing.ColumnMap:
    """Show the suggested mapping for confirmation and return the answer."""
    st.caption(
        "Remembered from a file with the same headers."
        if found.remembered
        else "Suggested from the headers: please check it."
    )
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
        settings = {
            name: st.selectbox(
                words,
                list(options),
                format_func=options.__getitem__,
                key=f"setting_{name}",
                width=200,
            )
            for name, (words, options) in bringing.CHOICES.items()
        }
        lifter = st.text_input(
            "Code of the lifter, if no column says", key="lifter_code", width=280
        )
    return bringing.mapped(found, columns, lifter=lifter or None, **settings)


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
