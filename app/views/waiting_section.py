"""What waits after an intake: unnamed exercises, rows set aside, intakes to undo."""

import streamlit as st

from app import bringing, figure, state


def draw() -> None:
    """Draw what waits, if anything does."""
    names = bringing.unnamed()
    if len(names):
        _name(names)
    rows = bringing.aside()
    if len(rows):
        st.header(f"{len(rows):,} rows set aside")
        figure.table(
            rows,
            name="set_aside",
            note="Mend them in the file and bring the whole file again: only what is "
            "new is added.",
        )
    done = bringing.intakes()
    if len(done):
        st.header("Files taken in")
        figure.table(done, name="intakes", note="Newest first.")
        _undo(done)


def _name(names: bringing.pd.DataFrame) -> None:
    st.header(f"{len(names)} exercise names wait to be named")
    figure.table(
        state.named(names.rename(columns={"nearest": "variant"})),
        name="unnamed",
        note="Their sets are stored, and count as soon as the name has a meaning. "
        "`likeness` says how near the nearest variant's name is.",
    )
    titles = state.variant_titles()
    with st.form("naming", border=True):
        text = st.selectbox("Exercise name", list(names["text"]))
        meaning = st.selectbox(
            "Means",
            list(titles),
            index=None,
            format_func=titles.__getitem__,
            placeholder="choose a variant, or name one of your own below",
        )
        own = st.text_input("Or a variant of my own, such as leg_press")
        movement = st.text_input("of the movement, such as knee_extension")
        if st.form_submit_button("Give it this meaning") and (meaning or own):
            bringing.teach(text, meaning or own, None if meaning else movement)
            st.rerun()


def _undo(done: bringing.pd.DataFrame) -> None:
    with st.expander("Withdraw a file: remove exactly what it added"):
        labels = dict(zip(done["intake_id"], done["file"], strict=True))
        intake_id = st.selectbox(
            "File",
            list(labels),
            format_func=lambda number: f"{number}: {labels[number]}",
            key="withdraw",
        )
        sure = st.checkbox("Yes, remove its sets", key="sure")
        if st.button("Withdraw", disabled=not sure):
            removed = bringing.withdraw(intake_id)
            st.session_state["told"] = f"{removed:,} rows removed."
            st.rerun()
