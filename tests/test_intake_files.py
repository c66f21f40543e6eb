"""Whole files of every layout, good and bad, through intake into a store."""

from __future__ import annotations

import datetime as dt
import json

import openpyxl
import pandas as pd
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from analytics.errors import FileRefusedError, InputError
from analytics.intake import parse_column_map, suggest_columns, take_in
from analytics.store import (
    Store,
    aside,
    bodies,
    intakes,
    sets,
    teach_name,
    unnamed,
    withdraw,
)

HEADER = "lifter,date,exercise,load_kg,reps\n"
ROW = "R01,2025-01-06,barbell curl,20,8\n"


@pytest.fixture
def store(tmp_path):
    return Store(tmp_path / "store.duckdb", wait_s=2)


@pytest.fixture
def bring(store, tmp_path):
    def bring(content, *, name="log.csv", columns=None, **options):
        path = tmp_path / name
        data = content if isinstance(content, bytes) else content.encode()
        path.write_bytes(data)
        column_map = parse_column_map(columns) if columns else None
        result = take_in(store, path, column_map=column_map, **options)
        assert result.rows_read == (
            result.rows_added + result.rows_known + result.set_aside
        )
        return result

    return bring


def counts(result):
    return (result.rows_read, result.sets_added, result.already_known, result.set_aside)


def problems(result):
    return [(issue.row, issue.column, issue.value) for issue in result.issues]


# Layouts


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


def test_a_wide_row_with_one_bad_set_is_set_aside_whole(bring):
    result = bring(
        "lifter,date,exercise,set 1 kg,set 1 reps,set 2 kg,set 2 reps\n"
        "R01,2025-01-06,curl,20,8,x,7\nR01,2025-01-06,curl,20,8,,\n"
    )
    assert (result.rows_read, result.sets_added, result.set_aside) == (2, 1, 1)
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


# What is asked


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
    ],
)
def test_what_a_file_leaves_open_is_asked_with_its_evidence(
    bring, store, text, options, word
):
    with pytest.raises(FileRefusedError, match=word) as refused:
        bring(text, **options)
    assert refused.value.exit_code == 3
    assert not store.exists


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


# What is set aside


@pytest.mark.parametrize(
    ("row", "column"),
    [
        ("R,2025-01-06,c,20,abc", "reps"),
        ("R,2025-01-06,c,20,-8", "reps"),
        ("R,2025-01-06,c,10000,8", "load_kg"),
        ("R,2025-01-06,c,-20,8", "load_kg"),
        ("R,2025-01-06,c,inf,8", "load_kg"),
        ("R,2025-01-06,c,1_0,8", "load_kg"),
        ("R,2025-01-06,c,=1+1,8", "load_kg"),
        ("R,2190-01-06,c,20,8", "date"),
        ("R,2025-02-30,c,20,8", "date"),
        ("R,,c,20,8", "date"),
        (",2025-01-06,c,20,8", "lifter"),
        ("R,2025-01-06,,20,8", "exercise"),
        ("R,2025-01-06,c,,8", "load_kg"),
        ("R,2025-01-06,c,20,", "reps"),
        ("R,2025-01-06,c,22,5,8", "row"),
    ],
)
def test_an_impossible_row_is_set_aside_with_its_cell(bring, store, row, column):
    result = bring(HEADER + ROW + row + "\n")
    assert counts(result) == (2, 1, 0, 1)
    issue = result.issues[0]
    assert (issue.row, issue.column) == (3, column)
    assert issue.problem
    assert issue.accepted
    assert aside(store)["column"].tolist() == [column]


@pytest.mark.parametrize(
    ("cells", "column"),
    [
        ("3,,yes", "failed"),
        (",7,yes", "failed"),
        ("1,6,no", "rpe"),
        (",11,no", "rpe"),
        ("31,,no", "rir"),
        (",,perhaps", "failed"),
    ],
)
def test_contradictory_effort_is_set_aside(bring, cells, column):
    result = bring(
        f"lifter,date,exercise,load_kg,reps,rir,rpe,failed\nR,2025-01-06,c,20,8,{cells}\n"
    )
    assert [issue.column for issue in result.issues] == [column]


def test_an_implausible_load_is_kept_and_flagged_against_the_lifters_own_days(
    bring, store
):
    loads = [29, 29.5, 43.5, 29.9, 30]
    bring(HEADER + "".join(f"R,2025-01-0{d},barbell curl,{kg},8\n"
                           for d, kg in enumerate(loads, start=1)))  # fmt: skip
    found = sets(store)
    assert found.load_kg.tolist() == loads
    assert found.loc[found.flag != "", "load_kg"].tolist() == [43.5]


# Accounting


def test_two_equal_sets_are_two_and_a_longer_export_adds_only_what_is_new(bring, store):
    assert counts(bring(HEADER + ROW + ROW)) == (2, 2, 0, 0)
    assert counts(bring(HEADER + ROW + ROW)) == (2, 0, 2, 0)
    assert counts(bring(HEADER + ROW * 3, name="longer.csv")) == (3, 1, 2, 0)
    assert len(sets(store)) == 3


def test_pounds_and_kilograms_of_one_set_are_one_set(bring):
    bring("lifter,date,exercise,load,reps\nR,2025-01-06,c,100 lb,8\n")
    again = "lifter,date,exercise,load,reps\nR,2025-01-06,C,45.3592 kg,8\n"
    assert counts(bring(again, name="b.csv")) == (1, 0, 1, 0)


def test_withdrawing_removes_exactly_one_intake_and_the_file_can_come_again(
    bring, store
):
    bring(HEADER + ROW)
    second = bring(HEADER + ROW * 2, name="b.csv")
    assert withdraw(store, second.intake_id) == 1
    assert len(sets(store)) == 1
    assert counts(bring(HEADER + ROW * 2, name="b.csv")) == (2, 1, 1, 0)
    withdraw(store, 1)
    assert counts(bring(HEADER + ROW * 2, name="b.csv")) == (2, 1, 1, 0)
    with pytest.raises(InputError, match="no intake 99"):
        withdraw(store, 99)


def test_a_file_that_is_refused_leaves_the_store_as_it_was(bring, store):
    bring(HEADER + ROW)
    before = intakes(store)
    with pytest.raises(FileRefusedError):
        bring("lifter,date\nR,2025-01-06\n", name="bad.csv")
    pd.testing.assert_frame_equal(intakes(store), before)


def test_the_dumbbell_convention_stays_with_the_set(bring, store):
    text = "lifter,date,exercise,load_kg,reps\nR,2025-01-06,dumbbell curl,{},8\n"
    bring(text.format(20), columns='[settings]\ndumbbells="total"\n')
    bring(text.format(10), columns='[settings]\ndumbbells="per_hand"\n', name="b.csv")
    assert dict(zip(sets(store).load_kg, sets(store).arms_share, strict=True)) == {
        20: 2,
        10: 1,
    }


CELL = st.sampled_from(
    ["", "R1", "2025-01-06", "2190-01-01", "barbell curl", "20", "22,5", "-3", "1e9",
     "BW+5", "x", "=1", "8", "8, 7", "3x8", "0", "NaN", '"', "'; DROP TABLE body;--"]
)  # fmt: skip


@settings(
    max_examples=25,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(rows=st.lists(st.tuples(*[CELL] * 5), min_size=1, max_size=8), data=st.data())
def test_every_row_ends_as_added_known_or_set_aside(tmp_path_factory, rows, data):
    folder = tmp_path_factory.mktemp("rows")
    store = Store(folder / "s.duckdb")
    decimal = data.draw(st.sampled_from([".", ","]))
    columns = parse_column_map(f'[read]\ndelimiter="|"\ndecimal="{decimal}"\n')
    names = "lifter|date|exercise|load_kg|reps"

    def bring(rows, name):
        quoted = [
            "|".join('"' + c.replace('"', '""') + '"' for c in row) for row in rows
        ]
        (folder / name).write_text("\n".join([names, *quoted]) + "\n", "utf-8")
        result = take_in(store, folder / name, column_map=columns)
        assert (
            result.rows_read == result.rows_added + result.rows_known + result.set_aside
        )
        assert len(result.issues) == result.set_aside
        return result

    filled = [row for row in rows if any(row)]
    if not any(any(row) for row in rows):
        return
    first = bring(rows, "a.csv")
    assert first.rows_read == len(filled)
    again = bring([*rows, ("R9", "2025-01-06", "barbell curl", "20", "8")], "b.csv")
    assert again.sets_added == 1
    assert again.already_known == first.sets_added
    assert again.set_aside == first.set_aside


def test_a_stretch_pasted_twice_is_pointed_out_and_still_counts(bring):
    week = "".join(
        f"R01,2025-01-0{1 + n % 7},barbell curl,{20 + n},8\n" for n in range(30)
    )
    result = bring(HEADER + week + week)
    assert result.sets_added == 60
    assert any("rows 32 to 61" in note for note in result.notes)


def test_a_numeral_too_large_for_its_column_is_set_aside(bring):
    result = bring(
        "who,day,lift,kg,reps\nR,1e30,c,20,8\nR,7,c,1e300,8\nR,7,c,20,1e300\nR,-1e9,c,2,8\n",
        columns='[columns]\nlifter="who"\nday="day"\nexercise="lift"\nload="kg"\n'
        'reps="reps"\n[settings]\nday_zero="2025-01-06"\n',
    )
    assert counts(result) == (4, 0, 0, 4)


def test_a_mapped_header_that_is_not_there_is_named(bring):
    with pytest.raises(FileRefusedError, match="`Wer`"):
        bring(HEADER + ROW, columns='[columns]\nlifter="Wer"\n')
