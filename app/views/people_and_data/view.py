"""People and data: a lifter's own, to withhold or take away; an owner's lists."""

import streamlit as st

from app import figure, state
from app.views.people_and_data import needs


def page() -> None:
    who = state.asking()
    if told := st.session_state.pop("message", None):
        st.success(figure.lines(told))
    if who.own:
        return _own(who.own)
    note = "An owner changes it with `lacertus person`."
    figure.table(needs.people(), name="people", note=note)
    note = "Nobody can change or remove a row of it; restoring a backup brings its own."
    figure.table(needs.record(), name="record", note=note)


def _own(code: str) -> None:
    st.checkbox(
        "Keep my log out of research tables and of what other lifters see",
        needs.is_withheld(),
        on_change=lambda: needs.withhold(st.session_state["withheld"]),
        key="withheld",
    )
    st.caption(
        "Tables, and what other lifters see, are made from now on as if your log were "
        "not there; what was released before stays as it is. Your coach and the owner "
        "still see it."
    )
    st.download_button(
        "Download all my data, ZIP",
        needs.own_data(),
        f"{code}.zip",
        "application/zip",
        on_click="ignore",
    )
    with st.form("forget", border=True):
        st.markdown(
            "Remove everything of mine for good: sets, notes, measurements, traces, "
            "rejected rows. What the record holds stays: that your address did "
            "something, and when."
        )
        typed = st.text_input("My code, to be sure", autocomplete="off")
        if st.form_submit_button("Remove all my data") and typed == code:
            st.session_state["message"] = needs.forget()
            st.rerun()


page()
