"""A CSV that leaves is text and numbers in every spreadsheet, and comes back whole."""

import ast
import csv
import io
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analytics.outgoing import as_before, csv_text, frame_csv, plain_text

ROOT = Path(__file__).parents[1]
SIGNS = "=+-@＝＋－＠﹢﹣﹦﹫−\0"


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


@pytest.mark.parametrize("number", ["-5", "+3,5", "-1.5e-3", "1.250,5", "-12.25"])
def test_a_number_written_out_stays_a_number(number):
    assert plain_text(number) == number


def test_a_formula_behind_two_line_ends_is_disarmed():
    assert plain_text("a\r\n=1+1").endswith("'=1+1")


@given(st.text(alphabet=SIGNS + "';,|\t\r\n\u200b a1-", max_size=12))
def test_no_part_of_a_cell_begins_a_formula_and_it_comes_back(text):
    plain = plain_text(text)
    assert as_before(plain) == text or plain == text
    if plain != text:
        parts = [plain]
        for separator in ";,|\t\r\n":
            parts = [part for whole in parts for part in whole.split(separator)]
        for part in parts:
            assert part.lstrip(" \u200b")[:1] not in set(SIGNS), (text, plain)


TABLE = pd.DataFrame(
    {
        "=lifter": ["=cmd|' /C calc'!A0", "@x", None],
        "kg": [-22.5, np.nan, 3.0],
        "sets": pd.array([-1, None, 3], dtype="Int64"),
        "on": pd.to_datetime(["2025-02-03", None, "2025-02-04"]),
        "note": pd.Categorical(["＝1+1", "fine, really", "fine, really"]),
        "known": [True, False, True],
    }
)


def test_headers_text_and_categories_are_disarmed_and_numbers_are_numbers():
    header, *rows = csv.reader(io.StringIO(frame_csv(TABLE)))
    assert header[0] == "'=lifter"
    assert rows[0] == [
        "'=cmd|' /C calc'!A0",
        "-22.5",
        "-1",
        "2025-02-03",
        "'＝1+1",
        "True",
    ]
    assert rows[1][:4] == ["'@x", "", "", ""]
    assert float(rows[2][1]) == 3


# pandas is the outside reader: what it finds are the same rows.
@pytest.mark.external
def test_ordinary_tables_are_read_back_as_they_were():
    table = TABLE.rename(columns={"=lifter": "lifter"}).assign(
        lifter=['a "b", c', "Z\n1", "Ω"], kg=[0.1, 1e-9, 1234567.25]
    )
    back = pd.read_csv(io.StringIO(frame_csv(table)), parse_dates=["on"])
    for name in ("lifter", "kg", "known"):
        assert back[name].tolist() == table[name].tolist()
    assert back["sets"].astype("Int64").equals(table["sets"])
    assert (
        back["on"].astype("datetime64[us]").equals(table["on"].astype("datetime64[us]"))
    )


def test_commands_print_the_same_text():
    assert csv_text(["a"], [["=1"], [-1], [None]]) == 'a\n\'=1\n-1\n""\n'


WRITERS = {"to_csv", "writer", "DictWriter", "to_excel", "to_clipboard", "write_csv"}


def test_no_other_place_writes_csv():
    for path in [*ROOT.glob("analytics/**/*.py"), *ROOT.glob("app/**/*.py")]:
        tree = ast.parse(path.read_text("utf-8"))
        found = {
            node.attr for node in ast.walk(tree) if isinstance(node, ast.Attribute)
        } & WRITERS
        found |= {
            name.name
            for node in ast.walk(tree)
            if isinstance(node, ast.ImportFrom) and node.module == "csv"
            for name in node.names
        }
        allowed = {"writer"} if path.name == "outgoing.py" else set()
        assert found <= allowed, path
    for path in ROOT.glob("a*/**/*.sql"):
        assert "COPY" not in path.read_text("utf-8").upper().split(), path


def test_what_is_written_exactly_stays_in_the_intake():
    users = [
        path.name
        for path in [*ROOT.glob("analytics/**/*.py"), *ROOT.glob("app/**/*.py")]
        if "exact_csv_text" in path.read_text("utf-8")
    ]
    assert sorted(users) == ["by_hand.py", "outgoing.py", "rejected.py"]
