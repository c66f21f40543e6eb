"""Check sets: slips of the pen, pain in notes, corrections one by one or in bulk."""

import streamlit as st

from app import correcting, figure, state
from app.views.check_sets import needs, pain, slips


def page() -> None:
    choice = state.chosen()
    names = needs.exercises(choice)
    if not names:
        return figure.nothing_yet("doubtful sets and pain in notes", choice)
    correcting.told()
    doubtful = needs.doubtful(choice)
    st.header(f"Sets that look like a slip: {len(doubtful)}")
    st.markdown(
        "Far from the sets around them, as a misplaced decimal sign or another unit "
        "makes them. They hardly move an estimate, and stay as logged until you say."
    )
    slips.draw(doubtful)
    which = st.selectbox(
        "Sets",
        [*([needs.DOUBTFUL] if len(doubtful) else []), *names],
        format_func=lambda name: names.get(name, "Those that look like a slip"),
        key="which_sets",
        width=420,
    )
    rows, about = needs.rows(choice, which)
    correcting.editor(rows, key="check", about=about)
    with st.expander("Replace in all of these sets"), st.form("bulk"):
        with st.container(horizontal=True, vertical_alignment="bottom"):
            column = st.selectbox("Field", correcting.COLUMNS, width=180)
            where = st.text_input("where it is (empty: any)", width=220)
            put = st.text_input(
                "put", width=220, help="A load also as x0.1: times what it is."
            )
        if st.form_submit_button("Replace") and put:
            correcting.tell(correcting.replaced(rows, column, where, put))
    pain.draw(choice)


page()
