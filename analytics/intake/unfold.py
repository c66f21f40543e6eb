"""One row that holds several sets becomes several entries.

Trade shorthand: ``3x8`` three sets of eight, ``3x8 @ 22.5kg``, ``3x8x22.5``,
``22.5 x 8, 8, 7`` a load and the repetitions of each set, several groups parted by
``;`` or by ``,`` where each has its own load, and ``L8 R7`` for the two sides. An
effort may follow: ``RIR 2``, ``RPE 8``, ``@8`` beside a load, ``(fail)``.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

from analytics.intake.cells import Refusal
from analytics.intake.numerals import NUMBER, read_number, tidy
from analytics.tables.bounds import MOST_SETS

_UNITS = r"(?:kgs?|kilos?|lbs?\.?|pounds?|#|st|stone)"
_BODY_LOAD = rf"(?:bw|bodyweight)(?:\s*[+-]\s*{NUMBER})?"
_LOAD = rf"(?:{_BODY_LOAD}|{NUMBER})\s*{_UNITS}?"
_LOAD_SURE = rf"(?:{_BODY_LOAD}\s*{_UNITS}?|{NUMBER}\s*{_UNITS})"
_REPS = r"(?:reps?\.?|wdh\.?)?"
_NUM = r"\d+(?:[.,]\d+)?"
_SPAN = rf"{_NUM}(?:\s*(?:-|to|bis|à)\s*{_NUM})?"
_COUNT = rf"({_NUM})"
_LEFT, _RIGHT = r"(?:l|left|li|links)", r"(?:r|right|re|rechts)"
_LEFT_RIGHT = re.compile(
    rf"{_LEFT}\s*:?\s*{_COUNT}\s*[,;/ ]\s*{_RIGHT}\s*:?\s*{_COUNT}"
)
_LEFT_RIGHT_AFTER = re.compile(rf"{_COUNT}\s*{_LEFT}\s*[,;/ ]\s*{_COUNT}\s*{_RIGHT}")
_EFFORT = re.compile(
    rf"\s*[(\[,]?\s*(?:@?\s*rpe\s*:?\s*(?P<rpe>{_SPAN})|(?P<rpe_before>{_SPAN})\s*rpe"
    rf"|@?\s*rir\s*:?\s*(?P<rir>{_SPAN})|(?P<rir_before>{_SPAN})\s*rir"
    rf"|@\s*(?P<bare>{_SPAN})"
    r"|(?P<failed>(?:to\s+)?fail(?:ed|ure)?|(?:bis\s+)?(?:muskel)?versagen))\s*[)\]]?$"
)
_SEVERAL = re.compile(rf"\dx|x\s*\d|\d\s+x|@|\bfor\s+\d|{_UNITS}\s*:")
_TIMES = r"(?P<count>[1-9]\d?)\s*(?:x|sets?\s*(?:of|x)?)\s*"
_REPS_NUM = rf"(?P<reps>{_NUM})\s*{_REPS}"
_REPS_ANY = rf"(?P<reps>.+?)\s*{_REPS}"
# Forms that can be read in one way only.
_FORMS = tuple(
    re.compile(form)
    for form in (
        rf"{_TIMES}{_REPS_ANY}\s*(?:@|at|mit|with|à)\s*(?P<load>{_LOAD})",
        rf"{_TIMES}{_REPS_NUM}\s*x\s*(?P<load>{_LOAD})",
        rf"{_TIMES}{_REPS_NUM}\s+(?P<load>{_LOAD_SURE})",
        rf"(?P<load>{_LOAD_SURE})(?:\s*[:,]\s*|\s+){_TIMES}{_REPS_NUM}",
        rf"{_REPS_ANY}\s*@\s*(?P<load>{_LOAD})",
        rf"{_REPS_ANY}\s*x\s*(?P<load>{_LOAD_SURE})",
    )
)
_PLAIN = re.compile(rf"{_TIMES}{_REPS_NUM}")
_LOAD_FIRST = re.compile(rf"(?P<load>{_LOAD})\s*(?:x|for|:)\s*{_REPS_ANY}")
ACCEPTED = (
    "3x8 @ 22.5kg, 3x8x22.5, 22.5 x 8, 8, 7, or the load and repetitions in columns"
)
_TWO_WAYS = Refusal("shorthand that cannot be read in one way", ACCEPTED)


@dataclass(frozen=True, slots=True)
class Entry:
    """One set as text: empty where the row's own column applies.

    Attributes
    ----------
    load, reps, side, rir, rpe, failed : str
        Texts for the readers of these fields.
    """

    load: str
    reps: str
    side: str = ""
    rir: str = ""
    rpe: str = ""
    failed: str = ""


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
    if not cells["reps"] and _SEVERAL.search(cells["load"].lower()):
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
    if opened := _open(body, decimal):
        return opened
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
    if _SEVERAL.search(body) or _EFFORT.search(body):
        return _groups(body, load, decimal)
    if body and not load and not re.search(r"\d", body):
        return Refusal("neither a number nor shorthand", ACCEPTED)
    return [Entry(load, reps)]


def _open(body: str, decimal: str) -> Refusal | None:
    """Refuse two numbers that can be two sets or something else."""
    if decimal == "?" and re.fullmatch(r"\d{1,2},\d{1,2}", body):
        return Refusal(
            "two sets, or one with a decimal comma",
            "`8, 7` with a space for two sets, or `decimal` in the column map",
        )
    if re.fullmatch(rf"{_NUM}\s*[/+]\s*{_NUM}", body):
        return Refusal(
            "two sets, the two sides, or one set with a pause",
            "`8, 7` for two sets, `L8 R7` for the sides",
        )
    return None


def _list(body: str, decimal: str) -> list[str] | None:
    """Numbers parted by marks, or None; one number is a list of one."""
    if decimal == "?" and re.fullmatch(r"\d{1,2},\d{1,2}", body):
        return None
    if read_number(body, decimal) is not None and not re.search(r"\d,\s", body):
        grouped = re.fullmatch(r"\d{1,2}(?:,\d{1,2})+", body)
        if not grouped or (decimal == "," and body.count(",") == 1):
            return [body]
    marks = re.findall(r"\s*[;/|]\s*|\s*,\s+|\s+", body)
    if len({mark.strip() for mark in marks}) > 1:
        return None  # 8 1/2 is no list
    parts = re.split(r"\s*[;/|]\s*|\s*,\s+|\s+", body)
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
    groups = re.split(r"\s*;\s*|\s*\n\s*|\s+(?:and|und|then|dann)\s+", body)
    if len(groups) == 1:
        comma = re.split(r",\s*(?=[^,;]*?[x@])", body)
        groups = comma if len(comma) > 1 else groups
    # One group with a unit after its repetitions shows the order of the others.
    first = re.fullmatch(rf"\d+\s*x\s*{NUMBER}\s*({_UNITS})", groups[0].strip())
    entries: list[Entry] = []
    for group in groups:
        text = group.strip(" ,")
        if first and len(groups) > 1:
            text = re.sub(
                rf"^(\d+\s*x\s*{_NUM})(?=\s*(?:[(@]|$))", rf"\1{first[1]}", text
            )
        found = _marked(text, load, decimal)
        if isinstance(found, Refusal):
            return found
        entries += found
    return entries if 0 < len(entries) <= MOST_SETS else _TWO_WAYS


def _marked(group: str, load: str, decimal: str) -> list[Entry] | Refusal:
    """Read a group that may end with an effort.

    The effort of sets that are alike is that of each; after a list of repetitions only
    the last set certainly has it, and only the last set fails.
    """
    mark = _EFFORT.search(group)
    if not mark or (mark["bare"] and _last(mark["bare"], decimal) > 10):
        return _group(group, load, decimal)
    entries = _marked(group[: mark.start()], load, decimal)
    if isinstance(entries, Refusal):
        return entries
    if mark["bare"] and not all(entry.load for entry in entries):
        return Refusal(
            f"`@ {mark['bare']}` can be a load or an RPE",
            f"{mark['bare']}kg, or RPE {mark['bare']} with the load",
        )
    said = {
        "rpe": mark["rpe"] or mark["rpe_before"] or mark["bare"] or "",
        "rir": mark["rir"] or mark["rir_before"] or "",
        "failed": "yes" if mark["failed"] else "",
    }
    alike = len(set(entries)) == 1 and not mark["failed"]
    return [
        replace(entry, **{k: v for k, v in said.items() if v})
        if alike or number == len(entries) else entry
        for number, entry in enumerate(entries, start=1)
    ]  # fmt: skip


def _last(span: str, decimal: str) -> float:
    """Upper end of an interval, or the number itself; 99 for what is none."""
    return read_number(re.findall(_NUM, span)[-1], decimal) or 99


def _group(group: str, load: str, decimal: str) -> list[Entry] | Refusal:
    listed = _list(group, decimal)
    if listed:
        return [Entry(load, r) for r in listed]
    for form in _FORMS:
        if found := form.fullmatch(group):
            listed = _list(found["reps"], decimal) or []
            count = int(found.groupdict().get("count") or len(listed))
            if len(listed) == 1:
                listed = listed * count
            return _loaded(found["load"], listed if len(listed) == count else [], load)
    plain, first = _PLAIN.fullmatch(group), _LOAD_FIRST.fullmatch(group)
    if plain and load:  # 3x8 beside a load column: sets of repetitions
        return [Entry(load, plain["reps"])] * int(plain["count"])
    if re.fullmatch(rf"{_NUM}(?:\s*[/;+]\s*{_NUM})+\s*x\s*{_NUM}", group):
        return Refusal("a list of repetitions, or of loads", "5/5/5 x 20kg")
    if not first:
        return _TWO_WAYS
    own = first["load"].strip()
    if plain and not re.search(r"[a-z.,]", own):
        return Refusal(
            f"{own} sets of {plain['reps']} without a load, or a load of {own}",
            ACCEPTED,
        )
    listed = _list(first["reps"], decimal)
    if listed and own == str(len(listed)):
        return _TWO_WAYS  # 3 x 8, 8, 7: three sets of an unknown load, or 3 kg
    return _loaded(own, listed, load)


def _loaded(own: str, listed: list[str] | None, load: str) -> list[Entry] | Refusal:
    """Make sets with the load of the group, which must be the only one."""
    if listed and load and read_number(own) != read_number(load):
        return Refusal(f"a load of {own} beside one of {load}", "one of the two")
    return [Entry(own, r) for r in listed] if listed else _TWO_WAYS
