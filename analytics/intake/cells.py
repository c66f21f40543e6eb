"""Reading one cell: numbers, loads, reps, durations, angles, words.

Every function takes the text of a cell and gives its value, or a `Refusal` that
says what is wrong and what would be accepted. A value is never guessed: what has
two readings is refused.
"""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from functools import cache, partial
from importlib.resources import files
from typing import Any

from analytics.catalogue import normalise_name
from analytics.intake.numerals import NUMBER, odd_numeral, read_number, tidy
from analytics.labels import label_problem
from analytics.units import KG_PER_LB, KG_PER_UNIT

_UNIT_WORDS = {
    "kg": ("kg", "kgs", "kilo", "kilos", "kilogram", "kilograms", "kilogramm"),
    "lb": ("lb", "lbs", "lb.", "lbs.", "pound", "pounds", "#"),
    "stone": ("st", "stone", "stones"),
}
_UNIT_OF = {word: unit for unit, words in _UNIT_WORDS.items() for word in words}
_BODY = (
    r"(?:b\.?w\.?|body\s?-?(?:weight|mass)|k(?:ö|oe)rpergewicht|eigengewicht|kgw"
    r"|poids (?:du|de) corps|pdc|peso corporal|kg(?=\s*[+-]))"
)
_PER_HAND = (
    r"(?:/|per|each|je|pro|a)?\s*(?:hand|side|arm|dumbbell|db|each|ea\.?|seite|kh)"
)


@dataclass(frozen=True, slots=True)
class Refusal:
    """Why a cell cannot be read.

    Attributes
    ----------
    problem : str
        What is wrong.
    accepted : str
        What would be accepted.
    """

    problem: str
    accepted: str


@dataclass(frozen=True, slots=True)
class Load:
    """A load as a cell gives it.

    Attributes
    ----------
    value : float
        In its own unit. [1]
    unit : str
        ``kg``, ``lb``, ``stone``, or empty if the cell does not say.
    on_body : bool
        Body mass plus or minus the value.
    counts : str
        ``per_hand`` or ``total`` if the cell says so, else empty.
    """

    value: float
    unit: str = ""
    on_body: bool = False
    counts: str = ""


@cache
def words() -> dict[str, Any]:
    """Word lists of `data/words.toml`.

    Returns
    -------
    words : dict
        By list.
    """
    text = (files("analytics.intake") / "data" / "words.toml").read_text("utf-8")
    return tomllib.loads(text)


@cache
def _meaning(table: str) -> dict[str, str]:
    return {word: key for key, group in words()[table].items() for word in group}


def _refused(text: str, accepted: str) -> Refusal:
    if text.startswith("="):
        return Refusal("a formula, not a value", f"{accepted}, as a value")
    if text.startswith("#") and text.endswith(("!", "?", "A")):
        return Refusal("a spreadsheet error", accepted)
    if sign := odd_numeral(text):
        return Refusal(f"`{sign}` is no digit, so the number is open", accepted)
    return Refusal("not a number", accepted)


def read_label(text: str) -> str | Refusal:
    """Read a name of a lifter or of equipment.

    Parameters
    ----------
    text : str
        Cell.

    Returns
    -------
    label : str or Refusal
        As found.
    """
    problem = label_problem(text)
    return Refusal(problem, "the name without it") if problem else text


def read_exercise(text: str) -> str | Refusal:
    """Read the name of an exercise; line ends in it are spaces.

    Parameters
    ----------
    text : str
        Cell.

    Returns
    -------
    name_key : str or Refusal
        Normalised.
    """
    label = read_label(" ".join(text.split()))
    if isinstance(label, Refusal):
        return label
    accepted = "the name of the exercise"
    key = normalise_name(text)
    return key or Refusal("a name without letters or digits", accepted)


def read_unit(text: str) -> str | Refusal:
    """Read a unit of mass.

    Parameters
    ----------
    text : str
        Cell of a unit column.

    Returns
    -------
    unit : str or Refusal
        ``kg``, ``lb`` or ``stone``.
    """
    unit = _UNIT_OF.get(tidy(text).lower())
    return unit or Refusal("unknown unit", "kg, lb or stone")


def read_load(text: str, decimal: str = ".") -> Load | Refusal:
    """Load, with unit, body mass or count of dumbbells where the cell has them.

    Parameters
    ----------
    text : str
        Cell, for example ``22.5``, ``50 lb``, ``11 st 4 lb``, ``BW+10``, ``2x20``.
    decimal : str
        Decimal sign of the file.

    Returns
    -------
    load : Load or Refusal
        As the cell gives it.
    """
    body = tidy(text).lower()
    accepted = "a load such as 22.5, 22.5 kg, 50 lb, BW, BW+10 or BW-20"
    found = re.fullmatch(
        rf"({NUMBER})\s*(?:st|stones?)\.?\s*({NUMBER})\s*(?:lbs?|pounds?)?\.?", body
    )
    if found:
        stone, pounds = (read_number(part, decimal) for part in found.groups())
        if stone is None or pounds is None:
            return _refused(body, accepted)
        return Load(stone * KG_PER_UNIT["stone"] / KG_PER_LB + pounds, "lb")
    sign, on_body = 1.0, False
    found = re.fullmatch(rf"{_BODY}\s*(?:([+-]|plus|minus)\s*(.+))?", body)
    if found:
        if found[2] is None:
            return Load(0.0, on_body=True)
        on_body, sign = True, -1.0 if found[1] in ("-", "minus") else 1.0
        body = found[2]
    elif found := re.fullmatch(
        r"(?:assist(?:ed|ance)?)\s*-?\s*(.+)|(.+?)\s*assist(?:ed|ance)?", body
    ):
        on_body, sign, body = True, -1.0, found[1] or found[2]
    counts = ""
    if found := re.fullmatch(rf"(?:2\s?x\s?)({NUMBER}.*)|(.+?)\s*{_PER_HAND}", body):
        counts, body = "per_hand", (found[1] or found[2]).strip(" /@")
    elif found := re.fullmatch(r"(.+?)\s*(?:in )?(?:total|together|insgesamt)", body):
        counts, body = "total", found[1]
    found = re.fullmatch(rf"({NUMBER})\s*([a-z#]+\.?)?", body)
    value = read_number(found[1], decimal) if found else None
    if found is None or value is None:
        return _refused(body, accepted)
    unit = _UNIT_OF.get(found[2], "?") if found[2] else ""
    if unit == "?":
        return Refusal(f"unknown unit `{found[2]}`", accepted)
    return Load(sign * value, unit, on_body, counts)


def _with_words(
    text: str, decimal: str = ".", *, pattern: str, accepted: str
) -> float | Refusal:
    """Read a number with the words that may stand around it."""
    found = re.fullmatch(pattern.replace("NUMBER", f"({NUMBER})"), tidy(text).lower())
    value = read_number(found[1], decimal) if found else None
    return _refused(tidy(text), accepted) if value is None else value


# Readers of a cell and the decimal sign of its file, like those below.
read_plain = partial(_with_words, pattern="NUMBER", accepted="a number")
read_reps = partial(  # fractions are partial last repetitions
    _with_words,
    pattern=r"NUMBER\s*(?:x|reps?\.?|wdh\.?|times|mal)?",
    accepted="repetitions done, such as 8, or a list such as 8, 8, 7",
)
read_of_ten = partial(
    _with_words,
    pattern=r"(?:rpe|@)?\s*NUMBER\s*(?:/\s*10|rpe)?",
    accepted="a number from 0 to 10",
)
read_degrees = partial(
    _with_words,
    pattern=r"NUMBER\s*(?:°|deg\.?|degrees?|grad)?",
    accepted="degrees, such as 90",
)


_EFFORT = re.compile(
    rf"(?:rir|rpe|@)?\s*({NUMBER})(?:\s*(?:rir|rpe)?\s*(?:[-‐‒—―~]|to|or|bis|oder|à|a|ou)"
    rf"\s*(?:rir|rpe|@)?\s*({NUMBER}))?\s*(?:/\s*10)?\s*(?:rir|rpe)?"
)
_WIDEST, _FARTHEST = 3, 6  # intervals beyond are repetitions or dates, not reserve


def _effort(
    text: str, decimal: str = ".", *, scale: str, example: str
) -> float | tuple[float, float] | Refusal:
    """Read reserve or exertion: a number, or the ends of an interval, lower first."""
    body, ten = tidy(text).lower(), scale == "rpe"
    accepted = f"a number such as {example}, or a word for failure"
    found = _EFFORT.fullmatch(body)
    parts = filter(None, found.groups()) if found else ()
    ends = [read_number(part, decimal) for part in parts]
    said = {word for word in ("rir", "rpe", "@", "/") if word in body}
    two_scales = {"rir", "rpe"} <= said or ("@" in said and not ten)
    if not ends or None in ends or two_scales:
        return _refused(body, accepted)
    low, *_, high = sorted(value or 0.0 for value in ends * 2)
    if said & ({"rir"} if ten else {"rpe", "/"}):  # what the other column would hold
        low, high = 10 - high, 10 - low
    if low == high:
        return low
    farthest = 10 if ten or said else _FARTHEST
    if low < 0 or high > farthest or high - low > _WIDEST or re.search(r"\b0\d", body):
        return Refusal("repetitions or a date rather than how hard it was", accepted)
    return low, high


read_effort = partial(_effort, scale="rir", example="2, an interval such as 1-2")
read_exertion = partial(_effort, scale="rpe", example="8, an interval such as 8-9")


def read_rotation(text: str, decimal: str = ".") -> float | Refusal:
    """Forearm rotation in degrees or words.

    Parameters
    ----------
    text : str
        Cell, for example ``90`` or ``supinated``.
    decimal : str
        Decimal sign of the file.

    Returns
    -------
    rotation_deg : float or Refusal
        90 supinated, 0 neutral, -90 pronated. [deg]
    """
    word = None if odd_numeral(text) else _meaning("rotation").get(normalise_name(text))
    accepted = "degrees from 90 (supinated) to -90 (pronated), or those words"
    if word is not None:
        return float(word)
    value = read_degrees(text, decimal)
    return Refusal(value.problem, accepted) if isinstance(value, Refusal) else value


def read_seconds(text: str, decimal: str = ".") -> float | Refusal:
    """Duration, ``30``, ``30 s``, ``1:05`` or ``2 min``.

    Parameters
    ----------
    text : str
        Cell.
    decimal : str
        Decimal sign of the file.

    Returns
    -------
    duration_s : float or Refusal
        The duration. [s]
    """
    body = tidy(text).lower()
    if found := re.fullmatch(r"(?:(\d+):)?(\d{1,3}):([0-5]\d(?:[.,]\d+)?)", body):
        hours, minutes, seconds = found.groups()
        whole = int(hours or 0) * 3600 + int(minutes) * 60
        return whole + float(seconds.replace(",", "."))
    if found := re.fullmatch(rf"({NUMBER})\s*(?:min|minutes?|minuten?)\.?", body):
        minutes_read = read_number(found[1], decimal)
        if minutes_read is not None:
            return minutes_read * 60
    pattern = r"""NUMBER\s*(?:s|sec\.?|secs|seconds?|sek\.?|sekunden|")?"""
    accepted = "seconds, such as 30 or 1:05"
    return _with_words(text, decimal, pattern=pattern, accepted=accepted)


def read_yes_no(text: str, decimal: str = ".") -> float | Refusal:
    """Yes or no.

    Parameters
    ----------
    text : str
        Cell.
    decimal : str
        Not used; every reader has it.

    Returns
    -------
    answer : float or Refusal
        1 or 0.
    """
    body = tidy(text).lower()
    known = _meaning("yes_no")
    answer = known.get(body) or known.get(normalise_name(body))
    if answer is None or odd_numeral(body):
        return Refusal("neither yes nor no", "yes or no")
    return 1.0 if answer == "yes" else 0.0


def read_side(text: str) -> str | Refusal:
    """Side of the body.

    Parameters
    ----------
    text : str
        Cell.

    Returns
    -------
    side : str or Refusal
        ``left``, ``right``, or empty for both.
    """
    body = tidy(text).lower().rstrip(".")
    side = _meaning("side").get(body) or _meaning("side").get(normalise_name(body))
    if side is None:
        return Refusal("unknown side", "left, right or both")
    return "" if side == "both" else side


def read_length(text: str, decimal: str = ".") -> float | Refusal:
    """Length of a body part or stature, in metres.

    Parameters
    ----------
    text : str
        Cell, for example ``1.82``, ``182 cm``, ``5'11"``. A bare number below 3 is
        metres, from 3 on centimetres: no body measure fits both.
    decimal : str
        Decimal sign of the file.

    Returns
    -------
    length_m : float or Refusal
        The length. [m]
    """
    body = tidy(text).lower()
    if found := re.fullmatch(
        r"""(\d)\s*(?:'|ft\.?|feet)\s*(\d{1,2}(?:[.,]\d+|\s?[¼½¾])?)?\s*"""
        r"""(?:"|''|in\.?|inches)?""",
        body,
    ):
        inches = read_number((found[2] or "0").replace(",", "."))
        return (int(found[1]) * 12 + (inches or 0)) * 0.0254
    found = re.fullmatch(rf"({NUMBER})\s*(m|cm|mm|in\.?|inch|inches|\")?", body)
    value = read_number(found[1], decimal) if found else None
    if found is None or value is None:
        return _refused(body, "a length such as 1.82 m, 182 cm or 5'11\"")
    unit = (found[2] or ("m" if value < 3 else "cm")).rstrip(".")
    scale = {"m": 1.0, "cm": 0.01, "mm": 0.001}.get(unit, 0.0254)  # inch: 1959, exact
    return value * scale
