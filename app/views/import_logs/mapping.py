"""How a file is read: which header means what, its units and its dates."""

from collections.abc import Mapping

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
    st.caption("Only where the file does not say; nothing chosen is as the file shows.")
    with st.container(horizontal=True, vertical_alignment="bottom"):
        settings = {
            name: st.segmented_control(
                words,
                list(options),
                format_func=options.__getitem__,
                key=f"setting_{name}_{hash(found.headers)}",
            )
            for name, (words, options) in needs.CHOICES.items()
        }
        lifter = st.text_input(
            "Code of the lifter, if no column says",
            key=f"lifter_{hash(found.headers)}",
            width=280,
        )
    return needs.mapped(
        found, columns, answered(found), lifter=lifter or None, **settings
    )


def with_lifter(column_map: needs.ColumnMap, file: str) -> needs.ColumnMap:
    """Ask who lifted what one of several files holds."""
    code = st.text_input(f"Code of the lifter in {file}", key=f"lifter_{file}")
    return column_map.with_settings(lifter=code or None)


def answered(found: needs.Suggestion) -> dict[str, str | float]:
    """Return what the person said that unknown effort words of a layout mean."""
    start = _words_of(found)
    said = {
        str(key).removeprefix(start): value
        for key, value in st.session_state.items()
        if str(key).startswith(start)
    }
    return {word: value for word, value in said.items() if value is not None}


def _words_of(found: needs.Suggestion) -> str:
    return f"effort_word_{hash(found.headers)}_"


def ask_effort(words: Mapping[str, int], found: needs.Suggestion) -> None:
    """Ask once what each effort word of a layout means; the sets count either way."""
    words = {**dict.fromkeys(answered(found), 0), **words}
    if not words:
        return
    st.markdown("Effort that could not be read. The sets count without it:")
    for word, sets in words.items():
        st.segmented_control(
            f"{word} ({sets} sets)" if sets else word,
            list(needs.EFFORTS),
            format_func=needs.EFFORTS.__getitem__,
            key=_words_of(found) + word,
        )


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
                    words,
                    found.headers,
                    known,
                    key=f"several_{field}_{hash(found.headers)}",
                    width=300,
                )
                picked[field] = tuple(several)
                continue
            one = st.selectbox(
                words,
                (needs.NOT_HERE, *found.headers),
                index=found.headers.index(known[0]) + 1 if known else 0,
                key=f"map_{field}_{hash(found.headers)}",
                width=200,
            )
            picked[field] = () if one == needs.NOT_HERE else (one,)
    return picked
