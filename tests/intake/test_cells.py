"""Reading one cell: numbers, loads, durations, dates, shorthand."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analytics.intake.cells import (
    Refusal,
    read_length,
    read_load,
    read_seconds,
    read_yes_no,
)
from analytics.intake.dates import order_evidence, read_date
from analytics.intake.numerals import decimal_evidence, read_number
from analytics.intake.unfold import unfold


@pytest.mark.parametrize(
    ("text", "decimal", "value"),
    [
        ("22.5", ".", 22.5),
        ("22,5", ".", 22.5),  # one digit after the mark cannot be thousands
        ("1,250", ".", 1250),
        ("1,250", ",", 1.25),
        ("1.250,5", ".", 1250.5),
        ("1,250.5", ",", 1250.5),
        ("1 250", ".", 1250),
        ("1'250.5", ".", 1250.5),
        ("−5", ".", -5),
        (" +3 ", ".", 3),
        ("0,250", ".", 0.25),
    ],
)
def test_a_number_is_read_with_either_decimal_sign(text, decimal, value):
    assert read_number(text, decimal) == value


@pytest.mark.parametrize("text", ["", "abc", "1,2,3", "12 5", "1..2", "3x8", "=1+2"])
def test_what_is_no_single_number_is_not_read(text):
    assert read_number(text) is None


@given(st.floats(min_value=0, max_value=1e6).map(lambda x: round(x, 2)))
def test_a_written_number_reads_back_under_every_convention(value):
    english = f"{value:,.2f}"
    german = english.translate(str.maketrans(",.", ".,"))
    swiss = english.replace(",", "'")
    assert read_number(english, ".") == pytest.approx(value)
    assert read_number(german, ",") == pytest.approx(value)
    assert read_number(swiss, ".") == pytest.approx(value)


def test_only_a_mark_before_three_digits_leaves_the_decimal_sign_open():
    assert decimal_evidence("22,5") == ","
    assert decimal_evidence("22.5") == "."
    assert decimal_evidence("1,250") == "?"
    assert decimal_evidence("1.250,5") == ","
    assert decimal_evidence("1250") == ""


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("text", "value", "unit", "on_body", "counts"),
    [
        ("22.5 kg", 22.5, "kg", False, ""),
        ("50LBS", 50, "lb", False, ""),
        ("11 st 4 lb", 158, "lb", False, ""),  # 11 x 14 + 4
        ("12 stone", 12, "stone", False, ""),
        ("BW", 0, "", True, ""),
        ("BW+10", 10, "", True, ""),
        ("KG+5", 5, "", True, ""),  # Körpergewicht; common practice, no source
        ("bodyweight - 20 kg", -20, "kg", True, ""),
        ("assisted 20", -20, "", True, ""),
        ("2x20", 20, "", False, "per_hand"),
        ("20 kg/hand", 20, "kg", False, "per_hand"),
    ],
)
def test_a_load_carries_its_unit_and_what_it_counts(text, value, unit, on_body, counts):
    load = read_load(text)
    assert (load.unit, load.on_body, load.counts) == (unit, on_body, counts)
    assert load.value == pytest.approx(value)


@pytest.mark.parametrize("text", ["heavy", "20 stones of 3", "20 bar", "=1+2", "#REF!"])
def test_a_load_that_cannot_be_read_says_what_would_be(text):
    refusal = read_load(text)
    assert isinstance(refusal, Refusal)
    assert "22.5" in refusal.accepted


@pytest.mark.analytic
def test_durations_and_lengths_are_read_in_seconds_and_metres():
    assert read_seconds("30 s") == 30
    assert read_seconds("1:05") == 65
    assert read_seconds("2 min") == 120
    assert read_length("1.82") == read_length("182") == read_length("182 cm") == 1.82
    # 5 ft 11 in = 71 in; 1 in = 0.0254 m (yard and pound agreement, 1959)
    assert read_length("5'11\"") == pytest.approx(71 * 0.0254)


def test_yes_and_no_are_read_and_nothing_else():
    assert (read_yes_no("ja"), read_yes_no("x"), read_yes_no("-")) == (1, 1, 0)
    assert isinstance(read_yes_no("maybe"), Refusal)


@pytest.mark.parametrize(
    ("text", "order"),
    [
        ("2025-03-06", "dmy"),
        ("2025-03-06T18:30:00+01:00", "mdy"),
        ("06/03/2025", "dmy"),
        ("03/06/2025", "mdy"),
        ("6.3.25", "dmy"),
        ("Do, 06.03.2025 18:30", "dmy"),
        ("6 March 2025", "iso"),
        ("6. März 2025", "iso"),
        ("Mar 6, 2025", "iso"),
        ("Thursday 6 mars 2025", "iso"),
        ("6-Mar-25", "iso"),
        ("45722", "iso"),  # days since 1899-12-30, as spreadsheets count
        ("20250306", "iso"),
    ],
)
def test_a_date_is_read_in_the_forms_logs_use(text, order):
    assert read_date(text, order) == date(2025, 3, 6)


@pytest.mark.parametrize(
    "text", ["06/03/2025", "2025-02-30", "2190-01-01", "31.11.2025", "soon", "12"]
)
def test_a_date_that_is_none_or_not_settled_is_refused(text):
    assert isinstance(read_date(text, "iso"), Refusal)


def test_a_part_above_twelve_proves_the_order():
    seen = order_evidence(["05/06/2025", "26/01/2025", "2025-01-01"])
    assert (seen.day_first, seen.month_first) == ("26/01/2025", "")
    assert seen.either == "05/06/2025"


@given(st.dates(min_value=date(1960, 1, 1), max_value=date(2026, 1, 1)))
def test_every_date_reads_back_in_the_order_it_was_written(day):
    assert read_date(day.strftime("%d/%m/%Y"), "dmy") == day
    assert read_date(day.strftime("%m/%d/%Y"), "mdy") == day
    assert read_date(day.isoformat(), "iso") == day
    assert read_date(f"{day.day} {day:%B} {day.year}", "iso") == day


def entries(sets="", load="", reps="", decimal="."):
    found = unfold(sets, load, reps, decimal)
    assert not isinstance(found, Refusal), found
    return [(entry.load, entry.reps, entry.side) for entry in found]


@pytest.mark.trade
@pytest.mark.parametrize(
    ("cell", "expected"),
    [
        ("3x8 @ 22.5kg", [("22.5kg", "8")] * 3),
        ("3×8×22.5", [("22.5", "8")] * 3),
        ("22.5 x 8, 8, 7", [("22.5", "8"), ("22.5", "8"), ("22.5", "7")]),
        ("22.5kg x 8,8,7", [("22.5kg", "8"), ("22.5kg", "8"), ("22.5kg", "7")]),
        ("20kg x 10; 22.5kg x 8", [("20kg", "10"), ("22.5kg", "8")]),
        ("20kgx10, 22.5kgx8", [("20kg", "10"), ("22.5kg", "8")]),
        ("8/8/7 @ 20kg", [("20kg", "8"), ("20kg", "8"), ("20kg", "7")]),
        ("bw+10kg x 8", [("bw+10kg", "8")]),
        ("BW+10x5", [("bw+10", "5")]),
        ("bw-20 x 8", [("bw-20", "8")]),
        ("5/5/5 x 20kg", [("20kg", "5")] * 3),
        ("20kg 3x8", [("20kg", "8")] * 3),
        ("3 sets of 8 @ 20kg", [("20kg", "8")] * 3),
        ("60 for 5", [("60", "5")]),
    ],
)
def test_shorthand_is_read_as_the_trade_writes_it(cell, expected):
    assert [entry[:2] for entry in entries(sets=cell)] == expected


@pytest.mark.trade
@pytest.mark.parametrize(
    ("cell", "load", "expected"),
    [
        ("3x8 @ 22.5kg RIR 2", "", [("22.5kg", "8", "2", "", "")] * 3),
        ("3x8x22.5 @RPE8", "", [("22.5", "8", "", "8", "")] * 3),
        ("20kg x 8 @8.5, 20kg x 7 @9", "",
         [("20kg", "8", "", "8.5", ""), ("20kg", "7", "", "9", "")]),
        ("8 @ 9", "20", [("20", "8", "", "9", "")]),
        ("8 (fail)", "20", [("20", "8", "", "", "yes")]),
        # after a list only the last set has the effort for certain
        ("22.5x8,8,7 RPE 9", "",
         [("22.5", "8", "", "", ""), ("22.5", "8", "", "", ""),
          ("22.5", "7", "", "9", "")]),
        ("8x20kg, 8x20, 6x22.5 (fail)", "",
         [("20kg", "8", "", "", ""), ("20kg", "8", "", "", ""),
          ("22.5kg", "6", "", "", "yes")]),
    ],
)  # fmt: skip
def test_an_effort_in_shorthand_goes_to_the_sets_that_certainly_have_it(
    cell, load, expected
):
    found = unfold("", load, cell)
    assert not isinstance(found, Refusal), found
    assert [(e.load, e.reps, e.rir, e.rpe, e.failed) for e in found] == expected


@pytest.mark.parametrize(
    ("cell", "load", "word"),
    [
        ("10 @ 8", "", "a load or an RPE"),
        ("5/5/5 x 20", "", "or of loads"),
        ("3x10", "", "without a load"),
        ("3x8 @ 20kg", "60", "beside one of 60"),
        ("8+2", "20", "with a pause"),
        ("8/8", "20", "two sides"),
    ],
)
def test_shorthand_that_is_refused_says_what_it_could_mean(cell, load, word):
    found = unfold("", load, cell)
    assert isinstance(found, Refusal)
    assert word in found.problem


@pytest.mark.parametrize("cell", ["3x8", "20 x 8", "3 x 8, 8, 7", "3x8+1x6 @ 20", "x"])
def test_shorthand_with_two_readings_is_not_guessed(cell):
    found = unfold("", "", cell)
    assert isinstance(found, Refusal) or found[0].load == ""


def test_a_count_repeats_a_set_and_must_agree_with_a_list():
    assert len(entries(sets="3", load="20", reps="8")) == 3
    assert [entry[1] for entry in entries("3", "20", "8, 8, 7")] == ["8", "8", "7"]
    assert isinstance(unfold("3", "20", "8, 8"), Refusal)
    assert isinstance(unfold("2.5", "20", "8"), Refusal)


def test_sides_in_a_cell_become_two_sets():
    assert entries(load="20", reps="L8 R7") == [
        ("20", "8", "left"),
        ("20", "7", "right"),
    ]


def test_a_comma_between_two_numbers_is_left_open_until_the_decimal_sign_is_known():
    assert isinstance(unfold("", "20", "8,7", "?"), Refusal)
    assert [entry[1] for entry in entries(load="20", reps="8,7")] == ["8", "7"]
    assert [entry[1] for entry in entries(load="20", reps="8,7", decimal=",")] == [
        "8,7"
    ]


@given(st.text(max_size=60), st.text(max_size=20), st.text(max_size=60))
def test_any_text_is_read_or_refused_but_never_fails(sets, load, reps):
    assert unfold(sets, load, reps, ".")
    read_load(load)
    read_date(reps, "dmy")
    read_seconds(sets)
