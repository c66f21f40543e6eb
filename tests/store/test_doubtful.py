"""Slips of the pen are found whatever the exercise is called, and training is not."""

from __future__ import annotations

import pytest

from analytics.errors import InputError
from analytics.store import (
    accept_set,
    doubtful_sets,
    edit_set,
    edit_sets,
    history,
    logged,
    sets,
    sets_hash,
    undo_edit,
)

MOVEMENTS = ("elbow_flexion", "elbow_extension")


def log(loads, *, exercise="Bankdings", reps=8):
    rows = "".join(
        f"R01,2025-{1 + at // 28:02d}-{1 + at % 28:02d},{exercise},{load},{reps}\n"
        for at, load in enumerate(loads)
    )
    return "lifter,date,exercise,load_kg,reps\n" + rows


@pytest.mark.parametrize(
    ("loads", "found"),
    [
        ([75, 75, 77.5, 775, 77.5, 80], [775]),  # a decimal sign lost
        ([75, 775, 77.5, 80, 800, 80, 80, 82.5], [775, 800]),  # twice, near
        ([75, 75, 7.5, 77.5, 77.5], [7.5]),  # misplaced the other way
        ([40, 40, 88, 40, 41, 41, 42], [88]),  # pounds among kilograms
        ([775, 75, 75, 77.5, 80], [775]),  # the first of all
    ],
)
def test_a_slip_is_found_under_a_name_with_and_without_meaning(
    bring, store, loads, found
):
    bring(log(loads), name="a.csv")
    bring(log(loads, exercise="hammer curl"), name="b.csv")
    listed = doubtful_sets(store)
    for name in ("Bankdings", "hammer curl"):
        mine = listed[listed["exercise"] == name]
        # of what has no meaning only what is far off by itself, not by its neighbours
        wanted = [x for x in found if name != "Bankdings" or x != 88]
        assert sorted(mine["load_kg"]) == sorted(wanted)


def test_warm_ups_and_years_of_gain_are_no_slips(bring, store):
    bring(log([20, 40, 60, 100, 100, 100] * 4), name="a.csv")
    bring(log([20 + at / 2 for at in range(120)], exercise="row"), name="b.csv")
    bring(log([5, 5, 20, 5, 5, 20, 5], exercise="chin-up", reps=5), name="c.csv")
    assert doubtful_sets(store).empty


def test_several_sets_are_corrected_all_or_none(bring, store):
    bring(log([775, 800, 80]))
    first, second, _ = logged(store)["set_id"]
    with pytest.raises(InputError, match="load_kg"):
        edit_sets(store, {first: {"load_kg": 77.5}, second: {"load_kg": None}})
    assert history(store).empty
    edit_sets(store, {first: {"load_kg": 77.5, "exercise": "hammer curl"},
                      second: {"load_kg": 80.0}})  # fmt: skip
    assert logged(store)["load"].tolist() == [77.5, 80, 80]
    assert sets(store)["variant"].tolist() == ["hammer_curl"]
    assert history(store)["changed_at"].nunique() == 1


@pytest.mark.parametrize("exercise", ["Bankdings", "hammer curl"])
def test_a_slip_that_is_right_is_not_asked_about_until_it_changes(
    bring, store, exercise
):
    bring(log([75, 75, 77.5, 775, 77.5, 80], exercise=exercise))
    (slip,) = doubtful_sets(store).itertuples()
    assert slip.likely_kg == 77.5
    before, other = (sets_hash(store, of) for of in MOVEMENTS)
    accept_set(store, slip.set_id, slip.doubt)
    assert doubtful_sets(store).empty
    # What was fitted with the set flagged is fitted again.
    named = exercise == "hammer curl"
    assert (sets_hash(store, MOVEMENTS[0]) != before) == named
    assert sets_hash(store, MOVEMENTS[1]) == other
    assert sets(store)["flag"].eq("").all()
    assert history(store, slip.set_id)["after"].tolist() == ["right"]
    edit_set(store, slip.set_id, load_kg=770.0)
    assert doubtful_sets(store)["load_kg"].tolist() == [770]
    undo_edit(store, slip.set_id)
    assert doubtful_sets(store)["load_kg"].tolist() == [775]
