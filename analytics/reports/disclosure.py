"""What may leave the house: small cells, pseudonyms, text that is not a formula.

The rules only; which tables they apply to is in :mod:`analytics.reports.tables`.
"""

import hashlib
import hmac
from collections.abc import Mapping, Sequence
from typing import Any

from analytics.errors import InputError

SMALLEST_ALLOWED = 5
FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n", "\0", "＝", "＋", "－", "＠")


def check_smallest_cell(smallest_cell: int) -> None:
    """Refuse a cell size that would show too few people.

    Parameters
    ----------
    smallest_cell : int
        Lifters a published cell must hold at least.

    Raises
    ------
    InputError
        If it is not a whole number of 5 or more.
    """
    if not isinstance(smallest_cell, int) or smallest_cell < SMALLEST_ALLOWED:
        raise InputError(
            f"smallest_cell must be a whole number of {SMALLEST_ALLOWED} or more, "
            f"got {smallest_cell!r}"
        )


def suppressed_cells(
    lifters: Mapping[Any, frozenset[str]], *, smallest_cell: int
) -> set[Any]:
    """Choose the cells of one line that are withheld beside a published total.

    Parameters
    ----------
    lifters : mapping of cell to frozenset of str
        Who is in each cell; the line's total over all cells is published.
    smallest_cell : int
        Lifters a published cell must hold at least.

    Returns
    -------
    withheld : set
        The cells with 1 to ``smallest_cell - 1`` lifters, and then the smallest
        others until what the total minus the published cells reveals is about at
        least two cells and at least ``smallest_cell`` lifters. Empty cells are
        about nobody and stay.

    Notes
    -----
    Lines are the levels of a tree (all = setups, setup = weeks), so no loop of
    lines exists through which a withheld cell could be solved for.
    """
    filled = {cell: who for cell, who in lifters.items() if who}
    withheld = {cell for cell, who in filled.items() if len(who) < smallest_cell}
    rest = sorted(
        (cell for cell in filled if cell not in withheld),
        key=lambda cell: (len(filled[cell]), str(cell)),
    )
    while withheld and rest and not _safe(withheld, filled, smallest_cell):
        withheld.add(rest.pop(0))
    return withheld


def _safe(
    withheld: set[Any], filled: Mapping[Any, frozenset[str]], smallest_cell: int
) -> bool:
    together = frozenset().union(*(filled[cell] for cell in withheld))
    return len(withheld) >= 2 and len(together) >= smallest_cell


def pseudonyms(lifters: Sequence[str], *, key: bytes) -> dict[str, str]:
    """Replace codes by keyed hashes.

    Parameters
    ----------
    lifters : sequence of str
        Codes.
    key : bytes
        Secret of at least 16 bytes that never leaves the owner's machine.

    Returns
    -------
    pseudonyms : dict of str to str
        16 hexadecimal digits of HMAC-SHA-256 by code.

    Raises
    ------
    InputError
        If the key is short enough to be guessed.
    """
    if len(key) < 16:
        raise InputError(f"the key must be 16 bytes or more, got {len(key)}")
    return {
        code: hmac.new(key, code.encode(), hashlib.sha256).hexdigest()[:16]
        for code in lifters
    }


def plain_text(text: str) -> str:
    """Return text that no spreadsheet runs as a formula.

    Parameters
    ----------
    text : str
        A text cell; numbers are not passed through here.

    Returns
    -------
    text : str
        With a leading apostrophe where it began like a formula.

    References
    ----------
    CWE-1236; OWASP ASVS 1.2.10.
    """
    return f"'{text}" if text.lstrip(" ").startswith(FORMULA_STARTS) else text
