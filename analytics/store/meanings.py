"""What people say that exercise names mean: taught, changed, taken back, listed."""

from __future__ import annotations

import math
import re
from collections import Counter
from collections.abc import Iterable
from itertools import chain
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from rapidfuzz import fuzz, process

from analytics.catalogue import normalise_name, trade_words
from analytics.errors import InputError
from analytics.store.connection import Store
from analytics.store.engine import first_row
from analytics.store.names import catalogue_names, enter_names, teach, words_of
from analytics.store.people import note
from analytics.store.schema import statement

if TYPE_CHECKING:
    import pandas as pd


class Meaning(NamedTuple):
    """What one exercise name is said to mean.

    Attributes
    ----------
    text : str
        Exercise name as logs write it.
    variant : str
        Variant it means.
    movement : str or None
        Movement of a variant of one's own that does not exist yet.
    title : str or None
        Its title; else the name itself.
    """

    text: str
    variant: str
    movement: str | None = None
    title: str | None = None


def teach_name(
    store: Store, text: str, variant: str, movement: str | None = None
) -> None:
    """Say what an exercise name means; stored sets follow at once.

    Parameters
    ----------
    store : Store
        The store.
    text : str
        Exercise name as logs write it.
    variant : str
        Variant it means.
    movement : str, optional
        Movement of a variant of one's own that does not exist yet.

    Raises
    ------
    InputError
        If the variant does not exist and no movement is given.
    """
    teach_names(store, [Meaning(text, variant, movement)])


def teach_names(store: Store, meanings: Iterable[Meaning]) -> None:
    """Say what several exercise names mean, all of them or none.

    Parameters
    ----------
    store : Store
        The store.
    meanings : iterable of Meaning
        A variant that one of them makes, those after it may name.

    Raises
    ------
    InputError
        If a variant does not exist and no movement is given.
    """
    with store.write() as con:
        for text, variant, movement, title in meanings:
            teach(con, text, variant, movement, title=title)
        note(con, store.asking, "named an exercise")


def meaning_of(
    store: Store,
    text: str,
    *,
    chosen: str | None = None,
    own: str = "",
    movement: str | None = None,
) -> Meaning:
    """Make a meaning of what a form holds; what was typed goes before a choice.

    Parameters
    ----------
    store : Store
        Knows one's own variants.
    text : str
        Exercise name as logs write it.
    chosen : str, optional
        Variant.
    own : str
        Title of an exercise of one's own, or exactly a name known already.
    movement : str, optional
        Movement of a new one; else it is a movement of its own.

    Returns
    -------
    meaning : Meaning
        To be taught.

    Raises
    ------
    InputError
        If neither says anything.
    """
    key = normalise_name(own)
    if not key:
        if own.strip() or chosen is None:
            raise InputError(f"`{own or text}` is no exercise of letters and digits")
        return Meaning(text, chosen)
    with store.read() as con:
        mine = con.execute("SELECT variant, title FROM own_variant").fetchall()
    known = {normalise_name(name): row[0] for row in mine for name in row}
    if variant := (catalogue_names() | known).get(key):
        return Meaning(text, variant)
    plain = " ".join(re.findall(r"\w[\w\-]*", own))
    return Meaning(text, key.replace(" ", "_"), movement or plain, own.strip())


def take_back_name(store: Store, text: str) -> None:
    """Take back what a person said a name means: it means what it did by itself.

    Parameters
    ----------
    store : Store
        The store.
    text : str
        Exercise name as logs write it. A variant of one's own that no name means any
        more goes with it.

    Raises
    ------
    InputError
        If no person said what it means.
    """
    key = {"key": normalise_name(text)}
    with store.write() as con:
        said = first_row(
            con,
            "DELETE FROM exercise_name WHERE name_key = $key AND decided_by = 'person' "
            "RETURNING text",
            key,
        )
        if said is None:
            raise InputError(f"nobody said what `{text}` means; nothing to take back")
        con.execute(
            "DELETE FROM own_variant WHERE variant NOT IN "
            "(SELECT variant FROM exercise_name WHERE variant IS NOT NULL)"
        )
        enter_names(con, [str(said[0])])
        con.execute(statement("drop_unused_names"))
        note(con, store.asking, "took back a name")


def names(store: Store) -> pd.DataFrame:
    """Exercise names as logged and what each is taken to mean.

    Parameters
    ----------
    store : Store
        The store.

    Returns
    -------
    names : DataFrame
        Columns ``text, variant, likeness, decided_by, sets, lifters``.
    """
    with store.read() as con:
        return con.execute(statement("names")).df()


def unnamed(store: Store) -> pd.DataFrame:
    """Exercise names that wait for a decision, with the nearest variant.

    Parameters
    ----------
    store : Store
        The store.

    Returns
    -------
    unnamed : DataFrame
        Columns ``text, sets, lifters, nearest, likeness``; near is what has similar
        letters, and words of the trade in common in any language.
    """
    frame = names(store)
    frame = frame[frame.variant.isna()].reset_index(drop=True)
    nearest, likeness = _nearest([normalise_name(text) for text in frame.text])
    frame = frame.assign(likeness=likeness)
    frame.insert(3, "nearest", np.array(nearest, dtype="str"))
    return frame[["text", "sets", "lifters", "nearest", "likeness"]]


def _nearest(keys: list[str]) -> tuple[list[str], list[float]]:
    known = catalogue_names()
    ideas = [trade_words(name) for name in known]
    often = Counter(chain.from_iterable(ideas))

    def rarity(idea: str) -> float:  # a rare idea says more than a common one
        return math.log(len(known) / max(often[idea], 1))

    letters = process.cdist(
        [" ".join(words_of(key)) for key in keys],
        [" ".join(words_of(name)) for name in known],
        scorer=fuzz.token_sort_ratio,
    )
    variants, found, likeness = list(known.values()), [], []
    for key, row in zip(keys, letters, strict=True):
        mine = trade_words(key)
        shared = [
            sum(map(rarity, mine & other)) / (sum(map(rarity, mine | other)) or 1)
            for other in ideas
        ]
        score = (row / 100 + np.array(shared)) / 2 if mine else row / 100
        best = int(score.argmax())
        found.append(variants[best])
        likeness.append(float(score[best]))
    return found, likeness
