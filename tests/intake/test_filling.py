"""What a workbook writes once: the date, the exercise, and the lifter as its sheet."""

from __future__ import annotations

import io

import openpyxl
import pytest
from workbooks import book

from analytics.errors import FileRefusedError
from analytics.intake import fix_rejected, rejected_table, suggest_columns
from analytics.store import forget, sets

HEADER = ["Datum", "Übung", "Gewicht (kg)", "Wdh"]
BLOCK = [
    ["2025-01-06", "barbell curl", 20, 8],
    [None, None, 20, 7],
    [None, None, 20, 6],
    [None, "hammer curl", 12, 10],
    [None, None, 12, 9],
    ["2025-01-08", "barbell curl", 22, 8],
    [None, None, 22, 7],
]
FILL = "[read]\nfill_down = true\n"


def read(store):
    found = sets(store)
    return [
        (f"{day:%m-%d}", variant, kg)
        for day, variant, kg in zip(
            found["performed_on"], found["variant"], found["load_kg"], strict=True
        )
    ]


def test_dates_and_exercises_written_once_are_asked_with_the_evidence(bring, store):
    with pytest.raises(FileRefusedError) as refused:
        bring(book(Log=[HEADER, *BLOCK]), name="a.xlsx", lifter="R01")
    for seen in ("`Datum`", "5 of 7 rows", "row 3", "`2025-01-06`", "fill_down"):
        assert seen in str(refused.value)
    assert not store.exists


def test_what_is_written_once_holds_for_the_rows_below_if_the_map_says_so(bring, store):
    result = bring(
        book(Log=[HEADER, *BLOCK]), name="a.xlsx", lifter="R01", columns=FILL
    )
    assert (result.rows_read, result.sets_added) == (7, 7)
    assert read(store) == [
        *[("01-06", "standing_barbell_curl", 20)] * 3,
        *[("01-06", "hammer_curl", 12)] * 2,
        *[("01-08", "standing_barbell_curl", 22)] * 2,
    ]
    # The answer is remembered with the layout.
    later = [[d and d.replace("-01-", "-02-"), *cells] for d, *cells in BLOCK]
    again = bring(book(Log=[HEADER, *later]), name="b.xlsx", lifter="R01")
    assert again.sets_added == 7


def test_the_same_holds_for_text_files(bring, store):
    text = "lifter,date,exercise,load_kg,reps\nR01,2025-01-06,barbell curl,20,8\n"
    bring(text + ",,,20,7\n" * 3, columns=FILL)
    assert len(sets(store)) == 4


def test_blank_rows_are_rejected_one_by_one_if_the_map_says_so(bring):
    result = bring(
        book(Log=[HEADER, *BLOCK]),
        name="a.xlsx",
        lifter="R01",
        columns="[read]\nfill_down = false\n",
    )
    assert (result.sets_added, result.rejected) == (2, 5)


def test_one_blank_cell_in_a_whole_log_is_a_slip_and_is_rejected(bring):
    rows = [["2025-01-06", "barbell curl", 20, reps] for reps in range(5, 16)]
    rows[4][0] = None
    result = bring(book(Log=[HEADER, *rows]), name="a.xlsx", lifter="R01")
    assert (result.sets_added, result.rejected) == (10, 1)


def test_an_exercise_is_not_carried_to_another_day(bring):
    rows = [*BLOCK, ["2025-01-10", None, 20, 8], [None, None, 20, 8]]
    result = bring(book(Log=[HEADER, *rows]), name="a.xlsx", lifter="R01", columns=FILL)
    assert (result.sets_added, result.rejected) == (7, 2)
    assert {issue.column for issue in result.issues} == {"Übung"}


def test_nothing_is_carried_from_sheet_to_sheet(bring):
    pages = {"A": [HEADER, *BLOCK], "B": [HEADER, [None, None, 20, 8]]}
    result = bring(book(**pages), name="a.xlsx", lifter="R01", columns=FILL)
    assert [issue.file for issue in result.issues] == ["a.xlsx#B"]


def test_a_rejected_row_comes_back_with_what_was_filled_in(bring, store):
    rows = [row[:] for row in BLOCK]
    rows[2][2] = "?"
    result = bring(book(Log=[HEADER, *rows]), name="a.xlsx", lifter="R01", columns=FILL)
    table = rejected_table(store, result.intake_id)
    assert table["Übung"].tolist() == ["barbell curl"]
    table["Gewicht (kg)"] = "20"
    (fixed,) = fix_rejected(store, table)
    assert fixed.sets_added == 1


def test_merged_cells_hold_for_all_rows_they_cover(bring, store):
    made = openpyxl.load_workbook(io.BytesIO(book(Log=[HEADER, *BLOCK])))
    page = made.active
    for cells in ("A2:A6", "A7:A8", "B2:B4", "B5:B6", "B7:B8"):
        page.merge_cells(cells)
    kept = io.BytesIO()
    made.save(kept)
    assert bring(kept.getvalue(), name="a.xlsx", lifter="R01").sets_added == 7


def test_each_sheet_can_be_named_after_its_lifter(bring, store, tmp_path):
    pages = {"R01": [HEADER, *BLOCK], "R02": [HEADER, *BLOCK[:4]]}
    with pytest.raises(FileRefusedError, match='lifter = "sheet name"'):
        bring(book(**pages), name="a.xlsx", columns=FILL)
    columns = (
        FILL + '[columns]\nlifter = "sheet name"\nperformed_on = "Datum"\n'
        'exercise = "Übung"\nload = "Gewicht (kg)"\nreps = "Wdh"\n'
    )
    pages["R02"][1] = [*BLOCK[0][:2], "x", 8]
    result = bring(book(**pages), name="a.xlsx", columns=columns)
    assert sets(store)["lifter"].value_counts().to_dict() == {"R01": 7, "R02": 3}
    table = rejected_table(store, result.intake_id)
    assert table["sheet name"].tolist() == ["R02"]
    table["Gewicht (kg)"] = "20"
    (fixed,) = fix_rejected(store, table)
    assert fixed.sets_added == 1
    # A book of one sheet has a name, too, and the layout is remembered.
    one = bring(book(R03=[HEADER, *BLOCK]), name="b.xlsx")
    assert one.sets_added == 7
    assert sets(store, lifter="R03")["lifter"].nunique() == 1
    (tmp_path / "c.xlsx").write_bytes(book(R04=[HEADER, *BLOCK]))
    assert suggest_columns(store, tmp_path / "c.xlsx").headers[-1] == "sheet name"


def test_the_sheet_as_lifter_is_all_a_map_needs_to_say(bring, store):
    says = FILL + '[columns]\nlifter = "sheet name"\n'
    pages = {"R01": [HEADER, *BLOCK], "R02": [HEADER, *BLOCK[:4]]}
    assert bring(book(**pages), name="a.xlsx", columns=says).sets_added == 11
    assert sets(store)["lifter"].value_counts().to_dict() == {"R01": 7, "R02": 4}
    # A column that would be suggested for the lifter does not go before it.
    log = [["Athlet", *HEADER], *(["N1", *row] for row in BLOCK)]
    done = bring(book(R03=log), name="b.xlsx", columns=says)
    assert done.sets_added == 7
    assert len(sets(store, lifter="R03")) == 7


def test_the_sheet_as_lifter_goes_before_a_lifter_kept_with_the_layout(bring, store):
    kept = FILL + "[settings]\nkeep_lifter = true"
    log = [HEADER, *BLOCK]
    bring(book(Log=log), name="a.xlsx", lifter="R01", columns=kept)
    says = '[columns]\nlifter = "sheet name"\n'
    assert bring(book(R02=log), name="b.xlsx", columns=says).sets_added == 7
    assert sets(store)["lifter"].value_counts().to_dict() == {"R01": 7, "R02": 7}


def test_whose_log_a_layout_is_stays_only_if_a_person_says_so(bring, store):
    def log(day):
        return f"date,exercise,load_kg,reps\n2025-01-{day:02d},barbell curl,20,8\n"

    bring(log(6), lifter="R01", columns="[settings]\nkeep_lifter = true")
    result = bring(log(7), name="b.csv")
    assert any("lifter = R01" in note for note in result.notes)
    assert sets(store)["lifter"].tolist() == ["R01", "R01"]
    # Another lifter of the same layout: it is nobody's any more.
    bring(log(8), name="c.csv", lifter="R02")
    with pytest.raises(FileRefusedError, match="--lifter"):
        bring(log(9), name="d.csv")


def test_a_forgotten_lifter_is_no_chosen_sheet_any_more(bring, store):
    pages = {"R01": [HEADER, *BLOCK], "R02": [HEADER, *BLOCK], "Notes": [["rest"]]}
    columns = (
        '[read]\nfill_down = true\nsheet = ["R01", "R02"]\n'
        '[columns]\nlifter = "sheet name"\nperformed_on = "Datum"\n'
        'exercise = "Übung"\nload = "Gewicht (kg)"\nreps = "Wdh"\n'
    )
    bring(book(**pages), name="a.xlsx", columns=columns)
    forget(store, "R01")
    assert b"R01" not in store.path.read_bytes()
    assert sets(store)["lifter"].unique().tolist() == ["R02"]


def test_a_forgotten_lifter_is_forgotten_by_the_layout_too(bring, store):
    log = "date,exercise,load_kg,reps\n2025-01-{},barbell curl,20,8\n"
    bring(log.format("06"), lifter="R01", columns="[settings]\nkeep_lifter = true")
    forget(store, "R01")
    assert b"R01" not in store.path.read_bytes()
    with pytest.raises(FileRefusedError, match="--lifter"):
        bring(log.format("07"), name="b.csv")
