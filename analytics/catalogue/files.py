"""One TOML data file, read into entries, whose errors name line and value."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import MISSING, dataclass, fields
from functools import cache
from pathlib import Path
from typing import Any, NoReturn, TypeVar, cast

from pydantic import TypeAdapter, ValidationError

from analytics.catalogue.entries import Mechanics
from analytics.catalogue.resistance import RESISTANCES, Resistance
from analytics.errors import CatalogueError, InputError

Place = tuple[str | int, ...]
T = TypeVar("T")


class TomlFile:
    """Content of a data file, and where to find it again.

    Parameters
    ----------
    path : Path
        The file.

    Raises
    ------
    CatalogueError
        If it cannot be read as TOML.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        try:
            self.text = path.read_text(encoding="utf-8")
            self.content: dict[str, Any] = tomllib.loads(self.text)
        except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
            raise CatalogueError(
                f"{path.name}: {error}; expected a readable TOML file"
            ) from error

    def line(self, place: Place) -> int:
        """Line of a table, of the n-th of several, or of a key inside; else above."""
        lines, at = self.text.splitlines(), 0
        for part, number in zip(place, (*place[1:], None), strict=True):
            if isinstance(part, int):
                continue
            if isinstance(number, int):
                heads = [i for i, x in enumerate(lines) if x.strip() == f"[[{part}]]"]
                at = heads[number] if number < len(heads) else at
                continue
            key = re.compile(rf"(^|.*[{{,.])\s*\[?([\w.]+\.)?{re.escape(part)}\s*[\]=]")
            for i in range(at, len(lines)):
                if i > at and lines[i].startswith("[["):
                    break
                if key.match(lines[i]):
                    at = i
                    break
        return at + 1

    def entries(self, table: str, identifier: str = "") -> Iterator[Entry]:
        """Each ``[[table]]``; refuses a file without any, and an id used twice."""
        entries = self.content.get(table)
        if not isinstance(entries, list) or not entries:
            Entry(self, (), "file", {}).refuse("", f"expected one or more [[{table}]]")
        labels = set()
        for number, stated in enumerate(entries):
            named = stated.get(identifier or table, f"number {number + 1}")
            entry = Entry(self, (table, number), f"{table} {named!r}", stated)
            if entry.label in labels:
                entry.refuse(identifier or table, "the id is used twice")
            labels.add(entry.label)
            yield entry


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry of a file: where it stands, what it is called and what it states."""

    file: TomlFile
    place: Place
    label: str
    stated: dict[str, Any]

    def read(self, kind: type[T], raw: object) -> T:
        """Make the entry, or refuse it with the first thing that is wrong."""
        try:
            return cast(T, _adapter(kind).validate_python(raw))  # type: ignore[arg-type]
        except ValidationError as error:
            first = error.errors()[0]
            self._refuse(first["loc"], _problem(first, kind))

    def check_source(self, source: str, sources: Mapping[str, object]) -> None:
        """Refuse a source that ``sources.toml`` does not have."""
        if source not in sources:
            self.refuse("source", f"source {source!r} is not in sources.toml")

    def refuse(self, name: str, problem: str) -> NoReturn:
        """Refuse a field, at the line that inherits it where it is not stated."""
        inherited = "like" in self.stated and name not in self.stated
        self._refuse(("like" if inherited else name,), problem)

    def _refuse(self, place: Place, problem: str) -> NoReturn:
        line = self.file.line((*self.place, *place))
        raise CatalogueError(
            f"{self.file.path.name}, line {line}, {self.label}: {problem}"
        )


@cache
def _adapter(kind: Any) -> TypeAdapter[Any]:
    return TypeAdapter(kind)


def _problem(error: Any, kind: type) -> str:
    """Say what is wrong with one value, and what would be accepted."""
    place, context = error["loc"], error.get("ctx", {})
    name = next((part for part in reversed(place) if isinstance(part, str)), "")
    of = kind if len(place) == 1 else RESISTANCES.get(place[1], kind)
    if error["type"] == "missing":
        needed = [x.name for x in fields(of) if x.default is MISSING]
        return f"`{name}` is missing; needed are {', '.join(needed)}"
    if error["type"] == "unexpected_keyword_argument":
        accepted = ", ".join(field.name for field in fields(of))
        return f"unknown `{name}`; accepted are {accepted}"
    said = error["msg"].removeprefix("Value error, ")
    said = said.replace("Input should be", "expected")
    if choices := context.get("expected_tags", context.get("expected")):
        said = f"expected one of {choices.replace(chr(39), '').replace(' or ', ', ')}"
    return f"`{name}` = {error['input']!r}: {said}"


def make_resistance(**fields: object) -> Resistance:
    """Make a resistance of one's own.

    Parameters
    ----------
    fields : any
        ``kind`` and what the kind needs.

    Returns
    -------
    resistance : Gravity, Cable, Band, Constant or Cam

    Raises
    ------
    InputError
        If there is no such kind, or what it needs is missing or impossible.
    """
    try:
        made: Resistance = _adapter(Resistance).validate_python(fields)
    except ValidationError as error:
        first = error.errors()[0]
        place = ("resistance", *first["loc"])
        problem = _problem({**first, "loc": place}, Mechanics)
        raise InputError(f"resistance: {problem}") from error
    return made
