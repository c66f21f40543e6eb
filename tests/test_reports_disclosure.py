"""Nobody can be found in a published table, totals and differences included."""

import hashlib

import numpy as np
import pytest
from scipy.optimize import linprog

from analytics.errors import InputError
from analytics.reports.disclosure import (
    check_smallest_cell,
    plain_text,
    pseudonyms,
    suppressed_cells,
)


def people(*numbers: int) -> frozenset[str]:
    return frozenset(f"R{n:02d}" for n in numbers)


def test_a_cell_size_below_five_is_refused():
    for wrong in (4, 0, -1, 7.5):
        with pytest.raises(InputError, match="5 or more"):
            check_smallest_cell(wrong)
    check_smallest_cell(5)


# Rule of the trade: CMS cell size suppression policy (read as text, 2024): no cell
# of 1 to 10, and none that can be derived by subtraction; zero may be shown.
@pytest.mark.trade
def test_one_small_cell_takes_another_with_it_so_that_the_total_does_not_reveal_it():
    line = {"a": people(*range(12)), "b": people(*range(11)), "c": people(1, 2)}
    assert suppressed_cells(line, smallest_cell=10) == {"b", "c"}


@pytest.mark.trade
def test_two_small_cells_of_the_same_few_lifters_still_take_a_third():
    # The total minus the published cells would describe lifters 1 and 2 alone.
    line = {"a": people(*range(12)), "b": people(1, 2), "c": people(1, 2)}
    assert suppressed_cells(line, smallest_cell=10) == {"a", "b", "c"}


def test_an_empty_cell_is_about_nobody_and_stays():
    line = {"a": people(*range(12)), "b": frozenset(), "c": people(*range(20))}
    assert suppressed_cells(line, smallest_cell=10) == set()


def bounds(total: int, published: int, unknown: int, cell: int) -> tuple[float, float]:
    """Smallest and largest count a cell can have given the published numbers."""
    goal = np.eye(unknown)[cell]
    found = [
        linprog(
            sign * goal,
            A_eq=np.ones((1, unknown)),
            b_eq=[total - published],
            bounds=(1, None),
        ).fun
        * sign
        for sign in (1, -1)
    ]
    return found[0], found[1]


# The attacker is a linear programme (scipy's HiGHS): everything published is a
# constraint, and he asks for the narrowest bracket on each withheld count.
@pytest.mark.external
@pytest.mark.parametrize("seed", range(30))
def test_differencing_totals_pins_no_withheld_count(seed):
    rng = np.random.default_rng(seed)
    line = {
        cell: people(*rng.choice(40, size=rng.integers(1, 25), replace=False))
        for cell in range(8)
    }
    sets = {cell: len(who) * int(rng.integers(3, 9)) for cell, who in line.items()}
    withheld = sorted(suppressed_cells(line, smallest_cell=10))
    published = sum(n for cell, n in sets.items() if cell not in withheld)
    for number, _ in enumerate(withheld):
        low, high = bounds(sum(sets.values()), published, len(withheld), number)
        assert high - low >= 5
    if withheld:
        assert len(frozenset().union(*(line[c] for c in withheld))) >= 10


def test_a_pseudonym_needs_the_key_and_stays_the_same_with_it():
    codes = ["R01", "R02"]
    one = pseudonyms(codes, key=b"a secret of the club")
    assert one == pseudonyms(codes, key=b"a secret of the club")
    assert set(one.values()).isdisjoint(
        pseudonyms(codes, key=b"another secret key").values()
    )
    plain = {hashlib.sha256(code.encode()).hexdigest()[:16] for code in codes}
    assert set(one.values()).isdisjoint(plain)


# RFC 4231, test case 2: HMAC-SHA-256 with key "Jefe" of
# "what do ya want for nothing?" begins 5bdcc146bf60754e6a042426089575c7 - its key is
# shorter than ours may be, so test case 6 (131 bytes of 0xaa) is used.
@pytest.mark.published
def test_pseudonyms_are_the_hmac_of_rfc_4231():
    text = "Test Using Larger Than Block-Size Key - Hash Key First"
    assert pseudonyms([text], key=b"\xaa" * 131)[text] == "60e431591ee0b67f"


def test_a_key_that_can_be_guessed_is_refused():
    with pytest.raises(InputError, match="16 bytes"):
        pseudonyms(["R01"], key=b"short")


# OWASP ASVS 1.2.10 and CWE-1236: text that begins with = + - @ tab or NUL.
@pytest.mark.published
@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t", "\0", "\r", " ="])
def test_text_that_a_spreadsheet_would_run_is_disarmed(start):
    text = f"{start}HYPERLINK(1)"
    assert plain_text(text) == "'" + text


def test_ordinary_text_is_left_alone():
    assert plain_text("low_cable_curl @ stack 1") == "low_cable_curl @ stack 1"
