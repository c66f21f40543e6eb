"""Exercise names that wait: what each means, or a variant of one's own."""

import pandas as pd
import streamlit as st

from app import figure, state
from app.views.import_logs import needs


def draw(names: pd.DataFrame) -> None:
    """Show the names and take one meaning at a time."""
    st.header(f"{figure.counted(len(names), 'exercise name')} to be named")
    figure.table(
        state.named(names.rename(columns={"nearest": "variant"})).rename(
            columns={"text": "name in the log", "variant": "nearest, not taken"}
        ),
        name="unnamed",
        note="Their sets are stored, and count as soon as the name has a meaning. "
        "*Likeness* says how near the nearest variant's name is.",
    )
    titles = state.variant_titles()
    with st.form("naming", border=True):
        text = st.selectbox("Exercise name", list(names["text"]))
        meaning = st.selectbox(
            "Means",
            list(titles),
            index=None,
            format_func=titles.__getitem__,
            placeholder="a variant, or your own below",
        )
        own = st.text_input("Or a variant of my own, such as leg_press")
        movement = st.text_input("of the movement, such as knee_extension")
        if st.form_submit_button("Give it this meaning") and (meaning or own):
            needs.teach(text, meaning or own, None if meaning else movement)
            st.rerun()
