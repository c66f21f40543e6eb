"""The fields of a log, from `data/fields.toml`: a new one is an entry and a reader."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from importlib.resources import files

from analytics.units import SUFFIX_UNIT


@dataclass(frozen=True, slots=True, kw_only=True)
class Field:
    """One field.

    Attributes
    ----------
    name, title : str
        In column maps, and on screens.
    words : tuple of str
        What headers call it.
    reader : str
        Reader of a cell without its ``read_``; empty for a text as it stands.
    stored : str
        ``core``, ``detail``, ``body`` or empty: which table keeps it.
    column, type : str
        Column of the store and its type.
    limits : tuple of float, optional
        Lowest and highest value. [unit of the column]
    accepted : str
        The limits in words.
    letters : int, optional
        Most of a text.
    editable : bool
        A person may change it in one stored set.
    in_form : bool
        The form of corrections shows it.
    identity : str
        Tag in the digest of a set; ``=`` without one, empty if it is no part of it.
    sided : bool
        Each side of the body may have a column.
    """

    name: str
    title: str
    words: tuple[str, ...]
    reader: str = ""
    stored: str = ""
    column: str = ""
    type: str = ""
    limits: tuple[float, float] | None = None
    accepted: str = ""
    letters: int | None = None
    editable: bool = False
    in_form: bool = False
    identity: str = ""
    sided: bool = False

    @property
    def unit(self) -> str:
        """Unit of the stored column, empty for a count or a text."""
        ends = (u for end, u in SUFFIX_UNIT.items() if self.column.endswith(end))
        return next(ends, "")


def _load() -> dict[str, Field]:
    text = (files("analytics.store") / "data" / "fields.toml").read_text("utf-8")
    fields = {}
    for name, entry in tomllib.loads(text).items():
        for key in ("words", "limits"):
            if key in entry:
                entry[key] = tuple(entry[key])
        fields[name] = Field(**{"name": name, "column": name, **entry})
    return fields


FIELDS = _load()
BY_COLUMN = {field.column: field for field in FIELDS.values()}
EDITABLE = {field.column: field for field in FIELDS.values() if field.editable}
IN_FORM = [field.column for field in FIELDS.values() if field.in_form]
