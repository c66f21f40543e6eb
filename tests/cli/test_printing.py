"""How rows reach people and programs."""

import json

import pandas as pd

from analytics.cli.printing import print_table

ROWS = pd.DataFrame(
    {
        "text": ["a\nb", "\x1b[2J", None],
        "on": pd.to_datetime(["2025-02-03", None, "2025-02-04"]),
        "kg": [22.5, float("nan"), 100.0],
        "sets": [1, 20, 300],
    }
)


def test_a_table_shows_one_line_a_row_and_obeys_no_cell(capsys):
    print_table(ROWS, "table")
    assert capsys.readouterr().out.splitlines() == [
        "     text         on   kg sets",
        "     a\\nb 2025-02-03 22.5    1",
        "\\u001b[2J          -    -   20",
        "        - 2025-02-04  100  300",
    ]


def test_programs_get_every_value_and_nothing_for_what_is_missing(capsys):
    print_table(ROWS, "json")
    first, second, _ = json.loads(capsys.readouterr().out)
    assert first == {"text": "a\nb", "on": "2025-02-03", "kg": 22.5, "sets": 1}
    assert (second["on"], second["kg"]) == (None, None)
    print_table(ROWS, "csv")
    assert capsys.readouterr().out.splitlines()[-1] == ",2025-02-04,100.0,300"


def test_no_rows_still_have_columns_for_programs(capsys):
    print_table(ROWS[:0], "csv")
    assert capsys.readouterr().out == "text,on,kg,sets\n"
    print_table(ROWS[:0], "table")
    assert capsys.readouterr().err == "nothing to show\n"
