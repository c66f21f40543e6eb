"""The column map: which header means which field, and how the file is to be read."""

from __future__ import annotations

import hashlib
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from pathlib import Path
from typing import Any, NamedTuple

import tomli_w

from analytics.errors import InputError
from analytics.intake.dates import ORDERS
from analytics.intake.fields import FIELDS, MEASURES
from analytics.intake.numerals import read_number
from analytics.labels import label_problem
from analytics.store.fields import FIELDS as REGISTRY
from analytics.units import KG_PER_UNIT

READ_KEYS = ("delimiter", "decimal", "encoding", "sheet", "skip_rows", "fill_down")
SETTING_KEYS = ("unit", "dates", "lifter", "keep_lifter", "day_zero", "dumbbells",
                "failed", "rir")  # fmt: skip
# Not true of the next file of a layout, but for a lifter with `keep_lifter`.
OF_ONE_FILE = ("lifter", "failed", "rir")
_CHOICES: dict[str, tuple[str, ...]] = {
    "unit": tuple(KG_PER_UNIT),
    "dates": ORDERS,
    "dumbbells": ("per_hand", "total"),
    "decimal": (".", ","),
    "failed": ("yes", "no"),
}


class Meaning(NamedTuple):
    """What a column map says an exercise name means.

    Attributes
    ----------
    variant : str
        Of the catalogue or one's own.
    movement : str or None
        Movement of a variant that is made if it does not exist; None if it must.
    """

    variant: str
    movement: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ColumnMap:
    """How one layout of file is read; every part may be empty.

    Attributes
    ----------
    read : dict
        ``delimiter, decimal, encoding, sheet, skip_rows, fill_down``.
    columns : dict of str to tuple of str
        Field to header, or to several headers where each set has its own columns.
    off : frozenset of str
        Fields that are not in this file, whatever its headers suggest.
    settings : dict
        ``unit, dates, lifter, keep_lifter, day_zero, dumbbells, failed, rir``.
    effort : dict of str to (str or float)
        What a word of an effort column means: ``failed``, a number, empty for unknown.
    names : dict of str to Meaning
        By exercise name.
    where : str
        Name for messages.
    """

    read: Mapping[str, Any] = field(default_factory=dict)
    columns: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    off: frozenset[str] = frozenset()
    settings: Mapping[str, Any] = field(default_factory=dict)
    effort: Mapping[str, str | float] = field(default_factory=dict)
    names: Mapping[str, Meaning] = field(default_factory=dict)
    where: str = field(default="column map", compare=False)

    @property
    def kind(self) -> str:
        """``bodies`` if it maps measurements of bodies, else ``sets``."""
        bodies = "measured_on" in self.columns or (
            "exercise" not in self.columns
            and any(name in self.columns for name in MEASURES)
        )
        return "bodies" if bodies else "sets"

    @property
    def slots(self) -> int:
        """How many sets a row of wide columns has; 1 otherwise."""
        return max((len(headers) for headers in self.columns.values()), default=1)

    def with_settings(self, **settings: Any) -> ColumnMap:
        """Copy with settings that are not None taking precedence.

        Parameters
        ----------
        **settings : Any
            Values of `settings`.

        Returns
        -------
        column_map : ColumnMap
            The copy.
        """
        given = {name: value for name, value in settings.items() if value is not None}
        return replace(self, settings={**self.settings, **given})

    def digest(self) -> str:
        """Fingerprint of everything that decides how a file is read.

        Returns
        -------
        digest : str
            SHA-256.
        """
        return hashlib.sha256(self.to_toml().encode()).hexdigest()

    def to_toml(self) -> str:
        """Write it down the way `read_column_map` reads it.

        Returns
        -------
        text : str
            TOML.
        """
        columns = {
            name: headers[0] if len(headers) == 1 else list(headers)
            for name, headers in self.columns.items()
        } | dict.fromkeys(self.off, "")
        names = {
            text: name.variant if name.movement is None else name._asdict()
            for text, name in self.names.items()
        }
        parts = {"read": self.read, "columns": columns, "settings": self.settings,
                 "effort": self.effort, "names": names}  # fmt: skip
        ordered = {
            title: dict(sorted(part.items())) for title, part in parts.items() if part
        }
        return tomli_w.dumps(ordered)


def read_column_map(path: str | Path) -> ColumnMap:
    """Read a column map.

    Parameters
    ----------
    path : str or Path
        TOML file with any of the parts ``[read]``, ``[columns]``, ``[settings]``,
        ``[effort]``, ``[names]``.

    Returns
    -------
    column_map : ColumnMap
        Checked.

    Raises
    ------
    InputError
        If it cannot be read, or has a part, key or value that is not known.
    """
    path = Path(path)
    try:
        return parse_column_map(path.read_text("utf-8-sig"), path.name)
    except (OSError, UnicodeDecodeError) as error:
        raise InputError(f"column map `{path}` cannot be read: {error}") from error


def parse_column_map(text: str, where: str = "column map") -> ColumnMap:
    """Check the text of a column map.

    Parameters
    ----------
    text : str
        TOML.
    where : str
        Name for messages.

    Returns
    -------
    column_map : ColumnMap
        Checked.

    Raises
    ------
    InputError
        If it is no TOML, or has a part, key or value that is not known.
    """
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise InputError(f"{where} is no TOML: {error}") from error
    known = {
        "read": READ_KEYS,
        "columns": FIELDS,
        "settings": SETTING_KEYS,
        "effort": None,
        "names": None,
    }
    for part, content in data.items():
        if part not in known or not isinstance(content, dict):
            raise InputError(f"{where}: no part `{part}`; parts are {', '.join(known)}")
        for key, value in content.items():
            keys = known[part]
            if keys is not None and key not in keys:
                raise InputError(
                    f"{where}: no `{key}` in [{part}]; there are {', '.join(keys)}"
                )
            _check(where, part, key, value)
    mapped = data.get("columns", {})
    columns = {name: tuple([headers] if isinstance(headers, str) else headers)
               for name, headers in mapped.items() if headers}  # fmt: skip
    off = frozenset(mapped) - columns.keys()
    wide = {len(headers) for headers in columns.values() if len(headers) > 1}
    if len(wide) > 1:
        raise InputError(f"{where}: fields with several columns must have equally many")
    settings = data.get("settings", {})
    if settings.get("failed") == "yes" and settings.get("rir", 0) >= 1:
        raise InputError(
            f"{where}: [settings] failed is 'yes' and rir is {settings['rir']}; "
            "a failed set leaves no repetition in reserve"
        )
    names = {text: Meaning(value) if isinstance(value, str) else Meaning(**value)
             for text, value in data.get("names", {}).items()}  # fmt: skip
    made: dict[str, str] = {}
    for text, name in names.items():
        if name.movement and made.setdefault(name.variant, name.movement) != (
            name.movement
        ):
            raise InputError(
                f"{where}: [names] {text} puts {name.variant} under {name.movement}, "
                f"but it is under {made[name.variant]} above; give one movement"
            )
    return ColumnMap(read=data.get("read", {}), columns=columns, off=off,
                     settings=settings, effort=data.get("effort", {}), names=names,
                     where=where)  # fmt: skip


def _check(where: str, part: str, key: str, value: Any) -> None:
    texts = isinstance(value, list) and value and all(isinstance(v, str) for v in value)
    if part == "columns":
        good = isinstance(value, str) or texts
        words = 'a header, a list of headers, or "" for not in this file'
    elif key == "sheet":
        good, words = isinstance(value, str) or texts, "a sheet name, or a list of them"
    elif part == "names":
        good = _text(value) or (
            isinstance(value, dict)
            and "variant" in value
            and value.keys() <= {"variant", "movement"}
            and all(map(_text, value.values()))
        )
        words = 'a variant, or { variant = "leg_press", movement = "leg_press" }'
    elif part == "effort":
        good = value in ("", "failed") if isinstance(value, str) else _reserve(value)
        good = good and read_number(key) is None
        words = '"failed", 0 to 30, or "" for unknown; a number means itself'
    else:
        good, words = _checked(key, value)
    if not good:
        raise InputError(f"{where}: [{part}] {key} is {value!r}; must be {words}")


def _checked(key: str, value: Any) -> tuple[bool, str]:
    """Whether a value of `[read]` or `[settings]` can be, and what it must be."""
    if key in ("fill_down", "keep_lifter"):
        return isinstance(value, bool), "true or false"
    if key == "skip_rows":
        return isinstance(value, int) and 0 <= value <= 10_000, "0 to 10000"
    if key == "rir":
        return _reserve(value), REGISTRY["rir"].accepted
    if key == "day_zero":
        return _day_zero(value) is not None, 'a date such as "2025-01-06"'
    if key == "delimiter":
        return isinstance(value, str) and len(value) == 1, "one character"
    if key in _CHOICES:
        return value in _CHOICES[key], " or ".join(_CHOICES[key])
    return _text(value), "a text that can be seen"


def _reserve(value: Any) -> bool:
    low, high = REGISTRY["rir"].limits or (0, 0)
    number = isinstance(value, int | float) and not isinstance(value, bool)
    return number and low <= value <= high


def _text(value: Any) -> bool:
    seen = isinstance(value, str) and value.strip() != ""
    return seen and label_problem(value) is None


def _day_zero(value: Any) -> date | None:
    if isinstance(value, datetime):
        return value.date()
    if isinstance(value, date):
        return value
    try:
        return date.fromisoformat(value)
    except (TypeError, ValueError):
        return None


def day_zero(column_map: ColumnMap) -> date | None:
    """Day 0 of a log with day numbers.

    Parameters
    ----------
    column_map : ColumnMap
        The map.

    Returns
    -------
    day : date or None
        None if the map does not say.
    """
    return _day_zero(column_map.settings.get("day_zero"))
