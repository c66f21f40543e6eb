"""What a file leaves open is asked with its evidence, and an answer is remembered."""

from __future__ import annotations

import pandas as pd
import pytest

from analytics.errors import FileRefusedError
from analytics.intake import suggest_columns
from analytics.store import sets

HEADER = "lifter,date,exercise,load_kg,reps\n"
ROW = "R01,2025-01-06,barbell curl,20,8\n"


def counts(result):
    return (result.rows_read, result.sets_added, result.already_known, result.rejected)


@pytest.mark.parametrize(
    ("text", "options", "word"),
    [
        ("lifter,date,exercise,load,reps\nR,2025-01-06,c,22.5,8\n", {}, "--unit"),
        (HEADER.replace(",", ";") + "R;05/06/2025;c;20;8\n", {}, "05/06/2025"),
        (HEADER.replace(",", ";") + "R;05.06.2025;c;20;8\n", {}, "--dates"),
        (HEADER + "R,26/01/2025,c,20,8\nR,01/26/2025,c,20,8\n", {}, "01/26/2025"),
        (HEADER + "R,26/01/2025,c,20,8\n", {"dates": "mdy"}, "26/01/2025"),
        (HEADER + 'R,2025-01-06,c,"1,250",8\n', {}, "decimal"),
        (HEADER + ROW, {"unit": "lb"}, "load_kg"),
        ("lifter,day,exercise,load_kg,reps\nR,7,c,20,8\n", {}, "day_zero"),
        ("date,exercise,load_kg,reps\n2025-01-06,c,20,8\n", {}, "--lifter"),
        ("lifter,date,exercise,reps\nR,2025-01-06,c,8\n", {}, "load"),
        ("lifter,exercise,load_kg,reps\nR,c,20,8\n", {}, "performed_on"),
        (HEADER + "R,25-01-06,c,20,8\n", {}, "begin with the year"),
        (HEADER.strip() + ",effort\nR,2025-01-06,c,20,8,8\n", {}, "rpe or rir"),
        (
            "lifter,date,exercise,load_kg,load_kg,reps\nR,2025-01-06,c,20,25,8\n",
            {},
            "second column",
        ),
    ],
)
def test_what_a_file_leaves_open_is_asked_with_its_evidence(
    bring, store, text, options, word
):
    with pytest.raises(FileRefusedError, match=word) as refused:
        bring(text, **options)
    assert refused.value.exit_code == 3
    assert not store.exists


@pytest.mark.parametrize(
    ("dates", "day"), [("iso", "2025-01-06"), ("dmy", "2006-01-25"), (None, None)]
)
def test_a_year_of_two_digits_may_come_first_or_last(bring, store, dates, day):
    if dates:
        bring(HEADER + "R,25-01-06,barbell curl,20,8\n", dates=dates)
        assert sets(store).performed_on.tolist() == [pd.Timestamp(day)]
    else:  # 2031 is to come, so 31-12-24 can only end with its year
        rows = "R,25-01-06,barbell curl,20,8\nR,31-12-24,barbell curl,20,8\n"
        bring(HEADER + rows)
        assert sets(store).performed_on.dt.year.tolist() == [2006, 2024]


def test_what_is_not_read_and_how_dumbbells_are_counted_is_told(bring):
    result = bring(
        HEADER.strip() + ",mood\nR,2025-01-06,dumbbell curl,20,8,good\n"
    )  # fmt: skip
    assert "columns not read: `mood`" in result.notes
    assert any("per hand" in note for note in result.notes)


def test_an_answer_settles_what_was_open(bring, store):
    bring("lifter;date;exercise;load;reps\nR;05/06/2025;barbell curl;50;8\n",
          unit="lb", dates="mdy")  # fmt: skip
    assert sets(store).performed_on.tolist() == [pd.Timestamp("2025-05-06")]
    assert sets(store).load_kg.tolist() == pytest.approx([50 * 0.45359237])


def test_a_confirmed_layout_is_remembered_but_not_whose_log_it_was(bring, store):
    text = "Tag;Was;Last;Anzahl\n05/06/2025;barbell curl;50;8\n"
    columns = (
        '[columns]\nperformed_on="Tag"\nexercise="Was"\nload="Last"\nreps="Anzahl"\n'
    )
    bring(text, columns=columns, lifter="R01", unit="kg", dates="dmy")
    with pytest.raises(FileRefusedError, match="lifter"):
        bring(text.replace("50", "55"), name="next.csv")
    result = bring(text.replace("50", "55"), name="next.csv", lifter="R02")
    assert result.sets_added == 1
    assert any("remembered" in note for note in result.notes)
    assert sets(store).performed_on.dt.month.tolist() == [6, 6]


def test_a_suggestion_shows_columns_and_open_questions_and_stores_nothing(
    store, tmp_path
):
    path = tmp_path / "s.csv"
    path.write_text("Athlet;Datum;Übung;Gewicht;Wdh\nR;05/06/2025;c;20;8\n", "utf-8")
    suggestion = suggest_columns(store, path)
    assert suggestion.column_map.columns["load"] == ("Gewicht",)
    assert any("--dates" in question for question in suggestion.questions)
    assert not store.exists


def test_a_trial_counts_but_stores_nothing(bring, store):
    assert counts(bring(HEADER + ROW, trial=True)) == (1, 1, 0, 0)
    assert not store.exists
    bring(HEADER + ROW)
    assert counts(bring(HEADER + ROW + ROW, name="b.csv", trial=True)) == (2, 1, 1, 0)
    assert len(sets(store)) == 1


def test_a_mapped_header_that_is_not_there_is_named(bring):
    with pytest.raises(FileRefusedError, match="`Wer`"):
        bring(HEADER + ROW, columns='[columns]\nlifter="Wer"\n')


def test_a_unit_that_cannot_be_read_rejects_its_row_and_asks_nothing_of_the_file(bring):
    head = "lifter,date,exercise,weight,unit,reps\n"
    lines = [f"R,2025-01-0{at},c,65,{unit},8" for at, unit in enumerate(("kg", "?"), 6)]
    result = bring(head + "\n".join(lines) + "\n")
    assert counts(result) == (2, 1, 0, 1)
    assert [(issue.row, issue.column) for issue in result.issues] == [(3, "unit")]
