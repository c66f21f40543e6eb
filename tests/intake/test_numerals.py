"""A number is read rightly or rejected, whichever way it is read."""

from __future__ import annotations

import math
from functools import cache

import duckdb
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analytics.intake import cells
from analytics.intake.cells import Refusal
from analytics.intake.dates import read_date
from analytics.intake.fields import READERS
from analytics.intake.numerals import read_number
from analytics.intake.steps import statement
from analytics.intake.unfold import unfold
from analytics.store import sets

HEADER = "lifter;date;exercise;load_kg;reps;rir\n"
# Numbers of any script that are digits (Unicode, General_Category Nd), by their value.
DIGITS = {
    "２２.５": 22.5, "٢٢": 22, "۲۲": 22, "२२": 22, "𝟐𝟐.𝟓": 22.5, "2٢": 22,
}  # fmt: skip
FRACTIONS = {"22½": 22.5, "22 ¼": 22.25, "½": 0.5, "7⅓": 7 + 1 / 3, "-2½": -2.5}
NO_NUMBER = [
    "20¹", "8²", "20₁", "20①", "①", "⑧", "8⒈", "🄁", "⑴", "Ⅷ", "20ª1", "22.5½",
    "22½5", "½½", "20*", "20†", "20[1]", "20(1)", "+-8", "-+8", "1_0", "8\u20e3",
    "2\u03360\u0336",
    "2\u200b0", "2\u202e0", "20㎥", "八", "〇", "nan", "inf", "22 1/2", "22⁄2",
    "1/2", "20\x1b[0m", "1e", "e2",
]  # fmt: skip


@pytest.mark.parametrize(("text", "value"), (DIGITS | FRACTIONS).items())
def test_digits_of_any_script_and_fractions_are_read_rightly(text, value):
    assert read_number(text) == pytest.approx(value, rel=1e-12)
    assert cells.read_load(f"{text} kg").value == pytest.approx(value, rel=1e-12)
    for decimal in ".,":
        assert read_number(text, decimal) == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize("text", NO_NUMBER)
def test_what_is_no_number_is_none_for_every_reader(text):
    for decimal in ".,":
        assert read_number(text, decimal) is None
        assert isinstance(cells.read_load(text, decimal), Refusal)
        for reader in READERS.values():
            assert isinstance(reader(text, decimal), Refusal), reader
        for load in ("20", ""):
            found = unfold("", load, text, decimal)
            sets_in_cell = [] if isinstance(found, Refusal) else found
            for entry in sets_in_cell:
                assert isinstance(cells.read_reps(entry.reps, decimal), Refusal)
    for order in ("dmy", "mdy", "iso"):
        assert isinstance(read_date(text, order), Refusal)


@pytest.mark.parametrize("text", ["1² January 2025", "6.①.2025", "2025-01-0⁶"])
def test_a_date_with_a_footnote_mark_is_no_date(text):
    assert isinstance(read_date(text, "dmy"), Refusal)


@cache
def _reading_plain(decimal):
    con = duckdb.connect()
    con.execute(statement("plain_comma" if decimal == "," else "plain_point"))
    return con


SIGN = st.sampled_from([*"0123456789.,+-e_ '", "²", "½", "٢", "２", "n", "x", "\t"])


@settings(max_examples=500, deadline=None)
@given(text=st.text(SIGN, min_size=1, max_size=7), decimal=st.sampled_from(".,"))
def test_the_fast_way_reads_what_the_slow_way_reads(text, decimal):
    query = "SELECT plain($text)"
    fast = _reading_plain(decimal).execute(query, {"text": text}).fetchall()[0][0]
    if fast is not None and math.isfinite(fast):
        assert read_number(text, decimal) == fast


def test_rows_with_such_numbers_are_taken_or_rejected_and_never_another_number(
    store, bring
):
    # `nan` in a table is an empty cell
    cells_ = [*DIGITS, *FRACTIONS, *(text for text in NO_NUMBER if text != "nan")]
    for column in ("load", "reps", "rir"):
        rows = []
        for n, text in enumerate(cells_):
            values = {"load": "20", "reps": "8", "rir": "1"} | {column: text}
            rows.append(
                ";".join(
                    [f"{column}{n}", "2025-01-06", "barbell curl", *values.values()]
                )
            )
        result = bring(HEADER + "\n".join(rows), name=f"{column}.csv",
                       columns='[read]\ndecimal = "."\ndelimiter = ";"')  # fmt: skip
        taken = {i: cells_[i] for i in range(len(cells_))}
        # what is no number costs a reserve, and otherwise the row
        for issue in result.efforts_not_read if column == "rir" else result.issues:
            taken.pop(issue.row - 2, None)
            assert issue.value == cells_[issue.row - 2]
        good = {t for t, v in (DIGITS | FRACTIONS).items() if v > 0}
        if column != "load":
            good = {t for t in good if (DIGITS | FRACTIONS)[t] <= 30}
        assert set(taken.values()) == good
        stored = sets(store)
        name = {"load": "load_kg"}.get(column, column)
        for n, text in taken.items():
            (value,) = stored.loc[stored["lifter"] == f"{column}{n}", name]
            assert value == pytest.approx((DIGITS | FRACTIONS)[text], abs=1e-6)


def test_a_stature_in_feet_may_end_in_a_fraction():
    # 5 ft 11.5 in; 1 in = 0.0254 m exactly (1959)
    assert cells.read_length("5'11½\"") == pytest.approx(71.5 * 0.0254)
