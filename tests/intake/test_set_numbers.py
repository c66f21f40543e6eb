"""A column that numbers the sets never multiplies them, and a count never is lost."""

from __future__ import annotations

import pytest

from analytics.errors import FileRefusedError
from analytics.intake import suggest_columns
from analytics.store import sets

DAYS = ("2025-01-06", "2025-01-08")


def log(header, numbers, *, days=DAYS, exercises=("barbell curl", "hammer curl")):
    """Rows of a log in which `header` has these numbers for each exercise and day."""
    rows = [
        f"R01,{day},{exercise},{20 + at},8,{number}"
        for day in days
        for exercise in exercises
        for at, number in enumerate(numbers)
    ]
    return "\n".join([f"lifter,date,exercise,load_kg,reps,{header}", *rows]) + "\n"


def explicit(field, header):
    return (
        '[columns]\nlifter="lifter"\nperformed_on="date"\nexercise="exercise"\n'
        f'load="load_kg"\nreps="reps"\n{field}="{header}"\n'
    )


@pytest.mark.parametrize(
    "header", ["Série", "Satz", "Set", "set_order", "Sets", "Set Nr."]
)
def test_a_set_number_is_told_from_a_count_by_its_values(bring, store, header):
    result = bring(log(header, (1, 2, 3)))
    assert (result.rows_read, result.sets_added, result.rejected) == (12, 12, 0)
    assert len(sets(store)) == 12
    (note,) = [
        note for note in result.notes if f"`{header}`" in note and "1, 2" in note
    ]
    assert "number of each set" in note
    assert "row 2 on" in note
    # The layout that is remembered has it so, too.
    again = bring(log(header, (1, 2, 3), days=("2025-02-03",)), name="next.csv")
    assert (again.rows_read, again.sets_added) == (6, 6)


@pytest.mark.parametrize("numbers", [(1, 2, 3, 1, 2), (0, 1, 2), ("", 1, 2, 3)])
def test_warm_ups_and_a_second_bout_do_not_hide_a_set_number(bring, numbers):
    result = bring(log("Serie", numbers))
    assert result.sets_added == result.rows_read == 4 * len(numbers)


def test_numbers_that_run_through_the_session_are_set_numbers(bring):
    rows = "".join(
        f"R01,2025-01-0{day},{name},20,8,{number}\n"
        for day in (6, 8)
        for number, name in enumerate(["curl"] * 3 + ["row"] * 3, start=1)
    )
    assert bring("lifter,date,exercise,load_kg,reps,set\n" + rows).sets_added == 12


@pytest.mark.parametrize("header", ["Sätze", "sets", "Serie"])
@pytest.mark.parametrize("counts", [(3,), (3, 3), (2, 1), (1, 1)])
def test_a_count_of_sets_goes_on_counting_and_says_so(bring, header, counts):
    result = bring(log(header, counts))
    assert result.sets_added == 4 * sum(counts)
    told = (
        f"{4 * len(counts)} rows gave {4 * sum(counts)} sets, because column `{header}`"
    )
    assert any(told in note for note in result.notes) == (sum(counts) > len(counts))


def test_a_column_mapped_as_a_count_that_numbers_sets_refuses_the_file(bring, store):
    with pytest.raises(FileRefusedError) as refused:
        bring(log("N", (1, 2, 3)), columns=explicit("sets", "N"))
    for seen in ("`N`", "1, 2, 3", "row 2", 'set_no = "N"'):
        assert seen in str(refused.value)
    assert not store.exists
    answered = bring(log("N", (1, 2, 3)), columns=explicit("set_no", "N"))
    assert answered.sets_added == 12


def test_an_exercise_written_once_does_not_hide_a_set_number(bring):
    rows = "R01,2025-01-06,barbell curl,20,8,1\n,,,21,8,2\n,,,22,8,3\n"
    header = "lifter,date,exercise,load_kg,reps,sets\n"
    result = bring(header + rows, columns="[read]\nfill_down = true")
    assert (result.rows_read, result.sets_added) == (3, 3)


def test_two_rows_that_say_one_and_two_are_asked_and_either_answer_is_taken(
    bring, store, tmp_path
):
    text = log("sets", (1, 2), days=DAYS[:1], exercises=("barbell curl",))
    with pytest.raises(FileRefusedError, match="numbers of sets or counts"):
        bring(text)
    (tmp_path / "ask.csv").write_text(text)
    found = suggest_columns(store, tmp_path / "ask.csv")
    assert "sets" not in found.column_map.columns
    assert any(question.startswith("column `sets`") for question in found.questions)
    assert bring(text, columns=explicit("sets", "sets"), trial=True).sets_added == 3
    assert bring(text, columns=explicit("set_no", "sets"), trial=True).sets_added == 2


def test_a_column_called_set_that_does_not_count_on_is_asked(bring):
    with pytest.raises(FileRefusedError, match="says 3 in row 2 and does not count on"):
        bring(log("Set", (3,)))


def test_a_suggestion_has_the_set_number_where_it_belongs(store, tmp_path):
    path = tmp_path / "log.csv"
    path.write_text(log("Série", (1, 2, 3)).replace("lifter", "Gruppe"), "utf-8")
    found = suggest_columns(store, path)  # nobody said yet who lifted
    assert found.column_map.columns["set_no"] == ("Série",)
    assert "sets" not in found.column_map.columns


def test_a_suggested_column_can_be_switched_off_and_stays_off(bring, store):
    text = log("rir", (3, 2))
    result = bring(text, columns='[columns]\nrir = ""\n')
    assert "rir" not in result.column_map.columns
    assert sets(store)["rir"].isna().all()
    assert any("`rir`" in note for note in result.notes)  # among those not read
    bring(log("rir", (3, 2), days=("2025-02-03",)), name="next.csv")
    assert sets(store)["rir"].isna().all()


def test_a_doubt_about_a_column_that_is_off_is_none(bring):
    text = log("effort", (8, 9))
    with pytest.raises(FileRefusedError, match="rpe or rir"):
        bring(text)
    assert bring(text, columns='[columns]\nrpe = ""\nrir = ""\n').sets_added == 8


def test_many_rejected_rows_are_said_first(bring):
    text = log("note", ("a", "b")).replace(",21,8", ",x,8")
    result = bring(text)
    assert "4 of 8 rows (50%) are rejected" in result.notes[0]
    assert not any(
        "rejected" in n for n in bring(log("note", "ab"), name="b.csv").notes
    )
