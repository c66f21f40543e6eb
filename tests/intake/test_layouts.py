"""Whole files of every layout, through intake into a store."""

from __future__ import annotations

import datetime as dt
import json

import openpyxl
import pandas as pd
import pytest

from analytics.errors import FileRefusedError
from analytics.store import bodies, sets, teach_name, unnamed

HEADER = "lifter,date,exercise,load_kg,reps\n"
ROW = "R01,2025-01-06,barbell curl,20,8\n"


def counts(result):
    return (result.rows_read, result.sets_added, result.already_known, result.rejected)


def problems(result):
    return [(issue.row, issue.column, issue.value) for issue in result.issues]


def test_a_foreign_log_goes_in_with_a_map_and_its_decimal_commas(bring, store):
    result = bring(
        "Wer;Wann;Was;Pfund;Wie oft\n"
        "R01;13/01/2025;Langhantel-Curl;50,5;8\n"
        "R01;14/01/2025;Langhantel-Curl;1.000,25;1\n",
        columns='[columns]\nlifter="Wer"\nperformed_on="Wann"\nexercise="Was"\n'
        'load="Pfund"\nreps="Wie oft"\n[settings]\nunit="lb"\ndates="dmy"\n',
    )
    assert counts(result) == (2, 2, 0, 0)
    # 1 lb = 0.45359237 kg (yard and pound agreement, 1959)
    assert sets(store).load_kg.tolist() == pytest.approx(
        [50.5 * 0.45359237, 1000.25 * 0.45359237]
    )
    assert sets(store).performed_on.dt.strftime("%Y-%m-%d").tolist() == [
        "2025-01-13",
        "2025-01-14",
    ]


@pytest.mark.parametrize(
    "encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "latin-1"]
)
def test_text_of_every_usual_encoding_is_read(bring, store, encoding):
    text = "Athlet;Datum;Übung;Gewicht (kg);Wdh\nJörg;2025-01-06;barbell curl;20;8\n"
    assert counts(bring(text.encode(encoding))) == (1, 1, 0, 0)
    assert sets(store).lifter.tolist() == ["Jörg"]


@pytest.mark.parametrize("delimiter", list(",;\t|~"))
def test_any_delimiter_and_line_end_is_read(bring, delimiter):
    text = (HEADER + ROW + ROW).replace(",", delimiter)
    assert counts(bring(text)) == (2, 2, 0, 0)
    assert counts(bring(text.replace("\n", "\r\n"), name="b.csv")) == (2, 0, 2, 0)
    assert counts(bring(text.replace("\n", "\r"), name="c.csv")) == (2, 0, 2, 0)


def test_the_header_may_stand_below_other_text_and_blank_rows_count_nowhere(bring):
    result = bring("Winter block\n,,\n\n" + HEADER + ROW + "\n,,,,\n" + "R01,x,c,1,1\n")
    assert counts(result) == (2, 1, 0, 1)
    assert problems(result) == [(8, "date", "x")]


def test_rows_keep_their_line_numbers_behind_cells_of_several_lines(bring):
    result = bring(
        HEADER + 'R01,2025-01-06,"barbell\ncurl",20,8\nR01,2025-01-06,c,x,1\n'
    )
    assert problems(result) == [(4, "load_kg", "x")]


def test_a_count_of_sets_and_shorthand_unfold_into_sets(bring, store):
    result = bring(
        "lifter,date,exercise,work\n"
        "R01,2025-01-06,barbell curl,3x8 @ 22.5kg\n"
        'R01,2025-01-06,barbell curl,"20kg x 8, 7"\n'
        "R01,2025-01-06,barbell curl,3x8\n"
    )
    assert (result.rows_read, result.rows_added, result.sets_added) == (3, 2, 5)
    assert problems(result) == [(4, "work", "3x8")]
    assert sorted(sets(store).load_kg) == [20, 20, 22.5, 22.5, 22.5]


@pytest.mark.parametrize(
    ("header", "row"),
    [
        ("set 1 kg,set 1 reps,set 2 kg,set 2 reps", "20,8,22.5,6"),
        ("kg,reps,kg,reps", "20,8,22.5,6"),
        ("set 1,set 2", "20kg x 8,22.5kg x 6"),
    ],
)
def test_wide_columns_hold_a_set_each(bring, store, header, row):
    result = bring(
        f"lifter,date,exercise,{header}\nR01,2025-01-06,barbell curl,{row}\n"
    )
    assert (result.rows_read, result.sets_added) == (1, 2)
    assert sorted(zip(sets(store).load_kg, sets(store).reps, strict=True)) == [
        (20, 8),
        (22.5, 6),
    ]


def test_a_wide_row_with_one_bad_set_is_rejected_whole(bring):
    result = bring(
        "lifter,date,exercise,set 1 kg,set 1 reps,set 2 kg,set 2 reps\n"
        "R01,2025-01-06,curl,20,8,x,7\nR01,2025-01-06,curl,20,8,,\n"
    )
    assert (result.rows_read, result.sets_added, result.rejected) == (2, 1, 1)
    assert problems(result) == [(2, "set 2 kg", "x")]


def test_columns_for_each_side_become_sets_of_that_side(bring, store):
    bring(
        "who,date,lift,kg,L,R\nR01,2025-01-06,barbell curl,20,8,7\n",
        columns='[columns]\nlifter="who"\nperformed_on="date"\nexercise="lift"\n'
        'load="kg"\nreps_left="L"\nreps_right="R"\n',
    )
    assert dict(zip(sets(store).side, sets(store).reps, strict=True)) == {
        "left": 8,
        "right": 7,
    }


def workbook(path, *sheets):
    book = openpyxl.Workbook()
    book.remove(book.active)
    for name, rows, merges in sheets:
        sheet = book.create_sheet(name)
        for row in rows:
            sheet.append(row)
        for merge in merges:
            sheet.merge_cells(merge)
    book.save(path)
    return path.read_bytes()


NAMES = ["Lifter", "Date", "Exercise", "Load (kg)", "Reps"]


def test_a_workbook_is_read_with_merged_cells_serial_dates_and_several_sheets(
    bring, store, tmp_path
):
    day = dt.datetime(2025, 1, 6)
    data = workbook(
        tmp_path / "made.xlsx",
        ("Week 1", [["Club"], [], NAMES, ["R01", day, "barbell curl", 20, 8],
                    [None, None, None, 20, 7], [],
                    ["R01", 45664, "barbell curl", 21, 6]],
         ["A4:A5", "B4:B5", "C4:C5"]),
        ("Week 2", [NAMES, ["R01", dt.date(2025, 1, 13), "curl", "heavy", 8]], []),
        ("Readme", [["only words"]], []),
    )  # fmt: skip
    result = bring(data, name="book.xlsx")
    assert counts(result) == (4, 3, 0, 1)
    assert result.issues[0].file == "book.xlsx#Week 2"
    assert problems(result) == [(2, "Load (kg)", "heavy")]
    # day 45664 of spreadsheets is 2025-01-07: 45658 is 2025-01-01
    assert sets(store).performed_on.dt.day.tolist() == [6, 6, 7]
    assert any("Readme" in note for note in result.notes)


def test_a_formula_without_a_saved_result_is_not_taken_for_an_empty_cell(
    bring, tmp_path
):
    data = workbook(
        tmp_path / "f.xlsx",
        ("S", [NAMES, ["R01", "2025-01-06", "curl", "=1+1", 8]], []),
    )
    assert problems(bring(data, name="g.xlsx")) == [(2, "Load (kg)", "=1+1")]


def test_json_and_parquet_are_read_like_tables(bring, store, tmp_path):
    rows = [
        {"lifter": "R01", "date": "2025-01-06", "exercise": "barbell curl",
         "sets": [{"load_kg": 20, "reps": 8}, {"load_kg": 22.5, "reps": 6}]},
    ]  # fmt: skip
    assert bring(json.dumps({"log": rows}), name="a.json").sets_added == 2
    lines = "\n".join(json.dumps({**rows[0], "sets": [s]}) for s in rows[0]["sets"])
    assert counts(bring(lines, name="b.json")) == (2, 0, 2, 0)
    frame = pd.DataFrame({
        "lifter": ["R01", None], "date": pd.to_datetime(["2025-01-06"] * 2),
        "exercise": "barbell curl", "load_kg": [20.0, 20.0], "reps": [8, 8],
    })  # fmt: skip
    frame.to_parquet(tmp_path / "p.parquet")
    result = bring((tmp_path / "p.parquet").read_bytes(), name="c.parquet")
    assert counts(result) == (2, 0, 1, 1)


def test_json_may_be_a_list_of_rows_and_a_bad_line_is_named(bring):
    rows = [["lifter", "date", "exercise", "load_kg", "reps"],
            ["R01", "2025-01-06", "barbell curl", 20, 8]]  # fmt: skip
    assert counts(bring(json.dumps(rows), name="a.json")) == (1, 1, 0, 0)
    with pytest.raises(FileRefusedError, match="line 2 is no sound JSON"):
        bring('{"lifter": "R01"}\n{lifter}\n', name="b.json")


def test_a_workbook_is_known_by_its_content_and_not_by_its_name(bring, tmp_path):
    rows = [NAMES, ["R01", "2025-01-06", "barbell curl", 20, 8]]
    data = workbook(tmp_path / "w.xlsx", ("S", rows, []))
    assert counts(bring(data, name="w.csv")) == (1, 1, 0, 0)


def test_a_trial_log_with_day_numbers_goes_in_with_a_map_and_nothing_else(bring, store):
    lines = [f"{who},{7 * week},CP{who % 3},{40 + week + load},{7.9 if week % 2 else 8}"
             for who in range(1, 5) for week in range(10)
             for load in [0.16308 * who]]  # fmt: skip
    lines[13] = lines[13].replace(lines[13].split(",")[3], "143.5")  # a typing jump
    lines += [",7,CP1,50,8", "1,77,CP1,NA,8", "1,84,CP1,50,NA"]
    result = bring(
        "participant,time,machine,weight,reps done\n" + "\n".join(lines) + "\n",
        columns='[columns]\nlifter="participant"\nday="time"\nexercise="machine"\n'
        'load="weight"\nreps="reps done"\n'
        '[settings]\nunit="kg"\nday_zero="2025-01-06"\n',
    )
    assert counts(result) == (43, 40, 0, 3)
    assert unnamed(store).sets.sum() == 40
    for text in unnamed(store).text:
        teach_name(store, text, text.lower(), "press")
    found = sets(store, movement="press")
    assert len(found) == 40
    assert found.performed_on.min() == pd.Timestamp("2025-01-06")
    assert found.loc[found.flag != "", "load_kg"].tolist() == [143.5]


def test_body_measurements_are_read_from_the_same_kinds_of_file(bring, store):
    result = bring(
        "lifter,measured on,body mass,stature\n"
        'R01,2025-01-06,11 st 4 lb,"5\'11"""\nR02,2025-01-06,80 kg,182\nR03,x,80 kg,1\n'
    )
    assert counts(result) == (3, 2, 0, 1)
    # 158 lb and 71 in: 0.45359237 kg and 0.0254 m each (1959 agreement)
    assert bodies(store).body_mass_kg.tolist() == pytest.approx([158 * 0.45359237, 80])
    assert bodies(store).stature_m.tolist() == pytest.approx([71 * 0.0254, 1.82])


# One inch is 25.4 mm exactly (international yard and pound, 1959).
@pytest.mark.parametrize(
    ("header", "cells", "stature_m", "girth_m"),
    [
        ("lifter,measured_on,stature_m,arm_girth_m", "1.86,0.342", 1.86, 0.342),
        ("code,measured,height_cm,arm girth [cm]", "186,34.2", 1.86, 0.342),
        ("lifter,date,stature_in,girth_mm", "73,342", 73 * 0.0254, 0.342),
        ("lifter,date,stature_mm,girth_in", '"1,86 m","13,5"', 1.86, 13.5 * 0.0254),
    ],
)
def test_a_unit_in_the_header_of_a_body_measure_is_understood(
    store, bring, header, cells, stature_m, girth_m
):
    bring(f"{header}\nR01,2025-10-06,{cells}\n")
    body = bodies(store).iloc[0]
    assert body[["stature_m", "arm_girth_m"]].tolist() == pytest.approx(
        [stature_m, girth_m]
    )


def test_measures_of_the_body_in_a_log_of_sets_are_said_to_be_not_read(bring):
    result = bring(
        "lifter,date,exercise,load_kg,reps,arm_girth_m\n"
        "R01,2025-10-06,barbell curl,30,8,0.342\n"
    )
    assert "columns not read: `arm_girth_m`" in result.notes
    assert "arm_girth" not in result.column_map.columns


def test_a_weight_in_a_file_without_exercises_is_that_of_the_body(store, bring):
    bring("lifter,date,weight_kg,stature_m\nR01,2025-10-06,80.5,1.86\n")
    assert bodies(store)["body_mass_kg"].tolist() == [80.5]
