"""Numbers as people write them: signs, thousands marks, either decimal sign."""

from __future__ import annotations

import re
import unicodedata

_SIGNS = str.maketrans({"−": "-", "–": "-", "’": "'", "‘": "'", "\u00a0": " ",
                        "\u202f": " ", "\u2009": " ", "×": "x", "✕": "x"})  # fmt: skip
_FRACTION = "[¼½¾⅐-⅞↉]"
NUMBER = (
    r"[+-]?\s?(?:(?:\d(?:[\d.,']|(?<=\d) (?=\d{3}(?!\d)))*|[.,]\d+)"
    rf"(?:e[+-]?\d{{1,3}}|\s?{_FRACTION})?|{_FRACTION})"
)


def tidy(text: str) -> str:
    """Text with plain signs and spaces.

    Parameters
    ----------
    text : str
        As found.

    Returns
    -------
    text : str
        Trimmed; typographic minus, apostrophe, times and spaces made plain, digits of
        any script made ASCII. Superscripts, circled numbers and fractions stay what
        they are, since they are no digits of the number before them.
    """
    if not text.isascii():
        text = unicodedata.normalize("NFC", "".join(map(_plain, text)))
    return " ".join(text.translate(_SIGNS).split())


def _plain(sign: str) -> str:
    digit = unicodedata.decimal(sign, None)
    if digit is not None:
        return str(digit)
    plain = unicodedata.normalize("NFKC", sign)
    return sign if any(part.isdigit() for part in plain) else plain


def odd_numeral(text: str) -> str:
    """Find a sign that holds a number and is no digit.

    Parameters
    ----------
    text : str
        Cell.

    Returns
    -------
    sign : str
        Such as ``²`` or ``①``; empty if there is none.
    """
    kinds = ("No", "Nl")
    return next((sign for sign in text if unicodedata.category(sign) in kinds), "")


def decimal_evidence(text: str) -> str:
    """Decimal sign that a number proves.

    Parameters
    ----------
    text : str
        Cell.

    Returns
    -------
    sign : str
        ``.`` or ``,``; ``?`` if it could be either; empty if it shows none.
    """
    found = re.search(r"\d[\d.,' ]*", tidy(text))
    body = found[0].replace("'", "").replace(" ", "").strip(".,") if found else ""
    signs = [sign for sign in body if sign in ".,"]
    if not signs:
        return ""
    if len(set(signs)) == 2:
        return signs[-1]
    before, after = body.split(signs[0])[0], body.split(signs[-1])[-1]
    if len(signs) > 1:
        return (
            ","
            if signs[0] == "." and len(after) == 3
            else ("." if len(after) == 3 else "")
        )
    if len(after) != 3 or len(before) > 3 or before == "0":
        return signs[0]
    return "?"


def load_evidence(text: str) -> set[str]:
    """Decimal signs that the loads inside a shorthand cell prove.

    Parameters
    ----------
    text : str
        Cell, for example ``3x8 @ 22,5kg``.

    Returns
    -------
    signs : set of str
        As from `decimal_evidence`.
    """
    loads = re.findall(
        rf"@\s*({NUMBER})|({NUMBER})\s*(?:kg|lb|x)|x\s*({NUMBER})\s*(?:kg|lb|$)",
        tidy(text).lower(),
    )
    return {decimal_evidence(part) for parts in loads for part in parts} - {""}


def read_number(text: str, decimal: str = ".") -> float | None:
    """Read a number with thousands marks and either decimal sign.

    Parameters
    ----------
    text : str
        Cell, tidy or not.
    decimal : str
        Decimal sign of the file; decides only where both readings are possible.

    Returns
    -------
    value : float or None
        None if it is no single number.
    """
    body = tidy(text).lower().replace("- ", "-").replace("+ ", "+")
    if not re.fullmatch(NUMBER, body):
        return None
    if found := re.fullmatch(rf"([+-]?)(\d*) ?({_FRACTION})", body):
        value = float(found[2] or 0) + unicodedata.numeric(found[3])
        return -value if found[1] == "-" else value
    if found := re.fullmatch(r"(.*)e(.*)", body):
        factor = read_number(found[1], decimal)
        return None if factor is None else float(f"{factor!r}e{found[2]}")
    if re.search(r"[ ']", body):
        if not re.fullmatch(r"[+-]?\d{1,3}(?:[ ']\d{3})+(?:[.,]\d+)?", body):
            return None
        body = re.sub(r"[ ']", "", body)
    signs = [sign for sign in body if sign in ".,"]
    if len(signs) == 1:
        proof = decimal_evidence(body)
        decimal = decimal if proof == "?" else signs[0]
    elif len(signs) > 1:
        decimal = signs[-1] if len(set(signs)) == 2 else "," if signs[0] == "." else "."
    thousands = "," if decimal == "." else "."
    whole = body.split(decimal)[0].lstrip("+-")
    if body.count(decimal) > 1 or (
        thousands in whole
        and not re.fullmatch(rf"\d{{1,3}}(?:\{thousands}\d{{3}})+", whole)
    ):
        return None
    body = body.replace(thousands, "").replace(decimal, ".")
    try:
        return float(body)
    except ValueError:
        return None
