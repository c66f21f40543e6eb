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
from typing import Any

from analytics.catalogue.entries import Chain, Joint, Mechanics, Movement, Variant
from analytics.catalogue.files import Entry, TomlFile
from analytics.catalogue.tables import Spread, Table, read_spreads, read_table

DATA = Path(__file__).parent / "data"
_IDENTITY = [field.name for field in fields(Variant) if field.name != "mechanics"]
_POSTURE = [
    field.name for field in fields(Mechanics) if field.name not in ("joint", "chain")
]
_ACCEPTED = ("like", "modelled", *_IDENTITY, *_POSTURE)
_OWN = ("variant", "title")  # what a variant never takes from the one it is like
_UMLAUTS = {ord("ä"): "ae", ord("ö"): "oe", ord("ü"): "ue"}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Catalogue:
    """Everything the data files hold, each thing by its identifier.

    Attributes
    ----------
    exercise_names : dict of str to str
        Normalised exercise name to variant.
    joints : dict of str to Joint
        Those with muscle sets.
    chains : dict of str to Chain
        Links that move.
    tables : dict of str to Table
        Published parameter tables by file name.
    spreads : dict of str to Spread
        Uncertainty of each parameter.
    """

    variants: dict[str, Variant]
    movements: dict[str, Movement]
    joints: dict[str, Joint]
    chains: dict[str, Chain]
    exercise_names: dict[str, str]
    sources: dict[str, dict[str, Any]]
    tables: dict[str, Table]
    spreads: dict[str, Spread]

    @property
    def modelled(self) -> tuple[str, ...]:
        """Identifiers of the variants that have mechanics."""
        return tuple(name for name, v in self.variants.items() if v.modelled)

    def modelled_in(self, movement: str) -> tuple[str, ...]:
        """Those of one movement."""
        return tuple(v for v in self.modelled if self.variants[v].movement == movement)


def normalise_name(text: str) -> str:
    """Exercise name in lower case, without accents, punctuation or spare spaces.

    Parameters
    ----------
    text : str
        As found in a log.

    Returns
    -------
    name : str
        Words of letters and digits; German umlauts become two letters.
    """
    name = unicodedata.normalize("NFC", text).casefold()
    name = name.translate(_UMLAUTS)
    name = unicodedata.normalize("NFKD", name)
    name = "".join(letter for letter in name if not unicodedata.combining(letter))
    return " ".join(re.findall(r"[^\W_]+", name))


def _variant(
    entry: Entry,
    raw: dict[str, Any],
    movements: Mapping[str, Movement],
    joints: Mapping[str, Joint],
    chains: Mapping[str, Chain],
) -> Variant:
    """Make a variant of all it states or inherits; mechanics only where claimed."""
    modelled = raw.get("modelled")
    if not isinstance(modelled, bool):
        entry.refuse("modelled", f"`modelled` = {modelled!r}: expected true or false")
    variant = entry.read(Variant, {k: v for k, v in raw.items() if k in _IDENTITY})
    for name in set(entry.stated) - set(_ACCEPTED):
        entry.refuse(name, f"unknown `{name}`; accepted are {', '.join(_ACCEPTED)}")
    if variant.movement not in movements:
        there = ", ".join(movements)
        entry.refuse(
            "movement", f"no movement {variant.movement!r}; there are: {there}"
        )
    if not modelled:
        for name in set(entry.stated) & set(_POSTURE):
            problem = "only a variant with `modelled = true` takes it"
            entry.refuse(name, f"unknown `{name}`: {problem}")
        return variant
    joint = joints.get(movements[variant.movement].joint or "")
    if joint is None:
        entry.refuse("modelled", _no_muscles(movements[variant.movement], joints))
    posture = {k: v for k, v in raw.items() if k in _POSTURE}
    chain = chains[movements[variant.movement].chain or ""]
    model = entry.read(Mechanics, {**posture, "joint": joint, "chain": chain})
    if contradiction := model.problem():
        entry.refuse("path", contradiction)
    return replace(variant, mechanics=model)


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
    chains: Mapping[str, Chain],
    sources: Mapping[str, Any],
) -> dict[str, Variant]:
    variants: dict[str, Variant] = {}
    raws: dict[str, dict[str, Any]] = {}
    for entry in file.entries("variant"):
        like = entry.stated.get("like", "")
        if "like" in entry.stated and like not in list(raws):
            there = ", ".join(raws)
            entry.refuse(
                "like", f"`like` = {like!r}: expected a variant above: {there}"
            )
        base = {k: v for k, v in raws.get(like, {}).items() if k not in _OWN}
        raw = {k: v for k, v in {**base, **entry.stated}.items() if k != "like"}
        variant = _variant(entry, raw, movements, joints, chains)
        entry.check_source(variant.source, sources)
        variants[variant.variant], raws[variant.variant] = variant, raw
    return variants


def _sources(file: TomlFile) -> dict[str, dict[str, Any]]:
    for key, source in file.content.items():
        entry = Entry(file, (key,), f"source {key!r}", {})
        if not isinstance(source, dict) or not source.get("citation"):
            entry.refuse("", "expected a table with `citation`")
        if not source.get("licence"):
            entry.refuse(
                "licence", "`licence` is missing: under what terms it was read"
            )
        if not isinstance(source.get("may_ship"), bool):
            entry.refuse("may_ship", "`may_ship`: expected true or false")
    return file.content


def _joints(file: TomlFile, sources: Mapping[str, Any]) -> dict[str, Joint]:
    joints = {}
    for entry in file.entries("joint"):
        joint = entry.read(Joint, entry.stated)
        entry.check_source(joint.source, sources)
        joints[joint.joint] = joint
    return joints


def _chains(file: TomlFile, sources: Mapping[str, Any]) -> dict[str, Chain]:
    chains = {}
    for entry in file.entries("chain"):
        chain = entry.read(Chain, entry.stated)
        entry.check_source(chain.source, sources)
        if chain.lead not in (link.joint for link in chain.links):
            entry.refuse(
                "lead", f"lead {chain.lead!r} is the joint of none of its links"
            )
        chains[chain.chain] = chain
    return chains


def _movements(
    file: TomlFile, joints: Mapping[str, Joint], chains: Mapping[str, Chain]
) -> list[tuple[Entry, Movement]]:
    """Movements with their entries; one whose joint has muscles needs its chain."""
    movements = []
    for entry in file.entries("movement"):
        family = entry.read(Movement, entry.stated)
        leads = [name for name, chain in chains.items() if chain.lead == family.joint]
        modelled = family.joint in joints
        if (modelled or family.chain is not None) and family.chain not in leads:
            expected = f"expected a chain led by {family.joint}: {', '.join(leads)}"
            entry.refuse("chain", f"`chain` = {family.chain!r}: {expected}")
        movements.append((entry, family))
    return movements


def _exercise_names(file: TomlFile, variants: Mapping[str, Variant]) -> dict[str, str]:
    names: dict[str, str] = {}
    for variant, synonyms in file.content.items():
        entry = Entry(file, (variant,), f"names of {variant!r}", {variant: synonyms})
        if variant not in variants:
            entry.refuse("", f"no such variant; there are: {', '.join(variants)}")
        if not isinstance(synonyms, list) or not all(
            isinstance(name, str) and normalise_name(name) for name in synonyms
        ):
            entry.refuse("", "expected a list of names")
        for text in (variant, variants[variant].title, *synonyms):
            for name in (normalise_name(text), normalise_name(text + "s")):
                if names.setdefault(name, variant) != variant:
                    problem = f"{text!r} already means {names[name]!r}"
                    entry.refuse("", f"{problem}; a name may mean one")
    return names


def main_movement(sets: Mapping[str, int]) -> str:
    """Name the movement with most sets; one with mechanics comes before all others.

    Parameters
    ----------
    sets : mapping of str to int
        Sets by movement.

    Returns
    -------
    movement : str
        One with mechanics where there are no sets.
    """
    catalogue = load_catalogue()
    modelled = {catalogue.variants[name].movement for name in catalogue.modelled}
    named = [name for name in (*catalogue.movements, *sets) if name]
    return max(named, key=lambda x: (sets.get(x, 0) > 0, x in modelled, sets.get(x, 0)))


@cache
def load_catalogue(directory: Path = DATA) -> Catalogue:
    """Read and check the catalogue; the result is cached.

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
    chains = _chains(TomlFile(directory / "chains.toml"), sources)
    families = _movements(TomlFile(directory / "movements.toml"), joints, chains)
    movements = {family.movement: family for _, family in families}
    variants = _variants(
        TomlFile(directory / "variants.toml"), movements, joints, chains, sources
    )
    for entry, family in families:
        mine = [v for v, x in variants.items() if x.movement == family.movement]
        if family.reference is not None and family.reference not in mine:
            problem = f"reference {family.reference!r} is none of its variants"
            entry.refuse("reference", f"{problem}: {', '.join(mine)}")
    names = _exercise_names(TomlFile(directory / "exercise_names.toml"), variants)
    tables = (
        read_table(TomlFile(path), sources)
        for path in sorted((directory / "tables").glob("*.toml"))
    )
    return Catalogue(
        variants=variants,
        movements=movements,
        joints=joints,
        chains=chains,
        exercise_names=names,
        sources=sources,
        tables={table.name: table for table in tables},
        spreads=read_spreads(TomlFile(directory / "spreads.toml"), sources),
    )
