"""Ranking variants for a goal, and the lockout question."""

import numpy as np
import pytest
from hand_made_fit import ONE_RM_KG, made_fit, made_sets

from analytics.advice.choice import GOALS, rank_variants, variant_facts
from analytics.advice.locking import lockout, lockout_pair
from analytics.catalogue import make_body
from analytics.errors import InputError

SOME = ["standing_barbell_curl", "no_lockout_curl", "preacher_curl_45"]
SOME += ["incline_curl_45", "concentration_curl", "high_cable_curl"]


def order(goal: str) -> list[str]:
    return rank_variants(goal, variants=SOME)["variant"].tolist()


@pytest.mark.parametrize("goal", GOALS)
def test_every_goal_ranks_every_variant_with_a_reason(goal):
    ranking = rank_variants(goal, variants=SOME)
    assert sorted(ranking["variant"]) == sorted(SOME)
    assert ranking["rank"].tolist() == list(range(1, 7))
    assert ranking["reason"].str.len().min() > 30
    steps = np.diff(ranking["score"])
    assert (steps <= 0).all() if GOALS[goal].largest_first else (steps >= 0).all()


# Trade fact: leaving the lockout out keeps the resistance even; a steep pad is all
# at the bottom.
@pytest.mark.trade
def test_no_lockout_is_more_even_than_lockout_and_a_pad_least():
    ranking = order("even_resistance")
    assert ranking.index("no_lockout_curl") < ranking.index("standing_barbell_curl")
    assert ranking.index("preacher_curl_45") > ranking.index("standing_barbell_curl")


# Biceps crosses the shoulder, so an arm behind the trunk lengthens it (anatomy,
# any textbook); an arm overhead or forward shortens it.
@pytest.mark.trade
def test_the_incline_curl_stretches_most_and_the_high_cable_least():
    ranking = order("stretched_range")
    assert ranking[0] == "incline_curl_45"
    assert ranking[-1] == "high_cable_curl"


@pytest.mark.trade
def test_supported_arms_spare_the_shoulder():
    assert set(order("spare_shoulder")[:2]) == {
        "preacher_curl_45",
        "concentration_curl",
    }


def test_own_ratios_stand_beside_the_modelled_ranking():
    sets = made_sets({"R01": list(ONE_RM_KG), "R02": ["standing_barbell_curl"]})
    ranking = rank_variants(
        "even_resistance", variants=SOME, fit=made_fit(sets), lifter="R01"
    ).set_index("variant")
    assert ranking.loc["preacher_curl_45", "own_ratio"] == pytest.approx(0.6)
    assert np.isnan(ranking.loc["incline_curl_45", "own_ratio"])
    assert "R01's own: 0.60 (" in ranking.loc["preacher_curl_45", "reason"]
    assert "never done by R01" in ranking.loc["incline_curl_45", "reason"]
    assert ranking.loc["standing_barbell_curl", "own_ratio"] == 1


def test_the_heaviest_load_goes_by_the_lifters_own_ratio_where_there_is_one():
    sets = made_sets({"R01": list(ONE_RM_KG), "R02": ["standing_barbell_curl"]})
    fit = made_fit(sets)
    own = rank_variants("heavy_load", variants=SOME, fit=fit, lifter="R01")
    score = own.set_index("variant")["score"]
    assert score["preacher_curl_45"] == pytest.approx(0.6)
    other = rank_variants("heavy_load", variants=SOME, fit=fit, lifter="R02")
    assert other.set_index("variant")["score"]["preacher_curl_45"] != score.iloc[-1]


# Trade fact: on a steep pad the curl is stuck at the bottom and easy above; without
# the ends of the range it is hard throughout.
@pytest.mark.trade
def test_a_pad_has_one_short_hard_part_and_the_curl_without_lockout_has_not():
    ranking = order("short_hard_part")
    assert ranking[0] == "preacher_curl_45"
    assert ranking.index("no_lockout_curl") > ranking.index("preacher_curl_45")


def test_the_lockout_answer_gives_the_load_of_this_lifter():
    sets = made_sets({"R01": ["standing_barbell_curl"]})
    _, said = lockout("elbow_flexion", fit=made_fit(sets), lifter="R01")
    assert said[-2].startswith("R01 with lockout, once: 50.0 kg (")
    assert "the model expects 5" in said[-1] or "the model expects 4" in said[-1]


def test_a_movement_without_such_a_pair_is_refused():
    assert lockout_pair("elbow_flexion") == ("standing_barbell_curl", "no_lockout_curl")
    with pytest.raises(InputError, match="no variant of 'pull' is modelled without"):
        lockout("pull")


def test_what_does_not_exist_is_refused_with_what_does():
    with pytest.raises(InputError, match="even_resistance"):
        rank_variants("world_peace")
    with pytest.raises(InputError, match="no mechanical model of 'deadlift'"):
        rank_variants("even_resistance", variants=["deadlift"])


def test_the_lockout_question_is_answered_with_numbers():
    facts, said = lockout("elbow_flexion")
    assert facts["variant"].tolist() == ["standing_barbell_curl", "no_lockout_curl"]
    assert facts["evenness"].is_monotonic_increasing
    assert all(any(sign.isdigit() for sign in sentence) for sentence in said)


def test_a_lifter_without_such_sets_is_told_how_to_get_a_ratio():
    sets = made_sets({"R01": ["standing_barbell_curl"]})
    _, said = lockout("elbow_flexion", fit=made_fit(sets), lifter="R01")
    assert "a dozen" in said[-1]


def test_another_body_gives_other_numbers():
    small = make_body(body_mass_kg=50, stature_m=1.5)
    usual = variant_facts(["preacher_curl_45"])["limit_load_kg"].iloc[0]
    other = variant_facts(["preacher_curl_45"], body=small)["limit_load_kg"].iloc[0]
    assert other != pytest.approx(usual, rel=1e-3)
