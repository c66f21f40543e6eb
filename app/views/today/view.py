"""Today: sets typed by hand, so that nobody needs a file to start."""

from datetime import date

import streamlit as st

from app import figure, state
from app.views.import_logs import meanings
from app.views.today import needs


def page() -> None:
    if told := st.session_state.pop("logged", None):
        st.success("\n".join(f"- {figure.lines(one)}" for one in told))
    if (last := st.session_state.get("typed")) and st.button("Undo"):
        st.session_state["logged"] = [needs.undo(last)]
        del st.session_state["typed"]
        st.rerun()
    st.markdown(
        "Type what was done; it is checked like a file, and is an import of its own "
        "that can be undone under *Import logs*. Stop at pain, and log it."
    )
    labels = meanings.labels()
    with st.form("today"):
        lifter, day, exercise = _who(labels)
        with st.container(horizontal=True, vertical_alignment="bottom"):
            load = st.number_input(f"Load [{state.unit()}]", 0.0, None, None, width=140)
            # Whole numbers would cut what is typed, 8.5 to 8 and 1e9 to 1.
            reps = st.number_input(
                "Repetitions", 0.0, None, None, 1.0, format="%.10g", width=120
            )
            sets = st.number_input("Sets like this", 1, 50, 1, width=120)
            rir = st.text_input("In reserve", placeholder="2, or 1-2", width=120)
            failed = st.checkbox("Failed", width=100)
            angle = st.number_input("Failed at [°]", 0, 180, None, width=120)
            pain = st.number_input("Pain, 0 to 10", 0, 10, None, width=120)
            note = st.text_input("Note", width=240)
        done = st.form_submit_button("Log it", type="primary")
    if done and not (lifter and exercise and reps and load is not None):
        return st.error("Who, exercise, load and repetitions are needed.")
    if done:
        st.session_state["typed"], st.session_state["logged"] = needs.add(
            lifter, day, exercise, sets,
            load=f"{load:.10g} {state.unit()}", reps=f"{reps:.10g}", rir=rir,
            failed=failed or angle is not None or None, failed_at_deg=angle,
            pain=pain, note=note,
        )  # fmt: skip
        st.rerun()
    if lifter and len(rows := needs.of_day(lifter, day)):
        st.subheader(f"{day}, so far")
        figure.plain(rows, alt="Sets of this day")


def _who(labels: dict[str, str]) -> tuple[str | None, date, str | None]:
    with st.container(horizontal=True, vertical_alignment="bottom"):
        codes = needs.codes(state.chosen().lifter)
        lifter = st.selectbox(
            "Who lifted",
            codes,
            index=0 if len(codes) == 1 or state.chosen().lifter else None,
            placeholder="a code, such as R01",
            accept_new_options=True,
            width=160,
        )
        day = st.date_input("Date", "today", format="YYYY-MM-DD", width=160)
        exercise = st.selectbox(
            "Exercise",
            list(labels),
            index=None,
            format_func=lambda name: labels.get(name, name),
            placeholder="search, or type your own",
            accept_new_options=True,
            width=400,
        )
    return lifter, day, exercise


page()
