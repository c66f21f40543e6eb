"""Every row of a file ends as added, already known or rejected."""

from __future__ import annotations

import pandas as pd
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from analytics.errors import FileRefusedError, InputError
from analytics.intake import parse_column_map, take_in
from analytics.store import Store, intakes, rejected, sets, undo

HEADER = "lifter,date,exercise,load_kg,reps\n"
ROW = "R01,2025-01-06,barbell curl,20,8\n"


def counts(result):
    return (result.rows_read, result.sets_added, result.already_known, result.rejected)


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
        ("R\u200b1,2025-01-06,c,20,8", "lifter"),
        (f"R,2025-01-06,{'c' * 201},20,8", "exercise"),
        ("R,2025-01-06,,20,8", "exercise"),
        ("R,2025-01-06,c,,8", "load_kg"),
        ("R,2025-01-06,c,20,", "reps"),
        ("R,2025-01-06,c,22,5,8", "row"),
    ],
)
def test_an_impossible_row_is_rejected_with_its_cell(bring, store, row, column):
    result = bring(HEADER + ROW + row + "\n")
    assert counts(result) == (2, 1, 0, 1)
    issue = result.issues[0]
    assert (issue.row, issue.column) == (3, column)
    assert issue.problem
    assert issue.accepted
    assert rejected(store)["column"].tolist() == [column]


@pytest.mark.parametrize(
    ("cells", "column"),
    [
        ("3,,yes", "failed"),
        (",7,yes", "failed"),
        ("1,6,no", "rpe"),
    ],
)
def test_contradictory_effort_is_rejected(bring, cells, column):
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


def test_two_equal_sets_are_two_and_a_longer_export_adds_only_what_is_new(bring, store):
    assert counts(bring(HEADER + ROW + ROW)) == (2, 2, 0, 0)
    assert counts(bring(HEADER + ROW + ROW)) == (2, 0, 2, 0)
    assert counts(bring(HEADER + ROW * 3, name="longer.csv")) == (3, 1, 2, 0)
    assert len(sets(store)) == 3


def test_pounds_and_kilograms_of_one_set_are_one_set(bring):
    bring("lifter,date,exercise,load,reps\nR,2025-01-06,c,100 lb,8\n")
    again = "lifter,date,exercise,load,reps\nR,2025-01-06,C,45.3592 kg,8\n"
    assert counts(bring(again, name="b.csv")) == (1, 0, 1, 0)


def test_undoing_removes_exactly_one_intake_and_the_file_can_come_again(bring, store):
    bring(HEADER + ROW)
    second = bring(HEADER + ROW * 2, name="b.csv")
    assert undo(store, second.intake_id).rows == 1
    assert len(sets(store)) == 1
    assert counts(bring(HEADER + ROW * 2, name="b.csv")) == (2, 1, 1, 0)
    undo(store, 1)
    assert counts(bring(HEADER + ROW * 2, name="b.csv")) == (2, 1, 1, 0)
    with pytest.raises(InputError, match="no intake 99"):
        undo(store, 99)


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
    max_examples=10,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(rows=st.lists(st.tuples(*[CELL] * 5), min_size=1, max_size=8), data=st.data())
def test_every_row_ends_as_added_known_or_rejected(tmp_path_factory, rows, data):
    folder = tmp_path_factory.mktemp("rows")
    store = Store(folder / "s.duckdb")
    decimal = data.draw(st.sampled_from([".", ","]))
    columns = parse_column_map(
        f'[read]\ndelimiter="|"\ndecimal="{decimal}"\nfill_down=false\n'
    )
    names = "lifter|date|exercise|load_kg|reps"

    def bring(rows, name):
        quoted = [
            "|".join('"' + c.replace('"', '""') + '"' for c in row) for row in rows
        ]
        (folder / name).write_text("\n".join([names, *quoted]) + "\n", "utf-8")
        result = take_in(store, folder / name, column_map=columns)
        assert (
            result.rows_read == result.rows_added + result.rows_known + result.rejected
        )
        assert len(result.issues) == result.rejected
        return result

    filled = [row for row in rows if any(row)]
    if not any(any(row) for row in rows):
        return
    first = bring(rows, "a.csv")
    assert first.rows_read == len(filled)
    again = bring([*rows, ("R9", "2025-01-06", "barbell curl", "20", "8")], "b.csv")
    assert again.sets_added == 1
    assert again.already_known == first.sets_added
    assert again.rejected == first.rejected


def test_a_stretch_pasted_twice_is_pointed_out_and_still_counts(bring):
    week = "".join(
        f"R01,2025-01-0{1 + n % 7},barbell curl,{20 + n},8\n" for n in range(30)
    )
    result = bring(HEADER + week + week)
    assert result.sets_added == 60
    assert any("rows 32 to 61" in note for note in result.notes)


def test_a_numeral_too_large_for_its_column_is_rejected(bring):
    result = bring(
        "who,day,lift,kg,reps\nR,1e30,c,20,8\nR,7,c,1e300,8\nR,7,c,20,1e300\nR,-1e9,c,2,8\n",
        columns='[columns]\nlifter="who"\nday="day"\nexercise="lift"\nload="kg"\n'
        'reps="reps"\n[settings]\nday_zero="2025-01-06"\n',
    )
    assert counts(result) == (4, 0, 0, 4)
