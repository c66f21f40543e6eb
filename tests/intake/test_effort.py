"""Effort in words and intervals; what cannot be read costs the effort, not the set."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from analytics.errors import InputError
from analytics.intake import fix_rejected, read_correction, rejected_table, take_in
from analytics.store import Store, edit_set, history, logged, sets, undo_edit

HEADER = "lifter,date,exercise,load_kg,reps,rir,rpe,failed\n"


def log(*cells):
    return HEADER + "".join(
        f"R01,2025-01-{at:02d},barbell curl,20,8,{cell}\n"
        for at, cell in enumerate(cells, start=1)
    )


def effort(store):
    return [
        (None if r != r else r, bool(f))  # NaN is nothing
        for r, f in zip(sets(store)["rir"], sets(store)["failed"], strict=True)
    ]


@pytest.mark.parametrize(
    ("cells", "ends"),
    [
        ("1-2,,", "1-2"), ("1–2,,", "1-2"), ("1 — 2,,", "1-2"), ("1 to 2,,", "1-2"),
        ("1 bis 2,,", "1-2"), ("1 à 2,,", "1-2"), ("1 ou 2,,", "1-2"), ("2-1,,", "1-2"),
        ("rir 2-4,,", "2-4"), ("2-3 RIR,,", "2-3"), ("RIR 2 - RIR 3,,", "2-3"),
        ("1.5-2,,", "1.5-2"), ('"0,5-1",,', "0.5-1"), ("0-1,,", "0-1"), ("2-2,,", "2"),
        (",8-9,", "1-2"), (",@8-9,", "1-2"), (",8-9/10,", "1-2"), (",9-8,", "1-2"),
        (",RPE 8 bis 9,", "1-2"), (",7.5-8,", "2-2.5"), (",@8,", "2"), (",8.5,", "1.5"),
        ("RPE 8-9,,", "1-2"), ("rpe 8,,", "2"), (",RIR 1-2,", "1-2"), (",2 rir,", "2"),
        ("6-8 RIR,,", "6-8"),
    ],
)  # fmt: skip
def test_an_interval_of_effort_keeps_both_ends(bring, store, cells, ends):
    result = bring(log(cells))
    assert not result.effort_words
    (row,) = logged(store).to_dict("records")
    assert row["rir"] == (ends if "-" in ends else float(ends))
    low, _, high = ends.partition("-")
    stored = sets(store).iloc[0]
    assert stored["rir"] == (float(low) + float(high or low)) / 2
    half = (float(high) - float(low)) / 2 if high else 0
    assert np.nan_to_num(stored["rir_half"]) == half


def test_an_interval_comes_back_from_its_own_export(bring, store, tmp_path):
    bring(log("1-2,,", "2,,", ",8.5-9,", ",,", "1.5,,"))
    kept = logged(store)
    text = kept.drop(columns="set_id").to_csv(index=False)
    assert ",1-2," in text
    assert bring(text, name="again.csv").sets_added == 0
    other = Store(tmp_path / "other.duckdb")
    (tmp_path / "export.csv").write_text(text, "utf-8")
    take_in(other, tmp_path / "export.csv")
    pd.testing.assert_frame_equal(logged(other), kept)
    assert sets(other)["rir_half"].fillna(0).tolist() == [0.5, 0, 0.25, 0, 0]


def test_one_and_a_half_and_an_interval_around_it_are_two_sets(bring):
    bring(log("1.5,,"))
    assert bring(log("1-2,,"), name="b.csv").sets_added == 1


def test_an_interval_is_corrected_and_taken_back(bring, store):
    bring(log("2,,"))
    (set_id,) = sets(store)["set_id"]
    for said, told in (("1-2", "1-2"), ("RPE 7 to 8", "2-3"), ("3", 3), ("", None)):
        edit_set(store, set_id, **dict([read_correction(f"rir={said}")]))
        assert logged(store)["rir"].replace(float("nan"), None).tolist() == [told]
        assert sets(store)["rir_half"].notna()[0] == isinstance(told, str)
    assert history(store, set_id)["after"].tolist()[:3] == ["1-2", "2-3", "3.0"]
    for told in (3, "2-3", "1-2", 2):
        undo_edit(store, set_id)
        assert logged(store)["rir"].tolist() == [told]
    for wrong in ((1, 31), (-1, 2), (1, 2, 3), ("1", 2)):
        with pytest.raises(InputError, match="0 to 30 repetitions in reserve"):
            edit_set(store, set_id, rir=wrong)
    with pytest.raises(InputError, match="contradicts"):
        edit_set(store, set_id, rir=(1, 2), failed=True)


@pytest.mark.parametrize("reps", ["0", ""])
def test_a_hold_may_be_logged_with_no_repetitions(bring, store, reps):
    head = "lifter,date,exercise,load_kg,reps,hold_s,angle\n"
    result = bring(
        f"{head}R01,2025-01-06,barbell curl,30,{reps},6,90\n"
        "R01,2025-01-06,barbell curl,30,0,,90\nR01,2025-01-06,barbell curl,30,0,0,90\n"
    )
    assert [(i.row, i.column) for i in result.issues] == [(3, "reps"), (4, "hold_s")]
    (hold,) = logged(store).to_dict("records")
    assert (hold["hold_s"], np.isnan(hold["reps"])) == (6, True)


def test_shorthand_may_end_with_an_interval_of_effort(bring, store):
    bring("lifter,date,exercise,work\nR01,2025-01-06,curl,3x8 @ 20kg RIR 1-2\n"
          "R01,2025-01-07,barbell curl,8 @ 20kg RPE 8-9\n"
          "R01,2025-01-08,barbell curl,8 @ 20kg (1-2 RIR)\n"
          "R01,2025-01-09,barbell curl,8 x 20kg @ 8-9\n"
          "R01,2025-01-06,barbell curl,3x8 @ 20kg RIR 1 bis 2\n")  # fmt: skip
    assert effort(store) == [(1.5, False)] * 6
    assert set(sets(store)["rir_half"]) == {0.5}


# Words of lifters for a set to failure: common practice, no source.
@pytest.mark.parametrize(
    "word", ["F", "fail", "MV", "Muskelversagen", "bis Versagen", "échec", "à l'échec"]
)
@pytest.mark.parametrize("column", ["{},,", ",{},", ",,{}"])
def test_known_words_for_failure_mean_it_in_every_column_of_effort(
    bring, store, word, column
):
    bring(log(column.format(word)))
    ((reserve, failed),) = effort(store)
    assert failed
    assert reserve in (0, None)


@pytest.mark.parametrize(
    "cells",
    [
        "hart,,", ",hart,", ",,vielleicht", "1/2,,", "31,,", ",11,", ",,7", "@8,,",
        "8-12,,", "6-8,,", "0-5,,", "-1-2,,", "1-2-3,,", "2025-02-01,,", "01-02,,",
        "1. Feb,,", ",8-12,", ",9-11,", ",5-10,", ",1-2025,", "RIR 2 RPE 8,,", "1-x,,",
    ],
)  # fmt: skip
def test_an_effort_that_cannot_be_read_costs_the_effort_and_is_listed(
    bring, store, cells
):
    result = bring(log("2,,", cells, ",8,"), columns="[settings]\nrir = 1")
    assert (result.rows_read, result.sets_added, result.rejected) == (3, 3, 0)
    # The constant is for rows that say nothing; this one says something.
    assert effort(store) == [(2, False), (None, False), (2, False)]
    (issue,) = result.efforts_not_read
    text = cells.strip(",")
    assert (issue.row, issue.value) == (3, text)
    assert issue.column in ("rir", "rpe", "failed")
    assert issue.problem.startswith("effort not read")
    assert issue.accepted
    assert result.effort_words == {text: 1}
    assert any(f"`{text}` 1" in note and "row 3" in note for note in result.notes)


def test_a_word_is_asked_once_and_its_meaning_stays_with_the_layout(bring, store):
    cells = ["hart,,", "leicht,,", "weiß nicht,,", "2,,", "HART,,"]
    asked = bring(log(*cells), trial=True)
    assert asked.effort_words == {"HART": 1, "hart": 1, "leicht": 1, "weiß nicht": 1}
    answers = '[effort]\nhart = "failed"\nleicht = 4\n"Weiß nicht" = ""\n'
    result = bring(log(*cells), columns=answers)
    assert (result.sets_added, result.effort_words) == (5, {})
    told = [(0, True), (4, False), (None, False), (2, False), (0, True)]
    assert effort(store) == told
    bring(log(*cells).replace("R01", "R02"), name="next.csv")
    assert sorted(effort(store), key=str) == sorted(
        [(r if r is None else float(r), f) for r, f in told * 2], key=str
    )


def test_a_meaning_given_goes_before_the_common_one(bring, store):
    bring(log("F,,"), columns='[effort]\nf = ""')
    assert effort(store) == [(None, False)]


def test_effort_that_contradicts_itself_still_rejects_the_row(bring):
    result = bring(log("F,,no", "3,,yes", "F,8,"))
    assert [issue.column for issue in result.issues] == ["failed", "failed", "rpe"]


def test_rows_with_another_fault_are_rejected_and_not_listed_twice(bring, store):
    text = log("hart,,", "hart,,").replace(
        "2025-01-02,barbell curl,20", "2025-01-02,c,x"
    )
    result = bring(text)
    assert (result.sets_added, result.rejected) == (1, 1)
    assert [issue.row for issue in result.efforts_not_read] == [2]
    table = rejected_table(store, result.intake_id)
    table["load_kg"] = "22"
    (fixed,) = fix_rejected(store, table)
    assert (fixed.sets_added, fixed.effort_words) == (1, {"hart": 1})


def test_the_same_file_read_otherwise_says_what_to_undo_first(bring):
    text = log("hart,,", "2,,")
    bring(text)
    again = bring(text, columns='[effort]\nhart = "failed"', trial=True)
    assert again.sets_added == 1
    assert any("undo import 1 first" in note for note in again.notes)
    assert not any("undo import" in note for note in bring(text).notes)
