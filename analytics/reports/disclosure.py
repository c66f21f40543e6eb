"""What may leave the house: small cells, rounded counts, pseudonyms.

The rules only; which tables they apply to is in :mod:`analytics.reports.tables`.
"""

import hashlib
import hmac
import os
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from analytics.errors import InputError
from analytics.reports.randomness import random_bits

SMALLEST_ALLOWED = 5
SMALLEST_CELL = 10
# (n, k) rule: the n largest contributors may hold this share of a cell at most.
# It implies the p % rule up to p = 66: common practice, values assumed.
MOST_OF_ONE, MOST_OF_TWO = 0.5, 0.75
SHORTEST_KEY, LEAST_BITS = 16, 128
HOW_TO = (
    "accepted are 32 or more random hexadecimal digits, 22 or more of base64, or 16 or "
    "more random bytes; make one with: openssl rand -hex 32"
)


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


@dataclass(frozen=True, slots=True)
class Tally:
    """How many lifters did how many sets, and how many the first two of them.

    Attributes
    ----------
    lifters, sets, most, second : int
    """

    lifters: int = 0
    sets: int = 0
    most: int = 0
    second: int = 0

    @classmethod
    def of(cls, codes: "Codes") -> "Tally":
        """Tally a cell."""
        if isinstance(codes, Tally):
            return codes
        done = Counter(codes)
        most = [sets for _, sets in done.most_common(2)]
        return cls(len(done), done.total(), *most)

    def beside(self, other: "Tally") -> "Tally":
        """Tally two cells at the worst: the same few lifters did most of both."""
        return Tally(
            max(self.lifters, other.lifters),
            self.sets + other.sets,
            self.most + other.most,
            self.second + other.second,
        )


# Who did each set, how many each did, or where nobody is known their tally.
Codes = Sequence[str] | Mapping[str, int] | Tally


def may_show(codes: Codes, *, smallest_cell: int) -> bool:
    """Tell whether a figure about some sets hides each of those who did them.

    Parameters
    ----------
    codes : sequence of str, mapping of str to int, or Tally
        Who did each set, or how many each did.
    smallest_cell : int
        Lifters it must be about at least.

    Returns
    -------
    safe : bool
        False for too few lifters, or where one did more than half of the sets or two
        more than three quarters: the second could then tell what the first did.
    """
    done = Tally.of(codes)
    return (
        done.lifters >= smallest_cell
        and done.most <= MOST_OF_ONE * done.sets
        and done.most + done.second <= MOST_OF_TWO * done.sets
    )


def suppressed_cells(
    lifter_of_sets: Mapping[Any, Codes], *, smallest_cell: int
) -> set[Any]:
    """Choose the cells of one line that are withheld beside a published total.

    Parameters
    ----------
    lifter_of_sets : mapping of cell to sequence of str, mapping of str to int, or Tally
        Who did each set of the cell, or how many each did; the line's total over all
        cells is published. Of tallies the worst is taken.
    smallest_cell : int
        Lifters a published cell must hold at least.

    Returns
    -------
    withheld : set
        The cells with 1 to ``smallest_cell - 1`` lifters or dominated by one or two,
        and then the smallest others until the line is safe. Empty cells are about
        nobody and stay.

    Notes
    -----
    Lines are the levels of a tree (all = movements, movement = setups, setup =
    weeks, setup = kinds), so no loop of lines exists through which a withheld cell
    could be solved for. What a total less its published cells leaves is about at
    least two cells and ``smallest_cell`` lifters, and lets the sets of each of these
    cells be anything over a span of at least ``smallest_cell`` sets. A line that
    cannot be made so is withheld whole, and then its cells are not listed either:
    their number would tell. Above the movements the total is withheld instead.
    """
    lifters = {cell: Tally.of(codes).lifters for cell, codes in lifter_of_sets.items()}
    filled = {cell: codes for cell, codes in lifter_of_sets.items() if lifters[cell]}
    withheld = {
        cell
        for cell, codes in filled.items()
        if not may_show(codes, smallest_cell=smallest_cell)
    }
    rest = sorted(
        (cell for cell in filled if cell not in withheld),
        key=lambda cell: (lifters[cell], str(cell)),
    )
    while withheld and rest and not _safe(withheld, filled, smallest_cell):
        withheld.add(rest.pop(0))
    return withheld


def _safe(withheld: set[Any], filled: Mapping[Any, Codes], smallest_cell: int) -> bool:
    by_code: Counter[str] = Counter()
    unknown = Tally()
    for codes in (filled[cell] for cell in withheld):
        if isinstance(codes, Tally):
            unknown = unknown.beside(codes)
        else:
            by_code.update(codes)
    together = Tally.of(by_code).beside(unknown)
    return (
        len(withheld) >= 2
        and together.sets - len(withheld) >= smallest_cell
        and may_show(together, smallest_cell=smallest_cell)
    )


def rounded_count(count: int, *, smallest_cell: int) -> int:
    """Round a published count down, so that two counts cannot be subtracted.

    Parameters
    ----------
    count : int
        Lifters or sets of a cell that may be published.
    smallest_cell : int
        Lifters a published cell must hold at least.

    Returns
    -------
    at_least : int
        The multiple of 5 below, or ``smallest_cell`` where that is more.
    """
    return max(smallest_cell, count - count % SMALLEST_ALLOWED)


def read_key(path: Path, *, exported: Path) -> bytes:
    """Read the secret of the pseudonyms from a file only its owner can read.

    Parameters
    ----------
    path : Path
        32 random hexadecimal digits or more, 22 of base64, or 16 random bytes; line
        ends at the end of text do not count.
    exported : Path
        Folder the tables go to; the key may not lie there.

    Returns
    -------
    key : bytes
        The secret.

    Raises
    ------
    InputError
        If the file cannot be read, can be guessed, may be read by others, or would
        be passed on with the tables.
    """
    try:
        key = path.read_bytes()
        mode = path.stat().st_mode
    except OSError as error:
        raise InputError(f"cannot read the key file {path}: {error.strerror}") from None
    if os.name == "posix" and mode & 0o077:
        raise InputError(
            f"the key file {path} may be read by others; first: chmod 600 {path}"
        )
    if path.resolve().is_relative_to(exported.resolve()):
        raise InputError(
            f"the key file {path} lies in {exported}, which is to be passed on; "
            "keep it elsewhere"
        )
    key = key.rstrip(b"\r\n") if key.isascii() else key
    check_key(key)
    return key


def check_key(key: bytes) -> None:
    """Refuse a key that can be guessed.

    Parameters
    ----------
    key : bytes
        Secret.

    Raises
    ------
    InputError
        If it is shorter than 16 bytes or measures less than 128 bits of randomness;
        the message does not hold it.
    """
    if len(key) < SHORTEST_KEY:
        raise InputError(
            f"the key must be {SHORTEST_KEY} bytes or more, got {len(key)}; {HOW_TO}"
        )
    bits = random_bits(key)
    if bits < LEAST_BITS:
        raise InputError(
            f"the key holds {bits:.0f} bits of randomness at most, words, dates and "
            f"repeats counted as none, and needs {LEAST_BITS}; {HOW_TO}"
        )


def pseudonyms(lifters: Sequence[str], *, key: bytes) -> dict[str, str]:
    """Replace codes by keyed hashes.

    Parameters
    ----------
    lifters : sequence of str
        Codes.
    key : bytes
        Random secret that never leaves the owner's machine.

    Returns
    -------
    pseudonyms : dict of str to str
        16 hexadecimal digits of HMAC-SHA-256 by code.

    Raises
    ------
    InputError
        If the key can be guessed.
    """
    check_key(key)
    return {
        code: hmac.new(key, code.encode(), hashlib.sha256).hexdigest()[:16]
        for code in lifters
    }
