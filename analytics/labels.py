"""What a name may hold, and how text out of files is shown."""

from __future__ import annotations

import json
import re
import unicodedata
from typing import Any

# As sentences have it; Streamlit's own form leaves no space before the sign.
PER_CENT = "%.1f\N{NO-BREAK SPACE}%%"
_UNSEEN = ("Cc", "Cf", "Cs", "Zl", "Zp")
# Letters that leave no mark, and the joiners that some scripts and emoji need.
_EMPTY_LETTERS = "\u034f\u115f\u1160\u17b4\u17b5\u2800\u3164\uffa0"
_JOINERS = "\u200c\u200d"
_SELECTORS = re.compile("[\u180b-\u180f\ufe00-\ufe0f\U000e0100-\U000e01ef]")
_WITHOUT_JOINERS = ("LATIN", "GREEK", "CYRILLIC", "COMBINING")


def label_problem(text: str) -> str | None:
    """Say what of a name cannot be seen.

    Parameters
    ----------
    text : str
        Name of a lifter, an exercise or equipment.

    Returns
    -------
    problem : str or None
        None for a name in which every character is seen or needed by its script.

    Notes
    -----
    Two names that look alike would be two lifters. A joiner (U+200C, U+200D) is
    accepted between letters of the scripts that need it and between emoji; a
    variation selector after anything but ASCII. Controls, marks of direction and
    other characters without a sign are not.
    """
    if text.isascii() and text.isprintable():
        return None
    for at, sign in enumerate(text):
        around = text[at - 1 : at] + text[at + 1 : at + 2]
        if sign in _JOINERS:
            good = len(around) == 2 and all(map(_joins, around))
        elif _SELECTORS.match(sign):
            good = at > 0 and not text[at - 1].isascii()
        else:
            good = sign in " \u00a0" or (
                unicodedata.category(sign) not in _UNSEEN and sign not in _EMPTY_LETTERS
            )
        if not good:
            name = unicodedata.name(sign, "a control character").lower()
            return f"a character that cannot be seen (U+{ord(sign):04X}, {name})"
    return None


def _joins(sign: str) -> bool:
    name = unicodedata.name(sign, "")
    kind = unicodedata.category(sign)
    return not name.startswith(_WITHOUT_JOINERS) and (
        kind[0] in "LM" or kind == "So" or name.startswith("EMOJI MODIFIER")
    )


def shown(text: str) -> str:
    r"""Text for a terminal: signs that would be orders to it become visible.

    Parameters
    ----------
    text : str
        Anything, files and names of files included.

    Returns
    -------
    text : str
        The same with controls but for line ends and tabs, and marks of direction,
        written as JSON writes them, ``\u001b``; so JSON stays JSON.
    """
    if text.isprintable():
        return text
    return "".join(
        sign
        if sign in "\n\t" + _JOINERS or unicodedata.category(sign) not in _UNSEEN
        else json.dumps(sign)[1:-1]
        for sign in text
    )


_TYPE = (  # a minus is no hyphen, and a sign does not leave its number at a line's end
    (re.compile(r"(?<=[ (])-(?=\d)"), "\N{MINUS SIGN}"),
    (re.compile(r"(?<=\d) ?%"), "\N{NO-BREAK SPACE}%"),
    (re.compile(r"\bp ([=<]) "), "p\N{NO-BREAK SPACE}\\1\N{NO-BREAK SPACE}"),
)


def typeset(value: Any) -> Any:
    """Set a sentence as it is printed: minus signs, and a space before per cent.

    Parameters
    ----------
    value : any
        Anything but plain text is returned as it is.

    Returns
    -------
    value : any
    """
    if type(value) is not str:
        return value
    for found, put in _TYPE:
        value = found.sub(put, value)
    return value
