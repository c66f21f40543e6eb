"""What an exercise name means: catalogue synonyms, word order, typos, or a person.

A name is decided once and stored; sets follow by a join. What is not decided by
the catalogue, by the same words in another order, or by a small typo with only one
possible meaning, waits for a person and counts nowhere.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache

import duckdb
from rapidfuzz import fuzz, process
from rapidfuzz.distance import OSA

from analytics.catalogue import load_catalogue, normalise_name, trade_words
from analytics.errors import InputError

# Short forms of the trade, English and German; common practice, no source.
_SHORT = {
    "bb": "barbell", "db": "dumbbell", "lh": "langhantel", "kh": "kurzhantel",
    "sz": "ez", "alt": "alternating", "inc": "incline", "sa": "one arm",
    "single": "one", "1": "one", "bicep": "biceps", "bizeps": "biceps",
    "dumbell": "dumbbell", "barbel": "barbell",
}  # fmt: skip
_FILLER = {"the", "a", "with", "on", "of", "and", "mit", "am", "an", "auf", "der",
           "die", "das", "deg", "degree", "degrees", "grad"}  # fmt: skip


@dataclass(frozen=True, slots=True)
class NameMatch:
    """What a name is taken to mean.

    Attributes
    ----------
    variant : str or None
        None if a person has to say.
    likeness : float
        From 0 to 1, of this variant or else of the nearest. [1]
    decided_by : str
        ``catalogue``, ``words``, ``typo`` or ``nobody``.
    nearest : str
        Variant with the most similar name.
    """

    variant: str | None
    likeness: float
    decided_by: str
    nearest: str


def words_of(name_key: str) -> tuple[str, ...]:
    """Words of a normalised name in canonical form and alphabetical order."""
    expanded = " ".join(_SHORT.get(word, word) for word in name_key.split()).split()
    singular = (
        word[:-1] if len(word) > 4 and word.endswith("s") and word[-2] != "s" else word
        for word in expanded
    )
    return tuple(sorted(word for word in singular if word not in _FILLER))


@cache
def catalogue_names() -> dict[str, str]:
    """Every name in the catalogue: identifiers, titles and exercise names.

    Returns
    -------
    names : dict of str to str
        Normalised name to variant.
    """
    catalogue = load_catalogue()
    ids = {normalise_name(v): v for v in catalogue.variants}
    titles = {normalise_name(v.title): v.variant for v in catalogue.variants.values()}
    return {**titles, **ids, **catalogue.exercise_names}


@cache
def _catalogue_words() -> dict[tuple[str, ...], frozenset[str]]:
    known: dict[tuple[str, ...], set[str]] = {}
    for name, variant in catalogue_names().items():
        known.setdefault(words_of(name), set()).add(variant)
    return {words: frozenset(variants) for words, variants in known.items()}


def _few_slips(words: tuple[str, ...], other: tuple[str, ...]) -> int | None:
    """Letters to change so that the words agree, or None if that is no typo."""
    if len(words) != len(other):
        return None
    left, slips = list(other), 0
    for word in words:
        allowed = 0 if not word.isalpha() or len(word) < 4 else 1 + (len(word) > 7)
        near = min(left, key=lambda candidate: OSA.distance(word, candidate))
        distance = OSA.distance(word, near)
        if distance > allowed or (distance and not near.isalpha()):
            return None
        left.remove(near)
        slips += distance
    return slips if slips <= 2 else None


def match_names(name_keys: Iterable[str]) -> dict[str, NameMatch]:
    """Compare normalised names with every name in the catalogue.

    Parameters
    ----------
    name_keys : iterable of str
        From `normalise_name`.

    Returns
    -------
    matches : dict of str to NameMatch
        One for each name.
    """
    keys = list(dict.fromkeys(name_keys))
    names = catalogue_names()
    matches = {key: NameMatch(names[key], 1.0, "catalogue", names[key])
               for key in keys if key in names}  # fmt: skip
    others = [key for key in keys if key not in names]
    if others:
        spoken = list(names)
        scores = process.cdist(
            [" ".join(words_of(key)) for key in others],
            [" ".join(words_of(name)) for name in spoken],
            scorer=fuzz.token_sort_ratio,
        )
        for key, best, score in zip(
            others, scores.argmax(axis=1), scores.max(axis=1), strict=True
        ):
            matches[key] = _match(key, names[spoken[best]], float(score) / 100)
    return matches


def _match(key: str, nearest: str, likeness: float) -> NameMatch:
    words = words_of(key)
    known = _catalogue_words()
    same = known.get(words, frozenset())
    if not same:
        joined = "".join(key.split())
        same = frozenset(v for name, v in catalogue_names().items()
                         if name.replace(" ", "") == joined)  # fmt: skip
    if len(same) == 1:
        (variant,) = same
        return NameMatch(variant, 0.98, "words", variant)
    if same or not words:
        return NameMatch(None, likeness, "nobody", nearest)
    slips = {other: _few_slips(words, other) for other in known}
    ideas = trade_words(" ".join(words))  # no slip makes one muscle of another
    near = {
        other: count
        for other, count in slips.items()
        if count is not None and ideas <= trade_words(" ".join(other))
    }
    if near:
        least = min(near.values())
        meant = frozenset().union(*(known[o] for o, n in near.items() if n == least))
        if len(meant) == 1:
            (variant,) = meant
            return NameMatch(variant, min(likeness, 0.97), "typo", variant)
    return NameMatch(None, likeness, "nobody", nearest)


def enter_names(con: duckdb.DuckDBPyConnection, texts: Iterable[str]) -> None:
    """Store the meaning of names not met before; decided ones stay as they are.

    Parameters
    ----------
    con : DuckDBPyConnection
        Write connection to the store.
    texts : iterable of str
        Exercise names as written.
    """
    by_key = {normalise_name(text): text for text in texts}
    waiting = "SELECT name_key FROM exercise_name WHERE decided_by <> 'nobody'"
    decided = {row[0] for row in con.execute(waiting).fetchall()}
    fresh = [key for key in by_key if key not in decided]
    if not fresh:
        return
    own = {normalise_name(row[0]): row[0] for row in con.execute(
        "SELECT variant FROM own_variant").fetchall()}  # fmt: skip
    rows = []
    for key, match in match_names(fresh).items():
        if key in own:
            match = NameMatch(own[key], 1.0, "person", own[key])
        rows.append({
            "name_key": key, "text": by_key[key], "variant": match.variant,
            "likeness": match.likeness, "decided_by": match.decided_by,
        })  # fmt: skip
    # One statement for all, since each costs milliseconds.
    con.execute(
        "INSERT INTO exercise_name BY NAME SELECT unnest($rows, recursive := true) "
        "ON CONFLICT (name_key) DO UPDATE SET variant = excluded.variant, "
        "likeness = excluded.likeness, decided_by = excluded.decided_by",
        {"rows": rows},
    )


def makes_variant(
    con: duckdb.DuckDBPyConnection,
    text: str,
    variant: str,
    movement: str | None = None,
    *,
    made: Mapping[str, str] | None = None,
) -> bool:
    """Check what a name is to mean, and tell whether that variant is new.

    Parameters
    ----------
    con : DuckDBPyConnection
        Connection to the store.
    text : str
        Exercise name as logs write it.
    variant : str
        Variant it means.
    movement : str, optional
        Movement of a variant of one's own that does not exist yet.
    made : mapping of str to str, optional
        Movement by variant of those about to be made beside.

    Returns
    -------
    new : bool
        The variant does not exist yet.

    Raises
    ------
    InputError
        If the variant does not exist and no movement is given, it belongs to another,
        or a name cannot be used.
    """
    if not normalise_name(text) or any(
        "\ud800" <= letter <= "\udfff" for letter in text
    ):
        raise InputError(
            f"`{text}` holds no letters or digits, or none of UTF-8; give the name as "
            "logged"
        )
    own = dict(con.execute("SELECT variant, movement FROM own_variant").fetchall())
    own |= made or {}
    catalogue = load_catalogue().variants
    belongs = catalogue[variant].movement if variant in catalogue else own.get(variant)
    if belongs is None and movement is None:
        near = [hit[0] for hit in process.extract(variant, [*catalogue, *own], limit=3)]
        raise InputError(
            f"no variant `{variant}`; nearest are {', '.join(near)}; "
            "to make a variant of your own give its movement with `--movement`, or "
            'as `{ variant = "...", movement = "..." }` in a column map'
        )
    if belongs is not None and movement not in (None, belongs):
        raise InputError(f"variant `{variant}` belongs to movement `{belongs}` already")
    for name in (variant, movement) if belongs is None else ():
        if not re.fullmatch(r"\w[\w \-]{0,79}", str(name)):
            raise InputError(
                f"`{name}` is no usable name; use letters, digits, `_` and `-`, "
                "at most 80"
            )
    return belongs is None


def teach(
    con: duckdb.DuckDBPyConnection,
    text: str,
    variant: str,
    movement: str | None = None,
    *,
    title: str | None = None,
    intake_id: int | None = None,
) -> None:
    """Say what a name means, inside a write transaction.

    Parameters
    ----------
    con : DuckDBPyConnection
        Write connection to the store.
    text : str
        Exercise name as logs write it.
    variant : str
        Variant it means.
    movement : str, optional
        Movement of a variant of one's own that does not exist yet.
    title : str, optional
        Its title; else the name itself.
    intake_id : int, optional
        The intake whose column map says so; what was said before stays said before.

    Raises
    ------
    InputError
        If the variant does not exist and no movement is given, or the text is empty.
    """
    if makes_variant(con, text, variant, movement):
        con.execute(
            "INSERT INTO own_variant VALUES (?, ?, ?)",
            [variant, movement, title or text],
        )
    key = normalise_name(text)
    con.execute(
        "INSERT INTO exercise_name VALUES (?, ?, ?, 1, 'person', ?) "
        "ON CONFLICT (name_key) DO UPDATE SET taught_in = CASE "
        "WHEN excluded.taught_in IS NOT NULL AND decided_by = 'person' THEN taught_in "
        "ELSE excluded.taught_in END, "
        "variant = excluded.variant, likeness = 1, decided_by = 'person'",
        [key, text, variant, intake_id],
    )
