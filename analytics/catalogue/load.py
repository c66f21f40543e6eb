"""Read the catalogue's data files and refuse what breaks their rules.

Every refusal names file, line, entry and what would be accepted.
"""

from __future__ import annotations

import math
import re
import unicodedata
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any, NoReturn

from analytics.catalogue.entries import (
    Catalogue,
    Movement,
    Resistance,
    Variant,
    is_number,
    pairs,
    resistance_problem,
)
from analytics.catalogue.files import KINDS, TomlFile
from analytics.catalogue.tables import read_spreads, read_table

DATA = Path(__file__).parent / "data"

ELBOW_RANGE_DEG = (0.0, 146.0)  # active flexion: zwerus_2019
SHOULDER_RANGE_DEG = (-60.0, 120.0)  # muscle tables: -45 to 90, carried on a little

_CHOICES: dict[str, tuple[Any, ...]] = {
    "implement": ("bar", "dumbbell", "cable", "band", "machine", "body"),
    "arms": (1, 2),
    "load_convention": ("total", "per_hand"),
    "support": ("none", "pad", "bench", "thigh"),
    "stance": ("parallel", "split", "seated", "prone", "hanging"),
    "kind": KINDS,
}
# Field: (low, high) accepted, ends included.
_LIMITS = {
    "arms_share": (1.0, 2.0),
    "body_share": (0.0, 1.0),
    "trunk_deg": (-90.0, 90.0),
    "rotation_deg": (-90.0, 90.0),
    "range_from_deg": ELBOW_RANGE_DEG,
    "range_to_deg": ELBOW_RANGE_DEG,
    "pad_deg": (0.0, 90.0),
    "bench_deg": (0.0, 90.0),
}
_TEXTS = ("variant", "movement", "title", "source", "note")
_ALWAYS = (*_TEXTS, "modelled", "implement", "arms", "load_convention", "arms_share",
           "body_share", "stance", "kind")  # fmt: skip
_WHEN_MODELLED = ("trunk_deg", "path", "rotation_deg", "support", "resistance",
                  "range_from_deg", "range_to_deg")  # fmt: skip
_OPTIONAL = ("pad_deg", "bench_deg")
_UMLAUTS = {ord("ä"): "ae", ord("ö"): "oe", ord("ü"): "ue"}


def normalise_name(text: str) -> str:
    """Exercise name without case, accents, punctuation or spare spaces.

    Parameters
    ----------
    text : str
        As found in a log.

    Returns
    -------
    name : str
        Words of letters and digits with single spaces between them.

    Notes
    -----
    German umlauts become two letters (``ä`` to ``ae``), other accents are dropped.
    """
    name = unicodedata.normalize("NFC", text).casefold()
    name = name.translate(_UMLAUTS)
    name = unicodedata.normalize("NFKD", name)
    name = "".join(letter for letter in name if not unicodedata.combining(letter))
    return " ".join(re.findall(r"[^\W_]+", name))


def _problem(name: str, value: object) -> str | None:
    """Say what is wrong with one field of a variant, or None."""
    if name in _TEXTS and not (isinstance(value, str) and value):
        return "expected text"
    if name == "modelled" and not isinstance(value, bool):
        return "expected true or false"
    if name in _CHOICES and value not in _CHOICES[name]:
        return f"expected one of {', '.join(map(str, _CHOICES[name]))}"
    if name in _LIMITS:
        low, high = _LIMITS[name]
        if not (is_number(value) and low <= value <= high):  # type: ignore[operator]
            return f"expected a number from {low:g} to {high:g}"
    if name == "path" and pairs(value) is None:
        return "expected two or more [elbow_deg, shoulder_deg] with rising elbow_deg"
    return None


def _agreement_problem(entry: dict[str, Any]) -> str | None:
    """Say what two or more fields contradict, or None."""
    if entry["range_from_deg"] >= entry["range_to_deg"]:
        return "range_from_deg must be smaller than range_to_deg"
    low, high = SHOULDER_RANGE_DEG
    if any(not low <= shoulder <= high for _, shoulder in entry["path"]):
        return f"shoulder angles of the path must be from {low:g} to {high:g}"
    arms = [shoulder - entry["trunk_deg"] for _, shoulder in entry["path"]]
    pad = entry.get("pad_deg")
    if pad is not None and any(abs(arm - pad) > 0.5 for arm in arms):
        return f"path minus trunk_deg must equal pad_deg ({pad:g}) at every knot"
    bench = entry.get("bench_deg")
    if bench is not None and abs(abs(entry["trunk_deg"]) - (90 - bench)) > 0.5:
        return f"trunk_deg must be 90 - bench_deg ({90 - bench:g}) or its negative"
    return None


def _variant(
    file: TomlFile, number: int, entry: dict[str, Any], sources: Mapping[str, Any]
) -> Variant:
    label = f"variant {entry.get('variant', f'number {number + 1}')!r}"

    def refuse(name: str, problem: str) -> NoReturn:
        file.refuse(file.line("variant", number, name), label, problem)

    needed = _ALWAYS + (_WHEN_MODELLED if entry.get("modelled") is True else ())
    for name in needed:
        if name not in entry:
            refuse("", f"`{name}` is missing; needed are {', '.join(needed)}")
    accepted = needed + (_OPTIONAL if entry["modelled"] is True else ())
    for name, value in entry.items():
        if name not in accepted:
            refuse(name, f"unknown `{name}`; accepted are {', '.join(accepted)}")
        problem = (
            resistance_problem(value) if name == "resistance" else _problem(name, value)
        )
        if problem:
            refuse(name, f"`{name}` = {value!r}: {problem}")
    if entry["source"] not in sources:
        refuse("source", f"source {entry['source']!r} is not in sources.toml")
    if entry["modelled"] and (problem := _agreement_problem(entry)):
        refuse("path", problem)
    resistance = entry.get("resistance")
    if resistance is not None:
        resistance = Resistance(
            **{**resistance, "table": pairs(resistance.get("table")) or ()}
        )
    blank = dict.fromkeys(
        ("trunk_deg", "rotation_deg", "range_from_deg", "range_to_deg", *_OPTIONAL),
        math.nan,
    )
    return Variant(
        **{
            **blank,
            "support": "none",
            **entry,
            **{name: float(entry[name]) for name in _LIMITS if name in entry},
            "path": pairs(entry.get("path")) or (),
            "resistance": resistance,
        }
    )


def _sources(file: TomlFile) -> dict[str, dict[str, str]]:
    for key, source in file.content.items():
        if not isinstance(source, dict) or not source.get("citation"):
            file.refuse(
                file.find(key), f"source {key!r}", "expected a table with `citation`"
            )
    return file.content


def _variants(file: TomlFile, sources: Mapping[str, Any]) -> dict[str, Variant]:
    variants: dict[str, Variant] = {}
    for number, entry in enumerate(file.entries("variant")):
        variant = _variant(file, number, entry, sources)
        if variant.variant in variants:
            line = file.line("variant", number, "variant")
            file.refuse(line, f"variant {variant.variant!r}", "the id is used twice")
        variants[variant.variant] = variant
    return variants


def _movements(file: TomlFile, variants: Mapping[str, Variant]) -> dict[str, Movement]:
    movements: dict[str, Movement] = {}
    for number, entry in enumerate(file.entries("movement")):
        label = f"movement {entry.get('movement', f'number {number + 1}')!r}"
        if not {"movement", "title"} <= set(entry) <= {
            "movement", "title", "reference"
        }:  # fmt: skip
            file.refuse(
                file.line("movement", number),
                label,
                "expected `movement`, `title` and, where there is one, `reference`",
            )
        movement = Movement(**{"reference": None, **entry})
        reference = movement.reference
        if reference is not None and (
            reference not in variants
            or variants[reference].movement != movement.movement
        ):
            family = movement.movement
            mine = [v.variant for v in variants.values() if v.movement == family]
            file.refuse(
                file.line("movement", number, "reference"),
                label,
                f"reference {reference!r} is none of its variants: {', '.join(mine)}",
            )
        movements[movement.movement] = movement
    return movements


def _exercise_names(file: TomlFile, variants: Mapping[str, Variant]) -> dict[str, str]:
    names: dict[str, str] = {}
    for variant, synonyms in file.content.items():
        line = file.find(variant)
        label = f"names of {variant!r}"
        if variant not in variants:
            known = ", ".join(variants)
            file.refuse(line, label, f"no such variant; there are: {known}")
        if not isinstance(synonyms, list) or not all(
            isinstance(name, str) and normalise_name(name) for name in synonyms
        ):
            file.refuse(line, label, "expected a list of names")
        for text in (variant, variants[variant].title, *synonyms):
            for name in (normalise_name(text), normalise_name(text + "s")):
                if names.setdefault(name, variant) != variant:
                    file.refuse(
                        line,
                        label,
                        f"{text!r} already means {names[name]!r}; a name may mean one",
                    )
    return names


@cache
def load_catalogue(directory: Path = DATA) -> Catalogue:
    """Read and check the catalogue; the result is kept.

    Parameters
    ----------
    directory : Path
        Folder with the data files; the package's own unless a test says otherwise.

    Returns
    -------
    catalogue : Catalogue
        Checked content of all files.

    Raises
    ------
    CatalogueError
        If a file breaks a rule; names file, line, entry and what is accepted.
    """
    sources = _sources(TomlFile(directory / "sources.toml"))
    variant_file = TomlFile(directory / "variants.toml")
    variants = _variants(variant_file, sources)
    movements = _movements(TomlFile(directory / "movements.toml"), variants)
    for number, variant in enumerate(variants.values()):
        if variant.movement not in movements:
            variant_file.refuse(
                variant_file.line("variant", number, "movement"),
                f"variant {variant.variant!r}",
                f"no movement {variant.movement!r}; there are: {', '.join(movements)}",
            )
    names = _exercise_names(TomlFile(directory / "exercise_names.toml"), variants)
    tables = (
        read_table(TomlFile(path), sources)
        for path in sorted((directory / "tables").glob("*.toml"))
    )
    return Catalogue(
        variants=variants,
        movements=movements,
        exercise_names=names,
        sources=sources,
        tables={table.name: table for table in tables},
        spreads=read_spreads(TomlFile(directory / "spreads.toml"), sources),
    )
