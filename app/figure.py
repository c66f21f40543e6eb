"""How a figure, a table and the source of a number are put on a page."""

import hashlib
import pickle
import re
from collections.abc import Callable, Iterable
from functools import partial
from importlib.resources import files
from typing import Any

import pandas as pd
import streamlit as st
import vl_convert
from altair.utils import schemapi

from analytics.charts import theme
from analytics.labels import PER_CENT, typeset
from analytics.outgoing import frame_csv
from analytics.shown_loads import SENTENCES, loads_in, taken_away, text_in
from analytics.units import SUFFIX_UNIT
from app import state
from app.glossary import explained
from app.state import Choice

# Checking a chart against the schema takes longer than making it: tests do that.
schemapi.disable_debug_mode()

BADGE = {
    "measured": ":gray-badge[measured]",
    "estimated": ":blue-badge[estimated]",
    "modelled": ":orange-badge[modelled]",
    "assumed": ":violet-badge[assumed]",
}


def mode() -> str:
    """Return ``"dark"`` or ``"light"``, as the visitor's screen is set."""
    return "dark" if st.context.theme.type == "dark" else "light"


def counted(number: float, word: str) -> str:
    """Return a number of things in words, one without a plural."""
    return f"{number:,.0f} {word}{'' if number == 1 else 's'}"


_JOINER = "\N{WORD JOINER}"  # parts what a browser would turn into more than text
_LETTERS = (
    (r"^\s+|[\r\n\t\v\f\u2028\u2029]+", " "),
    ("`", '"'),
    (r"([\\\[\]$*_<>~|&])", r"\\\1"),
    (
        r"^(\s*)([-+=#]+(?=\s|$)|\d+(?=[.)]\s))",
        r"\1\2" + _JOINER,
    ),  # a list or a heading
    (r"(?i)\b(https?:|ftp:|mailto:|xmpp:|www(?=\.))", r"\1" + _JOINER),
    (r"(?<=\S)@(?=\S)", "@" + _JOINER),
    (r":(?=[A-Za-z+_-][\w+/-]*:)", ":" + _JOINER),  # a picture by its name
)


def lines(text: str | list[str]) -> str:
    """Return text with names and notes of people in it as Markdown that is but text.

    The one way such text comes on a page: no picture, link, formula or mark in it.
    """
    joined = text if isinstance(text, str) else " ".join(text)
    return typed(typeset(text_in(joined, state.unit())))


def typed(text: str) -> str:
    """Return what a person typed as Markdown that is but text, its loads as written."""
    for found, put in _LETTERS:
        text = re.sub(found, put, text)
    return text


def show(draw: partial[Any], table: pd.DataFrame, *, name: str) -> None:
    """Draw one figure under its finding, with its picture and table to download.

    Parameters
    ----------
    draw : partial
        A function of `charts` and all it takes, so that equal figures are made once.
    table : DataFrame
        The numbers behind it.
    name : str
        Stem of the files people download, unique on the page.
    """
    finding, detail, spec = _drawn(draw, mode(), state.unit())
    said = lines(finding).removesuffix(".")
    st.markdown(f"### {said}", help=explained(said))
    # A chart with a width of its own is drawn to scale, the others fill the column.
    first = spec.get("vconcat", [spec])[0]
    width = "content" if "width" in first else "stretch"
    st.vega_lite_chart(spec, theme=None, width=width, key=f"figure_{name}")
    with st.container(horizontal=True, vertical_alignment="center", gap="small"):
        st.caption(lines(detail), width=_NOTE_PX)
        with st.popover("Download", key=f"take_{name}", width="content"):
            _downloads(draw, table, name)


def _drawn(draw: partial[Any], mode: str, unit: str) -> tuple[Any, Any, dict[str, Any]]:
    """Return title and subtitle of a figure, and what Vega-Lite draws."""

    def make() -> tuple[Any, Any, dict[str, Any]]:
        chart = draw()
        return (
            chart.title.text,
            chart.title.subtitle,
            theme.on_screen(chart, mode, unit),
        )

    key = hashlib.sha256(pickle.dumps(draw)).hexdigest()
    return state.cached("figure", (key, mode, unit), make)


def _downloads(draw: partial[Any], table: pd.DataFrame, name: str) -> None:
    unit = state.unit()
    for label, kind, mime, make in (
        ("Picture, SVG", "svg", "image/svg+xml", partial(picture_svg, draw, unit)),
        ("Picture, PNG", "png", "image/png", partial(picture_png, draw, unit)),
        ("Table, CSV", "csv", "text/csv", partial(table_csv, table, unit)),
    ):
        st.download_button(
            label,
            make,
            f"{name}.{kind}",
            mime,
            key=f"{kind}_{name}",
            on_click="ignore",
            width="stretch",
        )


def picture_svg(draw: partial[Any], unit: str = "kg") -> bytes:
    """Return the figure as it is printed: light, with its title."""
    return vl_convert.vegalite_to_svg(theme.printed(draw(), unit)).encode()


def picture_png(draw: partial[Any], unit: str = "kg") -> bytes:
    """Return the figure as a picture of twice the screen's resolution."""
    return vl_convert.vegalite_to_png(theme.printed(draw(), unit), scale=2)


def table_csv(table: pd.DataFrame, unit: str = "kg") -> bytes:
    """Return the table as CSV whose text no spreadsheet runs as a formula."""
    return frame_csv(taken_away(table, unit)).encode("utf-8-sig")


def tabs(key: str, **draws: Callable[[], Any]) -> None:
    """Draw the open one of several tabs, which the address bar keeps.

    Parameters
    ----------
    key : str
        Of the choice, unique on the page.
    **draws
        What draws each tab, by its title with underscores for spaces.
    """
    titles = [name.replace("_", " ") for name in draws]
    for tab, draw in zip(
        st.tabs(titles, key=key, bind="query-params"), draws.values(), strict=True
    ):
        if tab.open:
            with tab:
                draw()


def bullets(sentences: Iterable[str]) -> None:
    """Write sentences of the library as a list, variants by their titles."""
    texts = [f"- {lines(state.in_words(sentence))}" for sentence in sentences]
    st.markdown("\n".join(texts), help=explained(" ".join(texts)))


def words(name: str) -> str:
    """Return one text of ``words/``, which is Markdown with formulas."""
    return (files("app") / "words" / f"{name}.md").read_text(encoding="utf-8")


_WORDS = {  # of columns, where their names are not what a person would say
    "basis": "rests on",
    "between_sd": "spread between lifters",
    "evenness_high": "to",
    "evenness_low": "90 % from",
    "high": "to",
    "intake_id": "import",
    "low": "90 % from",
    "measured_on": "date",
    "naive_error": "error of the usual rule",
    "own_high": "to",
    "own_low": "90 % from",
    "performed_on": "date",
    "plateau": "width",
    "predicted": "model",
    "predicted_high": "to",
    "predicted_low": "model from",
    "range_from": "range from",
    "range_to": "range to",
    "reps": "repetitions",
    "rir": "in reserve",
    "sd_ratio": "spread ÷ prior",
    "setup": "exercise",
    "sets_added": "sets imported",
    "strength": "1RM",
    "taken_at": "imported at",
    "variant": "exercise",
    "z": "off by, in spreads",
}
_NOTE_PX = 720  # of a note, so that what is beside it stays there on a wide screen
_ROWS = 20  # of a table that shows them all
_DIGITS = {"kg": "%.1f", "deg": "%.0f", "N m": "%.1f", "m": "%.3f", "1": PER_CENT}


def column_settings(rows: pd.DataFrame, mass_unit: str = "kg") -> dict[str, Any]:
    """Return words, unit and digits for each column of a table."""
    settings: dict[str, Any] = {}
    for name, kind in rows.dtypes.items():
        unit = next((u for end, u in SUFFIX_UNIT.items() if name.endswith(end)), "")
        end = next((end for end in SUFFIX_UNIT if name.endswith(end)), "")
        words = name.removesuffix(end)
        words = _WORDS.get(words, words.replace("_", " "))
        sign = "%" if unit == "1" else unit.replace("deg", "°").replace("N m", "N·m")
        sign = mass_unit if unit == "kg" else sign
        label = f"{words} [{sign}]" if unit else words
        told = explained(label)
        if pd.api.types.is_datetime64_any_dtype(kind):
            settings[name] = st.column_config.DateColumn(
                label, format="YYYY-MM-DD", help=told
            )
        elif pd.api.types.is_float_dtype(kind):
            whole = not unit and (rows[name].dropna() % 1 == 0).all()
            digits = "localized" if whole else _DIGITS.get(unit, "%.3f")
            if unit == "deg" and rows[name].abs().max() < 10:  # a lean of 0.3° is none
                digits = "%.1f"
            settings[name] = st.column_config.NumberColumn(
                label, format=digits, help=told
            )
        else:
            settings[name] = st.column_config.Column(label, help=told)
    return settings


def table(rows: pd.DataFrame, *, name: str, note: str) -> None:
    """Draw a table with its CSV to download.

    Parameters
    ----------
    rows : DataFrame
        What is shown and downloaded.
    name : str
        Stem of the file people download, unique on the page.
    note : str
        Where the numbers come from.
    """
    plain(rows, alt=note)
    take_away(rows, name=name, note=note)


def plain(rows: pd.DataFrame, *, alt: str, **settings: Any) -> Any:
    """Draw a table, its loads in the unit that is chosen, and give what is selected.

    Its shares, in columns that end in `_frac`, are shown as per cent.
    """
    unit = state.unit()
    columns = column_settings(rows, unit) | settings.pop("column_config", {})
    shown = loads_in(rows.replace([float("inf"), float("-inf")], float("nan")), unit)
    said = {
        name: shown[name].map(
            lambda x: typeset(text_in(x, unit)) if isinstance(x, str) else x
        )
        for name in shown
        if name in SENTENCES
    }
    shares = {name: 100 * shown[name] for name in shown if name.endswith("_frac")}
    if len(rows) <= _ROWS:
        settings = {"height": "content"} | settings
    return st.dataframe(
        shown.assign(**said, **shares),
        hide_index=True,
        column_config=columns,
        placeholder="–",
        alt=alt,
        **settings,
    )


def take_away(rows: pd.DataFrame, *, name: str, note: str) -> None:
    """Offer a table as CSV, beside a word on where its numbers come from."""
    with st.container(horizontal=True, vertical_alignment="center", gap="small"):
        st.caption(typeset(note), width=_NOTE_PX)
        st.download_button(
            "Download, CSV",
            partial(table_csv, rows, state.unit()),
            f"{name}.csv",
            "text/csv",
            key=f"csv_{name}",
            on_click="ignore",
        )


def nothing_yet(wanted: str, choice: Choice) -> None:
    """Say what an empty page would show and what to do next."""
    when = "in these dates" if choice.since else "in the store"
    movement = lines(state.movement_titles()[choice.movement].lower())
    whose = f" by {lines(choice.lifter)}" if choice.lifter else ""
    of = "" if state.lifters().empty else f" of {movement}{whose}"
    st.info(f"No sets{of} {when} yet, so there is nothing to say about {wanted}.")
    st.page_link(
        "views/import_logs/view.py",
        label="Import a log",
        icon=":material/arrow_forward:",
    )
    st.page_link(
        "views/today/view.py",
        label="Log today's sets by hand",
        icon=":material/arrow_forward:",
    )
