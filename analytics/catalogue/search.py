"""Words people look for an exercise by: the trade's, in English, German and French."""

from __future__ import annotations

import tomllib
import unicodedata
from functools import cache
from importlib.resources import files

from analytics.catalogue.load import load_catalogue, normalise_name

WITHIN = 5  # letters from which a word is also found within a longer one


@cache
def _groups() -> tuple[tuple[str, ...], ...]:
    text = (files("analytics.catalogue") / "data" / "search_words.toml").read_text(
        "utf-8"
    )
    return tuple(map(tuple, tomllib.loads(text)["same"]))


_normal = cache(normalise_name)


def _holds(name: str, word: str) -> bool:
    """Whether a normalised name holds a word; a long single one also within another."""
    word = _normal(word)
    within = len(word) >= WITHIN and " " not in word
    return word in name if within else f" {word} " in f" {name} "


@cache
def trade_words(text: str) -> frozenset[str]:
    """Ideas of the trade in a name, each by the word that stands for all its like.

    Parameters
    ----------
    text : str
        Exercise name in any of the languages.

    Returns
    -------
    words : frozenset of str
        First words of the groups that are found.
    """
    name = normalise_name(text)
    return frozenset(
        group[0] for group in _groups() if any(_holds(name, word) for word in group)
    )


@cache
def other_words(text: str) -> frozenset[str]:
    """Words of a name that belong to none of its ideas of the trade.

    Parameters
    ----------
    text : str
        Exercise name in any of the languages.

    Returns
    -------
    words : frozenset of str
        Normalised.
    """
    every = {_normal(word) for group in _groups() for word in group}
    left = f" {normalise_name(text)} "
    for word in sorted(every, key=len, reverse=True):
        within = len(word) >= WITHIN and word in left
        left = left.replace(word if within else f" {word} ", " ")
    return frozenset(part for part in left.split() if len(part) > 1 or part.isdigit())


@cache
def search_words(variant: str) -> tuple[str, ...]:
    """Words a variant is found by, beyond its title.

    Parameters
    ----------
    variant : str
        Identifier in the catalogue; of another, its own words are used.

    Returns
    -------
    words : tuple of str
        All that mean the same as a word of its names, with and without accents.
    """
    catalogue = load_catalogue()
    known = catalogue.variants.get(variant)
    title = known.title if known else variant
    names = [name for name, of in catalogue.exercise_names.items() if of == variant]
    ideas = frozenset().union(*map(trade_words, (title, *names)))
    same = [word for group in _groups() if group[0] in ideas for word in group]
    both = [form for word in same for form in (word, _bare(word))]
    heading = normalise_name(title)
    return tuple(w for w in dict.fromkeys(both) if not _holds(heading, w))


def _bare(word: str) -> str:
    """Return the word as a keyboard without accents has it."""
    parts = unicodedata.normalize("NFKD", word)
    return "".join(letter for letter in parts if not unicodedata.combining(letter))
