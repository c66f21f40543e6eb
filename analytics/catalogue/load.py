"""Read the catalogue's data files and refuse what breaks their rules.

Every refusal names file, line, entry and what would be accepted.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from functools import cache
from pathlib import Path
from typing import Any, NoReturn

from analytics.catalogue.entries import Joint, Mechanics, Movement, Variant
from analytics.catalogue.files import Place, TomlFile
from analytics.catalogue.tables import Spread, Table, read_spreads, read_table

DATA = Path(__file__).parent / "data"
_IDENTITY = [field.name for field in fields(Variant) if field.name != "mechanics"]
_POSTURE = [field.name for field in fields(Mechanics) if field.name != "joint"]
_ACCEPTED = ("like", "modelled", *_IDENTITY, *_POSTURE)
_OWN = ("variant", "title")  # what a variant never takes from the one it is like
_UMLAUTS = {ord("ä"): "ae", ord("ö"): "oe", ord("ü"): "ue"}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Catalogue:
    """Everything the data files hold.

    Attributes
    ----------
    variants : dict of str to Variant
        By identifier.
    movements : dict of str to Movement
        By identifier.
    joints : dict of str to Joint
        Those with muscle sets, by identifier.
    exercise_names : dict of str to str
        Normalised exercise name to variant identifier.
    sources : dict of str to dict
        Publications and other origins by key.
    tables : dict of str to Table
        Published parameter tables by file name.
    spreads : dict of str to Spread
        Uncertainty of each parameter.
    """

    variants: dict[str, Variant]
    movements: dict[str, Movement]
    joints: dict[str, Joint]
    exercise_names: dict[str, str]
    sources: dict[str, dict[str, str]]
    tables: dict[str, Table]
    spreads: dict[str, Spread]

    @property
    def modelled(self) -> tuple[str, ...]:
        """Identifiers of the variants that have mechanics."""
        return tuple(name for name, v in self.variants.items() if v.modelled)


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


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Entry:
    """An entry of ``variants.toml`` with all that it states or inherits."""

    file: TomlFile
    place: Place
    label: str
    stated: dict[str, Any]
    raw: dict[str, Any]

    def refuse(self, name: str, problem: str) -> NoReturn:
        """Refuse one field; one that is inherited at the line that inherits it."""
        at = name if name in self.stated or "like" not in self.stated else "like"
        self.file.refuse((*self.place, at), self.label, problem)

    def variant(
        self, movements: Mapping[str, Movement], joints: Mapping[str, Joint]
    ) -> Variant:
        """Make the variant, its mechanics only where they are claimed."""
        raw = {k: v for k, v in self.raw.items() if k in _IDENTITY}
        modelled = self.raw.get("modelled")
        if not isinstance(modelled, bool):
            problem = f"`modelled` = {modelled!r}: expected true or false"
            self.refuse("modelled", problem)
        known = self.file.read(Variant, raw, place=self.place, label=self.label)
        if unknown := set(self.stated) - set(_ACCEPTED):
            name = min(unknown)
            self.refuse(name, f"unknown `{name}`; accepted are {', '.join(_ACCEPTED)}")
        if known.movement not in movements:
            there = ", ".join(movements)
            self.refuse(
                "movement", f"no movement {known.movement!r}; there are: {there}"
            )
        if not modelled:
            if strange := set(_POSTURE) & set(self.stated):
                problem = "only a variant with `modelled = true` takes it"
                self.refuse(min(strange), f"unknown `{min(strange)}`: {problem}")
            return known
        joint = joints.get(movements[known.movement].joint or "")
        if joint is None:
            self.refuse("modelled", _no_muscles(movements[known.movement], joints))
        posture = {k: v for k, v in self.raw.items() if k in _POSTURE} | {
            "joint": joint
        }
        model = self.file.read(Mechanics, posture, place=self.place, label=self.label)
        contradiction = model.problem()
        if contradiction is not None:
            self.refuse("path", contradiction)
        return replace(known, mechanics=model)


def _no_muscles(movement: Movement, joints: Mapping[str, Joint]) -> str:
    """Say why a movement cannot be modelled, and what would be accepted."""
    joint = f"the joint {movement.joint!r}" if movement.joint else "no joint named"
    return (
        f"`modelled` = True: {movement.movement!r} has no muscle sets ({joint} in "
        "movements.toml); accepted are `modelled = false`, or a movement of one of the "
        f"joints that have: {', '.join(joints)}"
    )


def _variants(
    file: TomlFile,
    movements: Mapping[str, Movement],
    joints: Mapping[str, Joint],
    sources: Mapping[str, Any],
) -> dict[str, Variant]:
    variants: dict[str, Variant] = {}
    raws: dict[str, dict[str, Any]] = {}
    for place, label, stated in file.entries("variant"):
        like = stated.get("like", "")
        if like not in raws and "like" in stated:
            problem = f"`like` = {like!r}: expected a variant above: {', '.join(raws)}"
            file.refuse((*place, "like"), label, problem)
        base = {k: v for k, v in raws.get(like, {}).items() if k not in _OWN}
        raw = {k: v for k, v in {**base, **stated}.items() if k != "like"}
        found = _Entry(file=file, place=place, label=label, stated=stated, raw=raw)
        variant = found.variant(movements, joints)
        if variant.variant in variants:
            found.refuse("variant", "the id is used twice")
        file.check_source(variant.source, sources, place=place, label=label)
        variants[variant.variant], raws[variant.variant] = variant, raw
    return variants


def _sources(file: TomlFile) -> dict[str, dict[str, str]]:
    for key, source in file.content.items():
        if not isinstance(source, dict) or not source.get("citation"):
            problem = "expected a table with `citation`"
            file.refuse((key,), f"source {key!r}", problem)
    return file.content


def _joints(file: TomlFile, sources: Mapping[str, Any]) -> dict[str, Joint]:
    joints = {}
    for place, label, raw in file.entries("joint"):
        joint = file.read(Joint, raw, place=place, label=label)
        file.check_source(joint.source, sources, place=place, label=label)
        joints[joint.joint] = joint
    return joints


def _check_references(
    file: TomlFile, movements: Mapping[str, Movement], variants: Mapping[str, Variant]
) -> None:
    for number, movement in enumerate(movements.values()):
        family = movement.movement
        mine = [v.variant for v in variants.values() if v.movement == family]
        if movement.reference is not None and movement.reference not in mine:
            file.refuse(
                ("movement", number, "reference"),
                f"movement {family!r}",
                f"reference {movement.reference!r} is none of its variants: "
                f"{', '.join(mine)}",
            )


def _exercise_names(file: TomlFile, variants: Mapping[str, Variant]) -> dict[str, str]:
    names: dict[str, str] = {}
    for variant, synonyms in file.content.items():
        place, label = (variant,), f"names of {variant!r}"
        if variant not in variants:
            known = ", ".join(variants)
            file.refuse(place, label, f"no such variant; there are: {known}")
        if not isinstance(synonyms, list) or not all(
            isinstance(name, str) and normalise_name(name) for name in synonyms
        ):
            file.refuse(place, label, "expected a list of names")
        for text in (variant, variants[variant].title, *synonyms):
            for name in (normalise_name(text), normalise_name(text + "s")):
                if names.setdefault(name, variant) != variant:
                    problem = f"{text!r} already means {names[name]!r}"
                    file.refuse(place, label, f"{problem}; a name may mean one")
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
    joints = _joints(TomlFile(directory / "joints.toml"), sources)
    file = TomlFile(directory / "movements.toml")
    read = (
        file.read(Movement, raw, place=place, label=label)
        for place, label, raw in file.entries("movement")
    )
    movements = {movement.movement: movement for movement in read}
    variants = _variants(
        TomlFile(directory / "variants.toml"), movements, joints, sources
    )
    _check_references(file, movements, variants)
    names = _exercise_names(TomlFile(directory / "exercise_names.toml"), variants)
    tables = (
        read_table(TomlFile(path), sources)
        for path in sorted((directory / "tables").glob("*.toml"))
    )
    return Catalogue(
        variants=variants,
        movements=movements,
        joints=joints,
        exercise_names=names,
        sources=sources,
        tables={table.name: table for table in tables},
        spreads=read_spreads(TomlFile(directory / "spreads.toml"), sources),
    )
