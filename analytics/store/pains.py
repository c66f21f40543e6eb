"""Pain that stands in notes, and pain that is over."""

from __future__ import annotations

import re
import tomllib
from datetime import date, datetime
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING, NamedTuple

from analytics.catalogue import normalise_name
from analytics.errors import InputError
from analytics.store.connection import Store
from analytics.store.lookup import known_code
from analytics.store.people import note
from analytics.store.schema import statement

if TYPE_CHECKING:
    import pandas as pd

_PARTS = re.compile(r"[.,;!?\n()]|\b(?:but|aber|mais|sondern)\b", re.I)
_OF_TEN = re.compile(r"(?<![\d./])(10|[1-9]) ?(?:/ ?10|of 10|von 10|sur 10)(?!\d)")
UNSAID = 4.0  # of 10, where a note says pain and not how much: any stops a load


class Pain(NamedTuple):
    """What a note says of pain.

    Attributes
    ----------
    site : str
        Where, in the words of the word list; empty if the note does not say.
    words : str
        The part of the note that says so.
    size : float
        Of 10, where the note says it as such; else `UNSAID`.
    """

    site: str
    words: str
    size: float


def pain_in_notes(store: Store, *, lifter: str | None = None) -> pd.DataFrame:
    """List sets whose note speaks of pain, and which nobody has judged yet.

    Parameters
    ----------
    store : Store
        The store.
    lifter : str, optional
        Only this one.

    Returns
    -------
    notes : DataFrame
        ``set_id, lifter, performed_on, exercise, site, words, size, note``, newest
        first.
        A set leaves the list by its ``pain``: `edit_set` to a number marks it, to 0
        dismisses it, and both stay in its history; or by `end_pain`.
    """
    with store.read() as con:
        noted = con.execute(statement("noted_sets"), {"lifter": lifter}).df()
    found = {text: said_of_pain(text) for text in noted["note"].unique()}
    noted = noted[noted["note"].map(found).notna()]
    told = [found[text] or Pain("", "", UNSAID) for text in noted["note"]]
    for at, name in enumerate(Pain._fields):
        noted[name] = [pain[at] for pain in told]
    columns = ["set_id", "lifter", "performed_on", "exercise", *Pain._fields, "note"]
    return noted[columns].reset_index(drop=True)


def end_pain(store: Store, lifter: str, until: date | None) -> None:
    """Say that a lifter's pain is over, or that it is not.

    Parameters
    ----------
    store : Store
        The store.
    lifter : str
        Code.
    until : date or None
        Last day of the pain that is over: what was logged up to it no longer stops a
        load, and stays in the log. None takes the word back.

    Raises
    ------
    InputError
        If the store has no sets of this lifter, or the day is to come.
    """
    if until is not None and until > date.today():
        raise InputError(f"{until} is to come; give the last day with pain")
    with store.write() as con:
        codes = con.execute("SELECT DISTINCT lifter FROM logged_set").fetchall()
        known = (row[0] for row in codes if store.asking.may_see(row[0]))
        lifter = known_code(lifter, known)
        con.execute("DELETE FROM pain_over WHERE lifter = ?", [lifter])
        if until is not None:
            con.execute(
                "INSERT INTO pain_over VALUES (?, ?, ?)",
                [lifter, until, datetime.now()],
            )
        note(con, store.asking, "ended a pain" if until else "took back a pain's end")


def ended_pains(store: Store) -> dict[str, date]:
    """Return up to which day whose pain is over, as people said.

    Parameters
    ----------
    store : Store
        The store.

    Returns
    -------
    ended : dict of str to date
        Lifter to last day of the pain that is over.
    """
    with store.read() as con:
        return dict(con.execute("SELECT lifter, until FROM pain_over").fetchall())


def said_of_pain(note: str) -> Pain | None:
    """Find what a note says of pain.

    Parameters
    ----------
    note : str
        In English, German or French.

    Returns
    -------
    pain : Pain or None
        None if it speaks of none, or only of having none.
    """
    for part in _PARTS.split(note):
        text = normalise_name(part)
        if any(not _taken_back(text, word) for word in _words("pain").finditer(text)):
            site = _site(text) or _site(normalise_name(note))
            size = _OF_TEN.search(note)
            return Pain(site, part.strip(), float(size[1]) if size else UNSAID)
    return None


def pain_site(note: str) -> str:
    """Find where it hurt in the note of a set that was logged with pain.

    Parameters
    ----------
    note : str
        In English, German or French.

    Returns
    -------
    site : str
        In the words of the word list; empty if the note does not say.
    """
    said = said_of_pain(note)
    return said.site if said else _site(normalise_name(note))


def _taken_back(text: str, word: re.Match[str]) -> bool:
    """Whether the words around a word of pain say that there is none."""
    before, behind = text[: word.start()].rstrip(), text[word.end() :].lstrip()
    return bool(
        _words("none").fullmatch(word[0])
        or _negation().search(before)
        or _words("behind").match(behind)
    )


def _site(text: str) -> str:
    return next((site for site, form in _sites().items() if form.search(text)), "")


@cache
def _data() -> dict[str, dict[str, list[str]]]:
    text = (files("analytics.store") / "data" / "pain.toml").read_text("utf-8")
    return tomllib.loads(text)


def _either(words: list[str]) -> str:
    forms = "|".join(word.replace("*", r"\w*") for word in words)
    return rf"\b(?:{forms})\b"


@cache
def _words(name: str) -> re.Pattern[str]:
    return re.compile(_either(_data()[name]))  # type: ignore[arg-type]


@cache
def _sites() -> dict[str, re.Pattern[str]]:
    return {site: re.compile(_either(words)) for site, words in _data()["site"].items()}


@cache
def _negation() -> re.Pattern[str]:
    sites = [word for words in _data()["site"].values() for word in words]
    between = _either([*_data()["between"], *sites])
    return re.compile(rf"{_either(_data()['before'])}(?: {between}){{0,4}}$")  # type: ignore[arg-type]
