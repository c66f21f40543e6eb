"""Which row is the header, and which header means which field."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cache

from analytics.catalogue import normalise_name
from analytics.errors import FileRefusedError
from analytics.intake.cells import words
from analytics.intake.column_map import ColumnMap
from analytics.intake.fields import FIELDS, LENGTHS
from analytics.store.fields import FIELDS as REGISTRY
from analytics.tables import Sheet

_UNIT = re.compile(r"(?:^|[\s_(\[/.])(kgs?|lbs?|pounds?|stone|st)(?:$|[\s_)\].])", re.I)
_UNIT_NAME = {"kgs": "kg", "lbs": "lb", "pound": "lb", "pounds": "lb", "st": "stone"}
_LENGTH_UNIT = re.compile(r"[\s_(\[/.](mm|cm|m|inch|inches|in)(?:$|[\s_)\].])", re.I)
SHEET_NAME = "sheet name"  # a column of workbooks beside those of their header
SHEET_AT = -1
_SCALE_M = {"mm": 0.001, "in": 0.0254, "inch": 0.0254, "inches": 0.0254}
_SET_WORD = re.compile(
    r"^(?:set|satz|serie|s)\s*(\d{1,2})\s*|\s*(?:set|satz|serie|s)?\s*\(?(\d{1,2})\)?$"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Header:
    """The header of a sheet.

    Attributes
    ----------
    row : int
        Its row number in the file, 0 if the format has none of its own.
    names : tuple of str
        One for each column; repeated names get `` (2)``, `` (3)``.
    sheet : str
        Name of the sheet in its workbook, which ``sheet name`` stands for.
    """

    row: int
    names: tuple[str, ...]
    sheet: str = ""

    def signature(self) -> str:
        """Fingerprint of the layout.

        Returns
        -------
        signature : str
            SHA-256 of the names in order.
        """
        return hashlib.sha256("\x1f".join(self.names).encode()).hexdigest()

    def position(self, name: str) -> int | None:
        """Column of a header; case and spare spaces do not matter.

        Parameters
        ----------
        name : str
            As in a column map.

        Returns
        -------
        position : int or None
            From 0; `SHEET_AT` for the name of the sheet.
        """
        if name in self.names:
            return self.names.index(name)
        plain = [_plain(known) for known in self.names]
        if self.sheet and name == SHEET_NAME and name not in plain:
            return SHEET_AT
        return plain.index(_plain(name)) if _plain(name) in plain else None


def _plain(name: str) -> str:
    return " ".join(name.replace("\ufeff", "").casefold().split())


@cache
def _field_of() -> dict[str, str]:
    known = {word: field.name for field in REGISTRY.values() for word in field.words}
    return {**known, **{normalise_name(name): name for name in FIELDS}}


def header_unit(name: str) -> str:
    """Find the unit of mass that a header names.

    Parameters
    ----------
    name : str
        Header, for example ``Load (kg)``.

    Returns
    -------
    unit : str
        ``kg``, ``lb``, ``stone`` or empty.
    """
    found = {match.lower() for match in _UNIT.findall(name)}
    units = {_UNIT_NAME.get(word, word) for word in found}
    return units.pop() if len(units) == 1 else ""


def length_scale_m(name: str) -> float | None:
    """Find the length that 1 stands for below a header in millimetres or inches.

    Parameters
    ----------
    name : str
        Header, for example ``arm_girth_mm``.

    Returns
    -------
    scale_m : float or None
        None where the number itself tells metres from centimetres. [m]
    """
    found = _LENGTH_UNIT.findall(name)
    return _SCALE_M.get(found[-1].lower()) if found else None


def field_of(name: str) -> str | None:
    """Field that a header means, if it is a known word for one.

    Parameters
    ----------
    name : str
        Header.

    Returns
    -------
    field : str or None
        None if unknown.
    """
    key = normalise_name(name)
    found = _field_of().get(key)
    if found is None and header_unit(name):
        found = _field_of().get(normalise_name(_UNIT.sub(" ", name)))
    if found is None:
        found = _field_of().get(normalise_name(re.sub(r"[(\[].*?[)\]]", " ", name)))
    if found is None and _LENGTH_UNIT.search(name):
        found = _field_of().get(normalise_name(_LENGTH_UNIT.sub(" ", name)))
        found = found if found in LENGTHS else None
    return found


def find_header(sheet: Sheet, column_map: ColumnMap) -> Header | None:
    """Row that names the columns.

    Parameters
    ----------
    sheet : Sheet
        Sheet.
    column_map : ColumnMap
        Its headers are looked for; without any, the words for fields are.

    Returns
    -------
    header : Header or None
        None if no row names the mapped or at least two known columns.
    """
    wanted = {
        _plain(name) for headers in column_map.columns.values() for name in headers
    } - {SHEET_NAME if sheet.title else ""}
    skip = column_map.read.get("skip_rows")
    best, best_score = None, 1 if not wanted else 0
    for number, cells in sheet.lead:
        if sheet.header_at is not None and number != sheet.header_at:
            break
        if skip is not None and number <= skip:
            continue
        header = Header(row=number, names=_named(cells), sheet=sheet.title)
        plain = {_plain(name) for name in header.names}
        score = len(wanted & plain) if wanted else _known_fields(header.names)
        if score > best_score:
            best, best_score = header, score
        if (skip is not None and any(cells)) or score == len(wanted) > 0:
            return header
    return best


def _named(cells: Sequence[str]) -> tuple[str, ...]:
    seen: dict[str, int] = {}
    names = []
    for position, cell in enumerate(cells, start=1):
        name = (
            " ".join(cell.replace("\ufeff", "").split())[:200] or f"column {position}"
        )
        seen[name] = seen.get(name, 0) + 1
        names.append(name if seen[name] == 1 else f"{name} ({seen[name]})")
    while names and names[-1].startswith("column "):
        names.pop()
    return tuple(names)


def _known_fields(names: Iterable[str]) -> int:
    return len({field for name in names if (field := field_of(name))})


def suggest(
    header: Header, off: frozenset[str] = frozenset()
) -> tuple[dict[str, tuple[str, ...]], list[str]]:
    """Fields that headers mean.

    Parameters
    ----------
    header : Header
        Header.
    off : frozenset of str
        Fields that a person said are not in the file.

    Returns
    -------
    columns : dict of str to tuple of str
        Field to headers.
    doubts : list of str
        Headers whose field a person has to say, in words.
    """
    numbered: dict[str, dict[int, str]] = {}
    found: dict[str, list[str]] = {}
    for name in header.names:
        field = field_of(name)
        if field is None or (name.endswith(")") and re.search(r" \(\d\)$", name)):
            base, number = _numbered(name)
            if base is not None:
                numbered.setdefault(base, {})[number] = name
                continue
        if field and field not in off:
            found.setdefault(field, []).append(name)
    doubts = []
    columns: dict[str, tuple[str, ...]] = {}
    for field, names in found.items():
        slots = numbered.get(field, {})
        if len(names) > 1:
            doubts.append(f"{field} could be {' or '.join(f'`{n}`' for n in names)}")
        else:
            columns[field] = (names[0], *(slots[n] for n in sorted(slots)))
    for field, slots in numbered.items():
        if field not in found and field not in off:
            columns[field] = tuple(slots[n] for n in sorted(slots))
    return columns, doubts + _doubts(header, columns, off)


def _doubts(
    header: Header, columns: dict[str, tuple[str, ...]], off: frozenset[str]
) -> list[str]:
    """Headers of several meanings, and headers written twice by a slip."""
    meanings = {
        word: key for key, group in words()["doubtful"].items() for word in group
    }
    doubts = [
        f"`{name}` could be {meanings[normalise_name(name)]}"
        for name in header.names
        if normalise_name(name) in meanings
        and not {"rpe", "rir"} & (columns.keys() | off)
    ]
    # Sets side by side repeat load and repetitions.
    wide = [field for field, names in columns.items() if len(names) > 1]
    if wide in (["load"], ["reps"]):
        first, second = columns[wide[0]][:2]
        if second == f"{first} (2)":
            doubts.append(f"{wide[0]} could be `{first}` or the second column so named")
    return doubts


def _numbered(name: str) -> tuple[str | None, int]:
    """Field and number of a header such as ``Set 2 reps`` or ``kg (2)``."""
    key = normalise_name(name)
    found = _SET_WORD.search(key)
    if not found:
        return None, 0
    rest = (key[: found.start()] + " " + key[found.end() :]).strip()
    field = _field_of().get(rest) if rest else "shorthand"
    if field is None and header_unit(rest):
        field = _field_of().get(_UNIT.sub(" ", rest).strip())
    if field not in ("load", "reps", "rir", "rpe", "hold_s", "shorthand", "failed"):
        return None, 0
    return field, int(found[1] or found[2])


def positions(
    header: Header, column_map: ColumnMap, where: str
) -> dict[str, tuple[int, ...]]:
    """Columns of the mapped headers.

    Parameters
    ----------
    header : Header
        Header.
    column_map : ColumnMap
        Map.
    where : str
        File, for messages.

    Returns
    -------
    positions : dict of str to tuple of int
        Field to column positions.

    Raises
    ------
    FileRefusedError
        If a mapped header is not there, or there more than once.
    """
    found: dict[str, tuple[int, ...]] = {}
    for field, names in column_map.columns.items():
        at = []
        for name in names:
            position = header.position(name)
            if position is None:
                raise FileRefusedError(
                    f"{where} has no column `{name}` for {field}; "
                    f"its header (row {header.row}) has {', '.join(header.names[:40])}"
                )
            if len(names) == 1 and header.position(f"{name} (2)") is not None:
                raise FileRefusedError(
                    f"{where} has several columns `{name}`; map {field} to "
                    f'["{name}", "{name} (2)", ...] or to one of them'
                )
            at.append(position)
        found[field] = tuple(at)
    return found
