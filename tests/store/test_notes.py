"""What a coach notes on a lifter."""

import pytest

from analytics.errors import InputError
from analytics.store import Store, coach_note, coach_notes, forget, note_on


@pytest.fixture
def two(store: Store, bring) -> Store:
    bring("lifter,date,exercise,load (kg),reps\nA,2025-01-06,curl,40,8\n"
          "B,2025-01-06,curl,30,8\n")  # fmt: skip
    return store


def test_a_note_is_kept_changed_and_taken_away(two):
    assert coach_note(two, "A") == ""
    note_on(two, "A", "  grip first\nthen load ")
    note_on(two, "B", "back in March")
    assert coach_notes(two) == {"A": "grip first\nthen load", "B": "back in March"}
    note_on(two, "A", "thumbs around")
    assert coach_note(two, "A") == "thumbs around"
    note_on(two, "A", " ")
    assert coach_notes(two) == {"B": "back in March"}


def test_a_note_goes_with_its_lifter(two):
    note_on(two, "A", "grip first")
    forget(two, "A")
    assert coach_notes(two) == {}


def test_a_note_on_nobody_and_one_too_long_are_refused(two):
    with pytest.raises(InputError, match="no lifter"):
        note_on(two, "Z", "grip first")
    with pytest.raises(InputError, match="at most 1,000 letters, this one 1,001"):
        note_on(two, "A", "x" * 1001)
