"""Names that languages need are taken; what cannot be seen is not, nor obeyed."""

from __future__ import annotations

import json

import pytest
from click.testing import CliRunner

from analytics.cli.main import main
from analytics.errors import InputError
from analytics.intake import parse_column_map
from analytics.labels import label_problem, shown

HEADER = "lifter,date,exercise,load_kg,reps,equipment,note\n"
NEEDED = [
    "علی\u200cرضا", "نیم\u200cکره", "👩\u200d🚀", "🏳\ufe0f\u200d🌈", "🧑🏽\u200d🦱",
    "👨\u200d👩\u200d👧\u200d👦", "র\u200d্য", "क्\u200dष", "葛\U000e0100城", "José",
    "Jose\u0301", "ZÖE 2", "山田\u3000太郎",
]  # fmt: skip
UNSEEN = [
    "R\x1b[31m01", "R\x0701", "R\x9b31m", "R\u202e01", "R\u206601", "R\u200f01",
    "R\u200d01", "R\u200c1", "\u200dR01", "علی\u200c", "R\u00ad01", "R01\ufe0f",
    "R\u2028x", "R\u3164", "R\u034f1", "R\U000e00411", "R\x7f", "R\ufeff1",
]  # fmt: skip


@pytest.mark.parametrize("text", NEEDED)
def test_a_name_with_what_its_script_needs_is_taken(store, bring, text):
    assert label_problem(text) is None
    exercise = f"barbell curl {text}"
    row = f"{text},2025-01-06,{exercise},20,8,{text},{text}\n"
    assert bring(HEADER + row).sets_added == 1
    with store.read() as con:
        found = con.execute("SELECT lifter, equipment FROM logged_set").fetchall()
    assert found == [(text, text)]


@pytest.mark.parametrize("text", UNSEEN)
def test_a_name_with_what_cannot_be_seen_is_rejected(store, bring, text):
    assert label_problem(text)
    row = ["R01", "2025-01-06", "barbell curl", "20", "8", "bar", "x"]
    # A line end in the name of an exercise is a space.
    told = [0, 5] if "\u2028" in text else [0, 2, 5]
    lines = [
        ",".join([*row[:at], f'"{text}"', *row[at + 1 :]])
        for at in (*told, len(row) - 1)
    ]
    result = bring(HEADER + "\n".join(lines), trial=True)
    assert (result.rejected, result.sets_added) == (len(told), 1)
    for at, issue in zip(told, result.issues, strict=True):
        assert issue.column == HEADER.strip().split(",")[at]
        assert "cannot be seen" in issue.problem
        assert issue.value == text
    with pytest.raises(InputError, match="cannot be seen"):
        bring(HEADER.replace("lifter", "x") + ",".join(row), lifter=text)
    with pytest.raises(InputError):
        parse_column_map(f"[settings]\nlifter = {json.dumps(text)}")


def test_the_name_of_an_exercise_may_be_written_on_two_lines(store, bring):
    row = 'R01,2025-01-06,"barbell\ncurl",20,8,bar,x\n'
    assert bring(HEADER + row).sets_added == 1


HOSTILE = "\x1b]0;own\x07\x9b2J\u202e\x08\r\x7f"


@pytest.mark.parametrize("form", ["table", "csv", "json"])
def test_no_text_of_a_file_is_an_order_to_the_terminal(tmp_path, form):
    store = tmp_path / "s.duckdb"
    log = tmp_path / f"log{HOSTILE}.csv"
    row = f'"{HOSTILE}",2025-01-06,"curl{HOSTILE}",20,8,bar,"n{HOSTILE}"\n'
    fine = f'R01,2025-01-06,curl,20,8,,"n{HOSTILE}"\n'
    log.write_text(HEADER.replace("note", f"note,{HOSTILE}") + row + fine, "utf-8")
    column_map = tmp_path / "m.toml"
    column_map.write_text(f"[columns]\nlifter = {json.dumps(HOSTILE)}\n")
    for command in (
        ["intake", str(log)], ["intake", str(log), "--columns", str(column_map)],
        ["rejected"], ["unnamed"], ["name", f"x{HOSTILE}", "nothing"], ["variants"],
        ["intake", str(tmp_path / f"none{HOSTILE}")], ["trace", str(log)],
        ["restore", str(log)], ["strength", "--lifter", HOSTILE],
    ):  # fmt: skip
        ran = CliRunner().invoke(main, [*command, "--store", str(store), "--as", form])
        assert ran.exception is None or isinstance(ran.exception, SystemExit)
        for text in (ran.stdout, ran.stderr):
            assert not set(text) & set(HOSTILE) - set("];own2J0"), (command, text)
        if form == "json" and ran.stdout:
            json.loads(ran.stdout)


def test_text_for_the_terminal_keeps_what_can_be_read():
    for text in (*NEEDED, "two\n\tlines"):
        assert shown(text) == text
    assert shown("\x1b[31m\u202e\U000e0041") == r"\u001b[31m\u202e\udb40\udc41"
