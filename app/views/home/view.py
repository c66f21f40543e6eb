"""Home: one lifter at a glance, or who of everyone needs attention first."""

from functools import partial

import streamlit as st

from analytics.charts import strength
from analytics.errors import InputError
from app import attention, figure, fits, loads, notes, state
from app.views.home import needs

SEEN = ["setup", "strength_kg", "low_kg", "high_kg", "trend", "course", "last_on"]
ATTENTION = ["lifter", "flags", "variant", "strength_kg", "change_4w", "change_8w"]
CHANGES = ["change_4w", "change_8w"]
COLUMNS = {
    "lifter": st.column_config.Column("lifter", pinned=True),
    "flags": st.column_config.TextColumn("needs attention", width="large"),
    "change_4w": st.column_config.NumberColumn("4 weeks", format="%+.1f %%"),
    "change_8w": st.column_config.NumberColumn("8 weeks", format="%+.1f %%"),
    "course": st.column_config.ImageColumn("so far", width=116),
}


def page() -> None:
    choice = state.chosen()
    found = fits.every(choice)
    if not found:
        return figure.nothing_yet("strength, trends and next loads", choice)
    if choice.lifter is None:
        return _everyone(choice)
    lifts = needs.lifts(choice, found)
    if lifts.empty:
        return figure.nothing_yet("strength, trends and next loads", choice)
    session = needs.last_session(choice, found)
    st.header(figure.lines(needs.lifts_sentence(choice.lifter, lifts)))
    st.markdown(figure.lines(needs.session_sentence(session)))
    if alerts := needs.alerts(choice, found):
        st.warning(figure.lines("Look at: " + "; ".join(alerts)))
        st.page_link("views/check_sets/view.py", label="Check sets")
    notes.draw(choice.lifter)
    trend, points = needs.main_series(choice, found, lifts)
    trend = state.named(trend)
    figure.show(partial(strength.over_time, trend, points), trend, name="main_lift")
    st.subheader("Next loads")
    try:
        loads.draw(needs.next_loads(choice, found, session))
    except InputError as error:
        st.error(figure.lines(str(error)))
    st.page_link("views/next_session/view.py", label="Change exercises, steps and reps")
    st.subheader("Lifts")
    figure.plain(
        state.named(lifts)[SEEN],
        alt="Every lift with its 1RM, 90 % interval and trend",
        column_config={"course": COLUMNS["course"]},
    )
    st.subheader("Last session")
    figure.plain(
        state.named(session).rename(columns={"load_kg": "best_set_kg"}),
        alt="The heaviest set of each exercise of the last session",
    )


def _everyone(choice: state.Choice) -> None:
    table = needs.attention(choice)
    attention.headline(table)
    figure.plain(
        state.named(table)[ATTENTION].assign(**(100 * table[CHANGES] + 0.0)),
        alt="Lifters, who needs attention first, with the reason",
        column_config=COLUMNS,
        height=min(37 + 35 * len(table), 800),
        on_select=partial(attention.clicked, "attention", list(table["lifter"])),
        selection_mode="single-cell",
        key="attention",
    )


page()
