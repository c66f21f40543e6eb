"""One row that holds several sets becomes several entries.

Trade shorthand: ``3x8`` three sets of eight, ``3x8 @ 22.5kg``, ``3x8x22.5``,
``22.5 x 8, 8, 7`` a load and the repetitions of each set, several groups parted by
``;`` or by ``,`` where each has its own load, and ``L8 R7`` for the two sides.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from analytics.intake.cells import Refusal
from analytics.intake.numerals import NUMBER, read_number, tidy

MOST_SETS = 50
_UNITS = r"(?:kgs?|kilos?|lbs?\.?|pounds?|#|st|stone)"
_LOAD = rf"(?:(?:bw|bodyweight)(?:\s*[+-]\s*{NUMBER})?|{NUMBER})\s*{_UNITS}?"
_REPS = r"(?:reps?\.?|wdh\.?)?"
_COUNT = r"(\d+(?:[.,]\d+)?)"
_LEFT, _RIGHT = r"(?:l|left|li|links)", r"(?:r|right|re|rechts)"
_LEFT_RIGHT = re.compile(
    rf"{_LEFT}\s*:?\s*{_COUNT}\s*[,;/ ]\s*{_RIGHT}\s*:?\s*{_COUNT}"
)
_LEFT_RIGHT_AFTER = re.compile(rf"{_COUNT}\s*{_LEFT}\s*[,;/ ]\s*{_COUNT}\s*{_RIGHT}")
ACCEPTED = (
    "3x8 @ 22.5kg, 3x8x22.5, 22.5 x 8, 8, 7, or the load and repetitions in columns"
)


@dataclass(frozen=True, slots=True)
class Entry:
    """One set as text: empty where the row's own column applies.

    Attributes
    ----------
    load, reps, side : str
        Texts for the readers of these fields.
    """

    load: str
    reps: str
    side: str = ""


def unfold(
    sets: str, load: str, reps: str, decimal: str = "."
) -> list[Entry] | Refusal:
    """List the sets that one row holds.

    Parameters
    ----------
    sets, load, reps : str
        Cells, empty where the file has no such column. Shorthand may stand in any.
    decimal : str
        Decimal sign of the file.

    Returns
    -------
    entries : list of Entry or Refusal
        At least one entry.
    """
    cells = {"sets": tidy(sets), "load": tidy(load), "reps": tidy(reps)}
    if (
        len({text for text in cells.values() if text}) == 1
        and "x" in max(cells.values(), key=len).lower()
    ):
        cells = {"sets": "", "load": "", "reps": max(cells.values(), key=len)}
    count = read_number(cells["sets"], decimal) if cells["sets"] else None
    if cells["sets"] and count is None:
        if cells["reps"] and cells["reps"] != cells["sets"]:
            return Refusal("not a count of sets", "a whole number of sets")
        cells["reps"], cells["sets"] = cells["sets"], ""
    if not cells["reps"] and re.search(r"\dx|x\s*\d|\d\s+x", cells["load"].lower()):
        cells["reps"], cells["load"] = cells["load"], ""
    if count is not None and not (count.is_integer() and 1 <= count <= MOST_SETS):
        return Refusal("not a count of sets", f"a whole number from 1 to {MOST_SETS}")
    entries = _reps_cell(cells["reps"], cells["load"], decimal)
    if isinstance(entries, Refusal) or count is None:
        return entries
    if len(entries) == 1:
        return entries * int(count)
    if len(entries) != count and len(entries) != 2 * count:
        return Refusal(
            f"{len(entries)} sets listed where the count says {count:g}",
            "as many repetitions as sets",
        )
    return entries


def _reps_cell(reps: str, load: str, decimal: str) -> list[Entry] | Refusal:
    body = reps.lower().strip(" .;")
    if decimal == "?" and re.fullmatch(r"\d{1,2},\d{1,2}", body):
        return Refusal(
            "two sets, or one with a decimal comma",
            "`8, 7` with a space for two sets, or `decimal` in the column map",
        )
    listed = _list(body, decimal)
    if listed is not None:
        loads = _list(load.lower(), decimal) or [load]
        if len(loads) == 1:
            loads = loads * len(listed)
        if len(listed) == 1:
            listed = listed * len(loads)
        if len(loads) != len(listed):
            return Refusal(
                f"{len(loads)} loads for {len(listed)} sets",
                "one load, or one for each set",
            )
        return [Entry(w, r) for w, r in zip(loads, listed, strict=True)]
    if sided := _LEFT_RIGHT.fullmatch(body) or _LEFT_RIGHT_AFTER.fullmatch(body):
        return [Entry(load, sided[1], "left"), Entry(load, sided[2], "right")]
    if each := re.fullmatch(
        r"(\d+(?:[.,]\d+)?)\s*(?:/|per|each|je|pro)\s*(?:side|arm|seite)?", body
    ):
        return [Entry(load, each[1], "left"), Entry(load, each[1], "right")]
    if re.search(r"\dx|x\s*\d|\d\s+x|@", body):
        return _groups(body, load, decimal)
    if body and not load and not re.search(r"\d", body):
        return Refusal("neither a number nor shorthand", ACCEPTED)
    return [Entry(load, reps)]


def _list(body: str, decimal: str) -> list[str] | None:
    """Numbers parted by marks, or None; one number is a list of one."""
    if decimal == "?" and re.fullmatch(r"\d{1,2},\d{1,2}", body):
        return None
    if read_number(body, decimal) is not None and not re.search(r"\d,\s", body):
        grouped = re.fullmatch(r"\d{1,2}(?:,\d{1,2})+", body)
        if not grouped or (decimal == "," and body.count(",") == 1):
            return [body]
    parts = re.split(r"\s*[;/+|]\s*|\s*,\s+|\s+", body)
    if (
        len(parts) == 1
        and re.fullmatch(r"\d{1,3}(?:,\d{1,3})+", body)
        and (decimal == "." or body.count(",") > 1)
    ):
        parts = body.split(",")
    if len(parts) == 1 and re.fullmatch(r"\d{1,2}(?:-\d{1,2}){2,}", body):
        parts = body.split("-")
    if len(parts) < 2 or len(parts) > MOST_SETS:
        return None
    return (
        parts if all(re.fullmatch(r"\d+(?:[.,]\d+)?", part) for part in parts) else None
    )


def _groups(body: str, load: str, decimal: str) -> list[Entry] | Refusal:
    refusal = Refusal("shorthand that cannot be read in one way", ACCEPTED)
    entries: list[Entry] = []
    groups = re.split(r"\s*;\s*|\s*\n\s*|\s+(?:and|und|then|dann)\s+", body)
    if len(groups) == 1:
        comma = re.split(r",\s*(?=[^,;]*?x)", body)
        groups = comma if len(comma) > 1 else groups
    for group in groups:
        found = _group(group.strip(" ,"), load, decimal)
        if found is None:
            return refusal
        entries += found
    return entries if 0 < len(entries) <= MOST_SETS else refusal


def _group(group: str, load: str, decimal: str) -> list[Entry] | None:
    whole = r"(\d{1,2})"
    at = re.fullmatch(
        rf"{whole}\s*x\s*(.+?)\s*{_REPS}\s*(?:@|at|mit|with|à)\s*({_LOAD})", group
    )
    if at is None:
        at = re.fullmatch(
            rf"{whole}\s*x\s*(\d+(?:[.,]\d+)?)\s*{_REPS}\s*x\s*({_LOAD})", group
        )
    if at:
        listed = _list(at[2], decimal)
        if listed is None:
            return None
        count = int(at[1])
        if len(listed) == 1:
            listed = listed * count
        return [Entry(at[3], r) for r in listed] if len(listed) == count else None
    unit_first = re.fullmatch(rf"({_LOAD})\s*(?:x|for)\s*(.+?)\s*{_REPS}", group)
    plain = re.fullmatch(rf"{whole}\s*x\s*(\d+(?:[.,]\d+)?)\s*{_REPS}", group)
    if plain and load:  # 3x8 beside a load column: sets of repetitions
        return [Entry(load, plain[2])] * int(plain[1])
    if listed_at := re.fullmatch(rf"(.+?)\s*{_REPS}\s*@\s*({_LOAD})", group):
        listed = _list(listed_at[1], decimal)
        return [Entry(listed_at[2], r) for r in listed] if listed else None
    if unit_first and not load:
        if plain and not re.search(r"[a-z.,]", unit_first[1]):
            return None  # 3x8 without a load, or 3 kg for 8: cannot be told
        listed = _list(unit_first[2], decimal)
        bare = unit_first[1].strip()
        if listed is None or bare == str(len(listed)):
            return None  # 3 x 8, 8, 7: three sets of an unknown load, or 3 kg
        return [Entry(bare, r) for r in listed]
    return None
