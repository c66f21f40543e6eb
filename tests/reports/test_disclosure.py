"""Nobody can be found in a published table, totals and differences included."""

import base64
import hashlib
import hmac
import subprocess

import numpy as np
import pytest
from research_club import KEY

from analytics.errors import InputError
from analytics.reports.disclosure import (
    LEAST_BITS,
    SMALLEST_CELL,
    check_key,
    check_smallest_cell,
    may_show,
    pseudonyms,
    read_key,
    rounded_count,
    suppressed_cells,
)
from analytics.reports.randomness import random_bits


def people(*numbers: int, sets: int = 3) -> list[str]:
    return [f"R{n:02d}" for n in numbers] * sets


def test_a_cell_size_below_five_is_refused():
    for wrong in (4, 0, -1, 7.5):
        with pytest.raises(InputError, match="5 or more"):
            check_smallest_cell(wrong)
    check_smallest_cell(5)
    assert SMALLEST_CELL == 10  # assumed: twice the least


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


# (n, k) rule of the trade with n = 1, k = 50 % and n = 2, k = 75 %: common practice,
# values assumed.
@pytest.mark.trade
@pytest.mark.parametrize(
    ("sets", "shown"),
    [
        ([10] * 10, True),
        ([90] + [10] * 9, True),
        ([91] + [10] * 9, False),
        ([120, 120] + [10] * 8, True),
        ([121, 120] + [10] * 8, False),
        ([1000] + [1] * 99, False),
        ([10] * 9, False),
    ],
)
def test_a_cell_that_one_or_two_dominate_is_withheld(sets, shown):
    codes = [f"R{n}" for n, count in enumerate(sets) for _ in range(count)]
    assert may_show(codes, smallest_cell=10) is shown


def test_a_dominated_cell_takes_another_with_it():
    line = {"a": people(*range(12)), "b": people(*range(11)) + ["R01"] * 40}
    line["c"] = people(*range(14))
    assert suppressed_cells(line, smallest_cell=10) == {"a", "b"}


def test_an_empty_cell_is_about_nobody_and_stays():
    line = {"a": people(*range(12)), "b": [], "c": people(*range(20))}
    assert suppressed_cells(line, smallest_cell=10) == set()


def test_cells_whose_sets_the_total_would_fix_are_withheld_with_more():
    # Two cells that sum to eleven sets: each could be 1 to 10 only, and the four
    # cells of one set each that sum to four could be nothing but 1.
    line = {n: people(n, sets=1) for n in range(4)} | {"a": people(*range(4, 20))}
    assert suppressed_cells(line, smallest_cell=5) == set(line)
    line = {n: people(n) for n in range(5)} | {"a": people(*range(5, 20))}
    assert suppressed_cells(line, smallest_cell=5) == set(range(5))


@pytest.mark.parametrize(
    ("count", "cell", "told"),
    [(14, 10, 10), (15, 10, 15), (10, 10, 10), (8, 7, 7), (12, 7, 10), (9, 5, 5)],
)
def test_counts_are_rounded_down_but_never_below_the_cell(count, cell, told):
    assert rounded_count(count, smallest_cell=cell) == told


@pytest.fixture
def key_file(tmp_path):
    path = tmp_path / "key"
    path.write_bytes(KEY + b"\n")
    path.chmod(0o600)
    return path


def test_a_key_is_read_without_its_line_end(key_file, tmp_path):
    out = tmp_path / "out"
    assert read_key(key_file, exported=out) == KEY


@pytest.mark.parametrize(
    ("spoil", "told"),
    [
        (lambda path: path.write_bytes(b"geheim"), "16 bytes or more, got 6"),
        (lambda path: path.chmod(0o644), "chmod 600"),
        (lambda path: path.unlink(), "cannot read"),
    ],
    ids=["short", "open", "missing"],
)
def test_a_key_that_is_short_open_or_missing_is_refused_and_not_shown(
    key_file, tmp_path, spoil, told
):
    spoil(key_file)
    with pytest.raises(InputError, match=told) as caught:
        read_key(key_file, exported=tmp_path / "out")
    assert "geheim" not in str(caught.value)
    assert KEY.decode() not in str(caught.value)


def test_a_key_in_the_folder_that_is_passed_on_is_refused(key_file):
    with pytest.raises(InputError, match="keep it elsewhere"):
        read_key(key_file, exported=key_file.parent)


def test_a_pseudonym_needs_the_key_and_stays_the_same_with_it():
    codes = ["R01", "R02"]
    one = pseudonyms(codes, key=KEY)
    assert one == pseudonyms(codes, key=KEY)
    assert set(one.values()).isdisjoint(pseudonyms(codes, key=KEY[::-1]).values())
    plain = {hashlib.sha256(code.encode()).hexdigest()[:16] for code in codes}
    assert set(one.values()).isdisjoint(plain)


# The keys of RFC 4231 are of one byte repeated, which is refused: so the openssl of
# the machine makes a key and the names.
@pytest.mark.external
def test_pseudonyms_are_the_hmac_of_openssl():
    def openssl(*arguments: str, text: str = "") -> str:
        done = subprocess.run(
            ["openssl", *arguments],
            input=text,
            capture_output=True,
            text=True,
            check=True,
        )
        return done.stdout.strip()

    key = openssl("rand", "-hex", "32")
    told = openssl("dgst", "-sha256", "-hmac", key, "-r", text="R01")
    assert pseudonyms(["R01"], key=key.encode())["R01"] == told[:16]


WORDS = (
    *(b"short", b"a secret of the club", b"correcthorsebatterystaple", b"Kraft" * 8),
    *(b"CorrectHorseBatteryStapleOfTheClub2026", b"0" * 64, b"0123456789abcdef" * 4),
    *(b"deadbeef" * 8, b"2026112620261125202611242026112320261122", bytes(range(32))),
    *(b"\xff" * 32, b"qwertyuiopasdfghjklzxcvbnmqwerty1234567890"),
    *(b"a secret of the club".hex().encode(), "Schlüssel".encode() * 4),
    *(
        base64.b64encode(b"a secret of the rowing club"),
        b"abcdefghijklmnopqrstuvwxyzABCD",
    ),
    b"550e8400-e29b-41d4-a716-446655440000",  # RFC 9562: 122 random bits
)


@pytest.mark.parametrize("key", WORDS)
def test_a_key_that_can_be_guessed_is_refused(key):
    with pytest.raises(InputError, match="make one with: openssl rand -hex 32"):
        pseudonyms(["R01"], key=key)


# The dictionary attack: every code of a club under every word of a list, against the
# published names. What is accepted is no word of a list.
def test_no_key_of_a_dictionary_gives_a_name_that_is_published():
    words = [*WORDS, *(f"club{year}".encode() for year in range(1900, 2027))]
    accepted = [word for word in words if random_bits(word) >= LEAST_BITS]
    assert accepted == []
    names = set(pseudonyms([f"R{n:02d}" for n in range(1, 15)], key=KEY).values())
    for word in words:
        guessed = hmac.new(word, b"R01", hashlib.sha256).hexdigest()[:16]
        assert guessed not in names


@pytest.mark.parametrize(
    "made",
    [
        lambda rng: rng.bytes(16),
        lambda rng: rng.bytes(16).hex().encode(),
        lambda rng: rng.bytes(32).hex().upper().encode(),
        lambda rng: base64.b64encode(rng.bytes(32)),
        lambda rng: base64.urlsafe_b64encode(rng.bytes(32)).rstrip(b"="),
    ],
    ids=["bytes", "hex", "HEX", "base64", "base64url"],
)
def test_random_keys_of_128_bits_and_more_are_accepted(made):
    rng = np.random.default_rng(8)
    refused = [key for _ in range(2000) if random_bits(key := made(rng)) < LEAST_BITS]
    assert refused == []  # expected: one in 20,000


@pytest.mark.parametrize(("bits", "accepted"), [(127.9, False), (128.0, True)])
def test_a_key_of_sixteen_bytes_needs_128_bits(bits, accepted, monkeypatch):
    monkeypatch.setattr("analytics.reports.disclosure.random_bits", lambda _: bits)
    if accepted:
        check_key(b"x" * 16)
    else:
        with pytest.raises(InputError, match="needs 128"):
            check_key(b"x" * 16)
    with pytest.raises(InputError, match="must be 16 bytes or more, got 15"):
        check_key(b"x" * 15)


def test_shorter_random_keys_are_refused_with_what_they_hold():
    key = np.random.default_rng(8).bytes(14).hex().encode()
    with pytest.raises(InputError, match="holds 112 bits of randomness at most"):
        pseudonyms(["R01"], key=key)
