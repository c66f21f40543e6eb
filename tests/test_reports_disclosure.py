"""Nobody can be found in a published table, totals and differences included."""

import hashlib

import pytest

from analytics.errors import InputError
from analytics.reports.disclosure import (
    check_smallest_cell,
    plain_text,
    pseudonyms,
    read_key,
    rounded_count,
    suppressed_cells,
)


def people(*numbers: int, sets: int = 3) -> list[str]:
    return [f"R{n:02d}" for n in numbers] * sets


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
    path.write_bytes(b"a secret of the club\n")
    path.chmod(0o600)
    return path


def test_a_key_is_read_without_its_line_end(key_file, tmp_path):
    out = tmp_path / "out"
    assert read_key(key_file, exported=out) == b"a secret of the club"


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
    assert "secret" not in str(caught.value)


def test_a_key_in_the_folder_that_is_passed_on_is_refused(key_file):
    with pytest.raises(InputError, match="keep it elsewhere"):
        read_key(key_file, exported=key_file.parent)


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


# OWASP ASVS 1.2.10 and CWE-1236: text that begins with = + - @ tab or NUL. OWASP's
# page on CSV injection adds full-width signs and new cells behind a separator.
@pytest.mark.published
@pytest.mark.parametrize(
    "start",
    [
        *("=", "+", "-", "@", "\t", "\0", "\r", "\n", " ="),
        "＝",
        "＋",
        "－",
        "＠",
        "\u00a0=",
    ],
)
def test_text_that_a_spreadsheet_would_run_is_disarmed(start):
    text = f"{start}HYPERLINK(1)"
    assert plain_text(text) == "'" + text


@pytest.mark.published
@pytest.mark.parametrize("separator", [";", ",", "\t", "|", "\n"])
def test_a_formula_behind_a_separator_is_disarmed(separator):
    text = plain_text(f"bench{separator}=HYPERLINK(1)")
    assert text == f"bench{separator}'=HYPERLINK(1)"


@pytest.mark.parametrize(
    "text", ["low_cable_curl @ stack 1", "pad [50:120]", "bar - blue, 10 kg", "1-2"]
)
def test_ordinary_text_is_left_alone(text):
    assert plain_text(text) == text
