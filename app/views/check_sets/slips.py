"""Sets that look like a slip, one click each: mended, or right as they are."""

import pandas as pd
import streamlit as st

from analytics.shown_loads import text_in
from app import correcting, figure, state
from app.views.check_sets import needs

HIGH = 320  # rows that do not fit scroll [px]
SHOWN = 4


def draw(doubtful: pd.DataFrame) -> None:
    """Offer of each set the likely load, and to leave it as it is."""
    height = HIGH if len(doubtful) > SHOWN else "content"
    with st.container(height=height, border=False):
        for row in doubtful.itertuples():
            _slip(row)


def _slip(row) -> None:
    with st.container(horizontal=True, vertical_alignment="center"):
        st.markdown(
            figure.lines(
                f"{row.lifter}, {row.performed_on:%Y-%m-%d}, {row.exercise}, "
                f"{row.load_kg:.4g} kg × {row.reps:g}: {row.doubt}"
            )
        )
        if pd.notna(row.likely_kg):
            words = text_in(f"Make it {row.likely_kg:.4g} kg", state.unit())
            if st.button(words, key=f"slip_{row.set_id}", width=180):
                correcting.tell(needs.mend(row.set_id, row.likely_kg))
        if st.button("It is right", key=f"right_{row.set_id}", width=110):
            correcting.tell(needs.right(row.set_id, row.doubt))
