"""Pain in notes is offered, marked or dismissed; pain can be over, and come back."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from analytics.errors import InputError
from analytics.store import (
    edit_set,
    end_pain,
    forget,
    history,
    pain_in_notes,
    pain_site,
    sets,
    sets_and_pains,
)
from analytics.store.pains import said_of_pain


# Notes as lifters write them, invented; what they mean is plain to a reader.
@pytest.mark.parametrize(
    ("note", "site"),
    [
        ("slight pain in left elbow", "elbow"), ("shoulder hurts a bit", "shoulder"),
        ("wrist sore", "wrist"), ("twinge in the biceps tendon", "biceps tendon"),
        ("lower back ached", "back"), ("knee pain 3/10, stopped", "knee"),
        ("no belt, elbow painful", "elbow"),
        ("not heavy but forearm aching", "forearm"),
        ("no reps lost elbow pain", "elbow"), ("No pain at first, then it hurt", ""),
        ("Ellenbogen schmerzt", "elbow"), ("Ellbogenschmerzen rechts", "elbow"),
        ("Schulter tut weh", "shoulder"), ("Rückenschmerzen", "back"),
        ("Knie zwickt. Sonst gut", "knee"), ("kein Gurt, Handgelenk sticht", "wrist"),
        ("Unterarm gezerrt?", "forearm"), ("stark! Schmerzen", ""),
        ("douleur au coude", "elbow"), ("mal à l'épaule", "shoulder"),
        ("poignet douloureux", "wrist"), ("mal au dos, arrêté", "back"),
        ("genou: petite douleur", "knee"), ("avant-bras me lance", "forearm"),
    ],
)  # fmt: skip
def test_a_note_that_speaks_of_pain_is_found_with_its_site(note, site):
    found = said_of_pain(note)
    assert found is not None
    assert found.site == site
    assert found.words in note


@pytest.mark.parametrize(
    "note",
    [
        "felt good", "no pain", "no elbow pain", "pain free", "pain-free again",
        "without any pain in the shoulder", "didn't hurt", "elbow pain gone",
        "pain: 0", "not painful any more", "new painting in the gym", "back at it",
        "schmerzfrei", "keine Schmerzen", "ohne Schmerzen", "Ellenbogen tut nicht weh",
        "kein Ellenbogenschmerz mehr", "Schulter nicht mehr gereizt", "Muskelkater",
        "Schmerzen weg", "sans douleur", "pas de douleur", "aucune douleur au coude",
        "mal dormi", "sans aucune douleur", "",
    ],
)  # fmt: skip
def test_a_note_without_pain_or_with_its_absence_is_not_found(note):
    assert said_of_pain(note) is None


def log(*notes):
    rows = "".join(
        f"R01,2025-01-{at:02d},barbell curl,20,8,{note}\n"
        for at, note in enumerate(notes, start=6)
    )
    return "lifter,date,exercise,load_kg,reps,note\n" + rows


def test_what_is_found_is_marked_or_dismissed_and_not_offered_again(bring, store):
    bring(log("elbow hurts", "fine", "Ellenbogen schmerzt"))
    found = pain_in_notes(store)
    assert found["note"].tolist() == ["Ellenbogen schmerzt", "elbow hurts"]
    assert found["site"].tolist() == ["elbow", "elbow"]
    assert pain_in_notes(store, lifter="R02").empty
    latest, first = found["set_id"]
    edit_set(store, latest, pain=4)
    assert pain_in_notes(store)["set_id"].tolist() == [first]
    edit_set(store, first, pain=0)  # dismissed
    assert pain_in_notes(store).empty
    assert history(store)["after"].tolist() == ["4", "0"]
    assert sets_and_pains(store)["pain"].dropna().tolist() == [0, 4]


@pytest.mark.parametrize(
    ("note", "site"),
    [("l. Ellbogen", "elbow"), ("slow", ""), ("good back day, wrist hurts", "wrist")],
)
def test_the_site_of_a_logged_pain_stands_in_its_note(note, site):
    assert pain_site(note) == site


def test_pain_that_is_over_is_left_out_of_advice_and_stays_in_the_log(bring, store):
    bring(log("elbow hurts", "fine", "elbow hurts"))
    for set_id in pain_in_notes(store)["set_id"]:
        edit_set(store, set_id, pain=4)
    end_pain(store, "R01", date(2025, 1, 7))
    assert sets_and_pains(store)["pain"].dropna().tolist() == [4]
    assert sets(store)["pain"].dropna().tolist() == [4, 4]
    end_pain(store, "R01", date(2025, 1, 8))
    assert sets_and_pains(store)["pain"].isna().all()
    end_pain(store, "R01", None)
    assert sets_and_pains(store)["pain"].dropna().tolist() == [4, 4]


def test_notes_up_to_the_end_of_the_pain_are_not_offered_later_ones_are(bring, store):
    bring(log("elbow hurts", "elbow hurts"))
    end_pain(store, "R01", date(2025, 1, 6))
    assert pain_in_notes(store)["performed_on"].dt.day.tolist() == [7]
    forget(store, "R01")
    bring(log("elbow hurts"), name="again.csv")
    assert len(pain_in_notes(store)) == 1


def test_an_end_of_pain_needs_a_known_lifter_and_a_day_that_was(bring, store):
    bring(log("fine"))
    with pytest.raises(InputError, match="R99"):
        end_pain(store, "R99", date(2025, 1, 6))
    with pytest.raises(InputError, match="to come"):
        end_pain(store, "R01", date.today() + timedelta(days=1))
