"""What exercise names mean: suggested, said, changed, taken back."""

from __future__ import annotations

import pytest

from analytics.catalogue import search_words, trade_words
from analytics.errors import InputError
from analytics.store import (
    Meaning,
    find_variant,
    meaning_of,
    names,
    sets,
    take_back_name,
    teach_names,
    unnamed,
    variants,
)


def log(*exercises):
    rows = "".join(f"R01,2025-01-06,{name},20,8\n" for name in exercises)
    return "lifter,date,exercise,load_kg,reps\n" + rows


def meant(store):
    return names(store).set_index("text")["variant"].to_dict()


# Words of the trade in three languages; common practice, no source.
@pytest.mark.parametrize(
    ("typed", "variant"),
    [
        ("preacher", "preacher_curl_45"), ("Scott", "preacher_curl_60"),
        ("pupitre", "preacher_curl_30"), ("SZ-Stange", "ez_bar_curl"),
        ("barre EZ", "ez_bar_curl"), ("spider", "prone_incline_curl"),
        ("Seilzug", "low_cable_curl"), ("poulie", "high_cable_curl"),
        ("Kurzhantel", "standing_dumbbell_curl"), ("marteau", "hammer_curl"),
        ("Kreuzheben", "deadlift"), ("Latzug", "pulldown"), ("traction", "chin_up"),
        ("Schrägbank", "incline_curl_45"), ("concentre", "concentration_curl"),
    ],
)  # fmt: skip
def test_an_exercise_is_found_by_words_of_the_trade(typed, variant):
    assert typed.casefold() in [word.casefold() for word in search_words(variant)]


@pytest.mark.parametrize(
    ("text", "same"),
    [
        ("Bankdrücken eng", "bench press"), ("Développé couché", "bench press"),
        ("Kniebeugen", "squat"), ("Flexion de jambes", "squat"),
        ("Beinpresse 45", "leg press"), ("drag curls", "drag"),
        ("Curl an der Maschine", "machine"), ("Scottcurl", "preacher"),
    ],
)  # fmt: skip
def test_names_of_three_languages_hold_the_same_idea(text, same):
    assert same in trade_words(text)


def test_an_idea_is_not_found_where_only_letters_agree():
    assert trade_words("incline bench curl") == {"incline", "curl"}
    assert "barbell" not in trade_words("kbb")
    assert "EZ" not in trade_words("curl barbell")


def test_the_suggestion_goes_by_words_of_the_trade_in_any_language(bring, store):
    bring(log("Curl pupitre 45", "Marteau assis", "Tirage poitrine large"))
    near = unnamed(store).set_index("text")["nearest"]
    assert near["Curl pupitre 45"] == "preacher_curl_45"
    assert near["Marteau assis"] == "hammer_curl"
    assert near["Tirage poitrine large"] == "pulldown"


def test_what_was_typed_goes_before_what_a_form_kept(bring, store):
    bring(log("Grumbel", "Grumbel"))
    said = meaning_of(store, "Grumbel", chosen="preacher_curl_45", own="Bench (close)")
    assert said == Meaning("Grumbel", "bench_close", "Bench close", "Bench (close)")
    teach_names(store, [said])
    row = variants(store).set_index("variant").loc["bench_close"]
    assert row[["title", "movement", "sets"]].tolist() == [
        "Bench (close)", "Bench close", 2
    ]  # fmt: skip


def test_an_own_exercise_typed_again_is_the_same_and_a_known_name_is_the_known(
    bring, store
):
    bring(log("Grumbel", "Grumbel eng"))
    teach_names(store, [meaning_of(store, "Grumbel", own="Close bench")])
    again = meaning_of(store, "Grumbel eng", own="close-bench", movement="presses")
    assert again == Meaning("Grumbel eng", "close_bench")
    assert meaning_of(store, "x", own="Hammer curl").variant == "hammer_curl"
    # a slip of the pen from a known name is another exercise: typed is typed
    assert meaning_of(store, "x", own="hamer curl").variant == "hamer_curl"


@pytest.mark.parametrize("own", ["", " ", "?!"])
def test_a_meaning_without_letters_is_refused(store, own):
    with pytest.raises(InputError, match="letters and digits"):
        meaning_of(store, "?", own=own)


def test_several_meanings_are_stored_all_or_none(bring, store):
    bring(log("Grumbel", "Brumbel"))
    with pytest.raises(InputError, match="no variant `nowhere`"):
        teach_names(store, [Meaning("Grumbel", "hammer_curl"),
                            Meaning("Brumbel", "nowhere")])  # fmt: skip
    assert meant(store)["Grumbel"] is None or meant(store)["Grumbel"] != "hammer_curl"


def test_a_meaning_taken_back_is_what_it_was_by_itself(bring, store):
    bring(log("Grumbel", "Hammer curl"))
    teach_names(store, [meaning_of(store, "Grumbel", own="Close bench"),
                        Meaning("Hammer curl", "deadlift")])  # fmt: skip
    assert sets(store)["variant"].tolist() == ["close_bench", "deadlift"]
    take_back_name(store, "Grumbel")
    take_back_name(store, "Hammer curl")
    assert "close_bench" not in variants(store)["variant"].tolist()
    assert meant(store)["Hammer curl"] == "hammer_curl"
    assert unnamed(store)["text"].tolist() == ["Grumbel"]
    with pytest.raises(InputError, match="nobody said what `Grumbel` means"):
        take_back_name(store, "Grumbel")


# Words of the trade in three languages; common practice, no source.
@pytest.mark.parametrize(
    ("typed", "variant"),
    [
        ("hammer", "hammer_curl"), ("KH Hammer", "hammer_curl"),
        ("Scottcurl 45", "preacher_curl_45"), ("curl pupitre 45", "preacher_curl_45"),
        ("Rudern Kabel", "seated_cable_row"), ("goblet", "goblet_squat"),
    ],
)  # fmt: skip
def test_words_that_one_exercise_has_are_enough_for_a_command(store, typed, variant):
    assert find_variant(store, typed) == variant


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("Scott", "may be preacher_curl_0, .*preacher_curl_90; say which"),
        ("Klimmzüge", "may be chin_up, pull_up; say which"),
        ("curl", r"or \d+ more"),
        # A word that no name of it has is never passed over.
        ("marteau assis", "no variant"), ("hammer row", "no variant"),
        ("hammerstrength", "no variant"), ("hammer curl with rope", "no variant"),
        ("", "no variant"), ("?", "no variant"),
    ],
)  # fmt: skip
def test_words_that_several_or_none_have_are_refused(store, typed, said):
    with pytest.raises(InputError, match=said):
        find_variant(store, typed)


def test_no_slip_of_letters_makes_one_muscle_of_another(bring, store):
    bring(log("Bizepsmaschine", "Trizepsmaschiene"))
    assert unnamed(store)["text"].tolist() == ["Bizepsmaschine"]
    assert meant(store)["Trizepsmaschiene"] == "machine_elbow_extension"
