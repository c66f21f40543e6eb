"""Sets typed by hand are checked like a file and never swallowed as known."""

from __future__ import annotations

from datetime import date

import pytest

from analytics.errors import InputError
from analytics.intake import take_in_by_hand
from analytics.store import delete_set, intakes, logged, sets, undo

DAY = date(2025, 1, 6)
CURL = {"exercise": "Hammer curl", "load": "18 kg", "reps": 8, "rir": 2}


def test_equal_sets_typed_one_after_another_are_all_stored(store):
    for number in (1, 1, 3):
        done = take_in_by_hand(store, "R01", DAY, CURL, sets=number)
        assert done.sets_added == number
    assert len(sets(store)) == 5
    delete_set(store, sets(store)["set_id"].iloc[0])
    assert take_in_by_hand(store, "R01", DAY, CURL).sets_added == 1
    assert len(sets(store)) == 5


def test_each_is_an_import_of_its_own_that_is_undone_alone(store):
    take_in_by_hand(store, "R01", DAY, CURL)
    second = take_in_by_hand(store, "R01", DAY, CURL | {"pain": 3, "load": "40 lb"})
    row = logged(store).iloc[-1]
    assert (row["pain"], round(row["load"], 2)) == (3, 18.14)
    undo(store, second.intake_id)
    assert logged(store)["load"].tolist() == [18]
    assert intakes(store)["file"].iloc[0] == "by hand, 2025-01-06.csv"


def test_a_failure_with_its_angle_is_stored(store):
    take_in_by_hand(
        store, "R01", DAY, CURL | {"rir": None, "failed": True, "failed_at_deg": 60}
    )
    row = sets(store).iloc[0]
    assert (row["failed"], row["failed_at_deg"]) == (True, 60)


def test_reserve_can_be_an_interval_as_in_a_file(store):
    take_in_by_hand(store, "R01", DAY, CURL | {"rir": "1-2"})
    take_in_by_hand(store, "R01", DAY, CURL | {"rir": "1–2"})
    assert sets(store)[["rir", "rir_half"]].values.tolist() == [[1.5, 0.5]] * 2


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"pain": 11}, "pain `11`.*accepted is 0 .none. to 10"),
        ({"reps": "eight"}, "reps `eight`"),
        ({"load": "heavy"}, "load `heavy`"),
        ({"failed": True}, "`2`|`yes`"),
        ({"rir": "1-40"}, "rir `1-40`"),
        ({"rir": "some"}, "rir `some`.*an interval such as 1-2"),
        ({"tempo": "2-0-2"}, "no field `tempo`"),
    ],
)
def test_what_a_file_would_not_be_taken_with_is_refused_and_nothing_stored(
    store, wrong, said
):
    with pytest.raises(InputError, match=said):
        take_in_by_hand(store, "R01", DAY, CURL | wrong)
    assert logged(store).empty


@pytest.mark.parametrize("day", [date(2999, 1, 6), date(1900, 1, 6)])
def test_a_day_that_no_log_has_is_refused(store, day):
    with pytest.raises(InputError, match="performed_on"):
        take_in_by_hand(store, "R01", day, CURL)
    assert logged(store).empty
