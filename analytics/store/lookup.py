"""What people mean by what they type: a lifter's code, a variant by any name."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from rapidfuzz import process

from analytics.catalogue import (
    load_catalogue,
    normalise_name,
    other_words,
    trade_words,
)
from analytics.errors import InputError
from analytics.store.connection import Store
from analytics.store.engine import first_row
from analytics.store.names import catalogue_names, match_names, words_of
from analytics.store.schema import statement

NEAREST = 3
SHOWN = 8  # of those that a few words may mean


def find_lifter(store: Store, text: str) -> str:
    """Return the code of a lifter typed in any case.

    Parameters
    ----------
    store : Store
        The store.
    text : str
        Code as typed.

    Returns
    -------
    lifter : str
        Code as logged.

    Raises
    ------
    InputError
        If nobody has it, with the nearest, or two differ in case alone.
    """
    with store.read() as con:
        known = con.execute(statement("known_lifters")).fetchall()
    return known_code(text, {row[0] for row in known if row[0]})


def known_code(text: str, codes: Iterable[str]) -> str:
    """Return the one of some codes that is meant.

    Parameters
    ----------
    text : str
        Code as typed.
    codes : iterable of str
        Those there are.

    Returns
    -------
    code : str
        As it is written in ``codes``.

    Raises
    ------
    InputError
        As :func:`find_lifter`.
    """
    codes = sorted(codes)
    if text in codes:
        return text
    same = [code for code in codes if code.casefold() == text.casefold()]
    if len(same) == 1:
        return same[0]
    if same:
        raise InputError(f"lifter `{text}` may be {' or '.join(same)}; give its case")
    near = [hit[0] for hit in process.extract(text, codes, limit=NEAREST)]
    raise InputError(
        f"no lifter `{text}`; "
        + (f"nearest are {', '.join(near)}" if near else "the store holds none")
    )


def meant_variant(store: Store, text: str) -> str | None:
    """Return the variant that an identifier, title or exercise name means.

    Parameters
    ----------
    store : Store
        Knows one's own variants, and what people said that names mean.
    text : str
        As typed.

    Returns
    -------
    variant : str or None
        None where a log's name would wait for a person.
    """
    catalogue, key = load_catalogue().variants, normalise_name(text)
    with store.read() as con:
        own = _own(con.execute("SELECT variant FROM own_variant").fetchall())
        said = first_row(
            con,
            "SELECT variant FROM exercise_name WHERE name_key = $key "
            "AND variant IS NOT NULL",
            {"key": key},
        )
    known = {*catalogue, *own.values()}
    if text in known:
        return text
    if said and said[0] in known:
        return str(said[0])
    return own.get(key) or (match_names([key])[key].variant if key else None)


def find_variant(store: Store, text: str) -> str:
    """Return the variant that is meant, as :func:`meant_variant`, or by some words.

    Parameters
    ----------
    store : Store
        The store.
    text : str
        As typed; words of the trade in any language do where all of them are in names
        of one variant only.

    Returns
    -------
    variant : str
        Identifier.

    Raises
    ------
    InputError
        If it means several, with their names, or none, with the nearest.
    """
    variant = meant_variant(store, text)
    if variant is not None:
        return variant
    with store.read() as con:
        own = _own(con.execute("SELECT variant FROM own_variant").fetchall())
    names = catalogue_names() | own
    meant = _named_in_part(text, names)
    if len(meant) == 1:
        return meant[0]
    if meant:
        more = f" or {len(meant) - SHOWN} more" if len(meant) > SHOWN else ""
        raise InputError(
            f"`{text}` may be {', '.join(meant[:SHOWN])}{more}; say which, or add a "
            "word that only one has"
        )
    hits = process.extract(normalise_name(text), list(names), limit=40)
    near = list(dict.fromkeys(names[name] for name, *_ in hits))[:NEAREST]
    raise InputError(
        f"no variant `{text}`; nearest are {', '.join(near)}; `lacertus variants` "
        "lists them, with their titles"
    )


def _named_in_part(text: str, names: Mapping[str, str]) -> list[str]:
    """Variants with a name that has every word of a text, or what means the same."""
    ideas, words = trade_words(text), set(words_of(" ".join(other_words(text))))
    found = (
        variant
        for name, variant in names.items()
        if ideas <= trade_words(name) and words <= {*words_of(name)}
    )
    return list(dict.fromkeys(found)) if ideas or words else []


def _own(rows: Iterable[tuple[str, ...]]) -> dict[str, str]:
    return {normalise_name(variant): variant for (variant,) in rows}
