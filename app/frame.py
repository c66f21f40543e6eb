"""What every page carries: the choices, and the line from log to verdict."""

from html import escape

import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from analytics.charts import theme
from analytics.errors import AnalyticsError
from analytics.units import DISPLAY_UNITS
from app import figure, sign_in, state

STAGES = ("Log", "Strength", "Ratios", "Model", "Verdict")
_STYLE = """<style>
ol.line {{display:flex; flex-wrap:wrap; gap:.35rem 1.6rem; list-style:none; margin:0;
  padding:.1rem 0 .5rem; font-size:.86rem; line-height:1.3;
  border-bottom:1px solid {grid}}}
ol.line li {{position:relative; color:{quiet}; margin:0}}
ol.line li:not(:last-child)::after {{content:"→"; position:absolute; right:-1.2rem}}
ol.line b {{color:{ink}; font-weight:600}}
ol.line li[aria-current] b {{border-bottom:3px solid {mark}}}
[data-testid=stCaptionContainer], [data-testid=stCaptionContainer] * {{
  opacity:1; color:{quiet}}}
h2, h3 {{text-wrap:balance}}
/* writes formulas as they are; our own download beside the table does not */
[data-testid=stElementToolbar] [aria-label^="Download as CSV"] {{display:none}}
[data-testid=stBaseButton-primary] *, [data-tag] * {{color:{on_mark}}}
</style>"""


def ask_to_sign_in(error: AnalyticsError | None) -> None:
    """Show why somebody sees no page, and the way to sign in or out."""
    st.title("Lacertus")
    st.markdown(figure.lines(str(error) if error else sign_in.refusal()))
    if st.user.is_logged_in:
        st.button("Sign out", on_click=st.logout)
    elif sign_in.shared():
        st.button("Sign in", type="primary", on_click=st.login)


def offer_sign_out() -> None:
    """Show who has signed in, and the way out."""
    with st.sidebar:
        st.caption(figure.lines(str(sign_in.address())))
        st.button("Sign out", on_click=st.logout)


def say_behind() -> None:
    """Say that the page shows estimates of the log before its newest sets."""
    st.caption(
        "The newest sets are not in the estimates of this page yet; they are being "
        "worked in. Open the page again in a moment."
    )


def choose() -> state.Choice:
    """Ask who, which movement and which dates; the address bar keeps the answer."""
    who, lifters = state.asking(), list(state.lifters()["lifter"])
    # Who is alone in the store is chosen without being asked for.
    alone = [who.own] if who.own else lifters if len(lifters) == 1 else None
    offered = alone or [None, *lifters]
    movements = state.movement_titles()
    with st.container(horizontal=True, key="choices", vertical_alignment="bottom"):
        lifter = st.selectbox(
            "Who",
            offered,
            format_func=lambda code: code or "everyone",
            key="who",
            bind=state.bind(),
            width=140,
        )
        movement = st.selectbox(
            "Movement",
            list(movements),
            format_func=movements.__getitem__,
            key="movement",
            bind=state.bind(),
            width=200,
        )
        dates = st.date_input(
            "Dates (empty: all)",
            value=(),
            key="dates",
            format="YYYY-MM-DD",
            help="Only sets from these days count, on every page.",
            bind=state.bind(),
            width=260,
        )
        st.selectbox(
            "Unit",
            DISPLAY_UNITS,
            key="unit",
            bind=state.bind(),
            width=80,
            help="Of every load shown or downloaded; the data package holds kilograms.",
        )
    since, until = dates if len(dates) == 2 else (None, None)
    return state.Choice(who.own or lifter, movement, since, until)


def draw_line(place: DeltaGenerator, facts: dict[str, str], *, here: str) -> None:
    """Draw the line from log to verdict with what is known and where we are.

    Parameters
    ----------
    place : DeltaGenerator
        Where it is drawn, again when more is known.
    facts : dict
        Words per stage; a stage without words is still to come.
    here : str
        The stage of the page that is open, or an empty string.
    """
    items = "".join(
        f"<li{' aria-current=step' if stage == here else ''}><b>{stage}</b> "
        f"{escape(facts.get(stage, '…'))}</li>"
        for stage in STAGES
    )
    line = f'<ol class="line" aria-label="From log to verdict">{items}</ol>'
    place.html(style() + line)


def style() -> str:
    """Return what every page needs beside the theme, for good contrast too."""
    mode = figure.mode()
    return _STYLE.format(
        ink=theme.INK[mode],
        quiet=theme.QUIET[mode],
        grid=theme.GRID[mode],
        mark=theme.MODELLED,
        on_mark=theme.ON_PRIMARY[mode],
    )
