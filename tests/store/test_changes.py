"""A stored set is fixed or deleted by hand, with its history, and undone."""

from __future__ import annotations

import datetime as dt

import pytest

from analytics.errors import InputError
from analytics.store import (
    delete_set,
    edit_set,
    history,
    sets,
    sets_hash,
    undo,
)

LOG = (
    "lifter,date,exercise,load_kg,reps\n"
    "R01,2025-01-06,barbell curl,200,8\n"
    "R01,2025-01-06,barbell curl,20,8\n"
    "R01,2025-01-06,barbell curl,20,8\n"
)


@pytest.fixture
def slip(store, bring):
    bring(LOG)
    found = sets(store)
    return found.set_id[found.load_kg.idxmax()]


def test_an_edited_set_keeps_its_history_and_its_file_stays_known(store, bring, slip):
    before = sets_hash(store, "elbow_flexion")
    edit_set(store, slip, load_kg=20.0, note="a slip", exercise="hammer curl")
    assert sets_hash(store, "elbow_flexion") != before
    found = sets(store).set_index("set_id").loc[slip]
    assert (found.load_kg, found.note, found.variant) == (20, "a slip", "hammer_curl")
    assert history(store, slip)["column"].tolist() == ["name_key", "load_kg", "note"]
    longer = bring(LOG + "R01,2025-01-08,barbell curl,20,8\n", name="longer.csv")
    assert (longer.sets_added, longer.already_known) == (1, 3)


def test_a_deleted_set_stays_known(store, bring, slip):
    delete_set(store, slip)
    assert slip not in set(sets(store).set_id)
    assert bring(LOG + "\n", name="again.csv").already_known == 3
    with pytest.raises(InputError, match="no set"):
        delete_set(store, slip)


def test_undoing_an_edited_intake_brings_the_set_back_as_logged(store, bring, slip):
    edit_set(store, slip, load_kg=20.0, side="left")
    assert undo(store, 1).rows == 3
    assert bring(LOG).sets_added == 3
    assert sets(store).load_kg.max() == 200
    assert set(sets(store).side) == {""}
    assert history(store, slip).empty


@pytest.mark.parametrize(
    ("changes", "word"),
    [
        ({"load_kg": 10_000}, "1000"),
        ({"load_kg": None}, "load_kg"),
        ({"load_kg": True}, "load_kg"),
        ({"load_kg": -5}, "body mass"),
        ({"reps": float("nan")}, "reps"),
        ({"reps": None}, "hold_s"),
        ({"set_key": 3}, "cannot be edited"),
        ({"performed_on": dt.date(2190, 1, 1)}, "to today"),
        ({"performed_on": "2025-01-06"}, "to today"),
        ({"failed": True, "rir": 2}, "contradicts"),
        ({"range_from_deg": 100, "range_to_deg": 20}, "above"),
        ({"lifter": " "}, "text"),
        ({"side": "up"}, "left"),
        ({"note": "x" * 10_001}, "longer"),
        ({"exercise": "?"}, "exercise"),
        ({"reps": 9.0, "load_kg": -1_000}, "load_kg"),
    ],
)
def test_an_edit_that_intake_would_reject_is_refused_whole(store, slip, changes, word):
    before = sets(store)
    with pytest.raises(InputError, match=word):
        edit_set(store, slip, **changes)
    assert sets(store).equals(before)
    assert history(store, slip).empty
