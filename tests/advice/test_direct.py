"""What pulls and curls asked of the elbow flexors, and the four answers."""

import numpy as np
import pandas as pd
import pytest
from hand_made_fit import DAY, made_fit, made_sets

from analytics.advice.direct import by_variant, direct_answer, weekly_shares
from analytics.advice.direct.answer import FORMS, growth_evidence
from analytics.advice.direct.shares import COLUMNS, Shares
from analytics.errors import InputError

BODIES = pd.DataFrame(
    {
        "lifter": "R01",
        "measured_on": [DAY],
        "body_mass_kg": 75.0,
        "stature_m": 1.78,
        "forearm_length_m": np.nan,
        "arm_girth_m": np.nan,
    }
)
CURLS = made_sets({"R01": ["standing_barbell_curl"]}).assign(
    range_from_deg=np.nan, range_to_deg=np.nan, hold_s=np.nan, angle_deg=np.nan
)


def pulls(variant: str, load_kg: float, **changed) -> pd.DataFrame:
    """One hard set a week of a pull."""
    movement = {"deadlift": "hinge", "rope_climb": ""}.get(variant, "pull")
    share = 1.0 if variant in ("dumbbell_row", "rope_climb") else 2.0
    what = {"variant": variant, "movement": movement, "arms_share": share}
    body = {"body_share": 1.0} if variant in ("chin_up", "pull_up") else {}
    return CURLS.assign(**{**what, "load_kg": load_kg, **body, **changed})


def shares_of(*parts: pd.DataFrame, fits=None, **options) -> Shares:
    sets = pd.concat([CURLS, *parts], ignore_index=True)
    sets["set_id"] = [str(i) for i in range(len(sets))]
    fits = [made_fit(CURLS)] if fits is None else fits
    return weekly_shares(fits, sets, BODIES, lifter="R01", **options)


def middle(shares: Shares, variant: str) -> float:
    rows = shares.rows[shares.rows["variant"] == variant]
    return float(rows["share"].median())


@pytest.fixture(scope="module")
def rowed() -> Shares:
    return shares_of(pulls("barbell_row", 60.0), pulls("chin_up", 0.0))


# A curl of three quarters of the maximum asks three quarters of the flexors, a little
# more since the forearm's own weight stays.
@pytest.mark.analytic
def test_a_curl_asks_its_part_of_the_maximum(rowed):
    assert list(rowed.rows.columns) == COLUMNS
    assert 0.7 < middle(rowed, "standing_barbell_curl") < 0.9
    assert (rowed.rows["low"] <= rowed.rows["share"]).all()
    assert (rowed.rows["share"] <= rowed.rows["high"]).all()
    assert rowed.weeks == 6
    assert (rowed.pull_sets, rowed.curl_sets) == (12, 6)
    assert "standing_barbell_curl" in rowed.basis


def test_shares_by_exercise_are_means_of_the_weeks(rowed):
    table = by_variant(rowed).set_index("variant")
    assert table["work"].to_dict() == {
        "barbell_row": "pull",
        "chin_up": "pull",
        "standing_barbell_curl": "curl",
    }
    assert (table["sets_a_week"] == 1).all()
    rows = rowed.rows[rowed.rows["variant"] == "chin_up"]
    assert table.loc["chin_up", "high"] == pytest.approx(rows["high"].mean())


def test_what_was_lifted_bounds_its_share(rowed):
    rows = rowed.rows[rowed.rows["variant"].isin(["chin_up", "barbell_row"])]
    assert (rows["high"] < 1.2).all()


def test_more_load_asks_more_and_straight_arms_little():
    asked = [
        middle(shares_of(pulls("chin_up", kg), fits=[made_fit(CURLS)]), "chin_up")
        for kg in (0.0, 10.0)
    ]
    assert asked[0] < asked[1]
    lifted = shares_of(pulls("deadlift", 100.0))
    assert middle(lifted, "deadlift") < 0.4


def test_without_own_curls_the_population_stands_in_and_is_wider(rowed):
    sets = pulls("barbell_row", 40.0)
    alone = weekly_shares([], sets, BODIES, lifter="R01")
    assert "population" in alone.basis
    assert direct_answer(alone).form in FORMS
    assert alone.curl_sets == 0


def test_an_exercise_of_ones_own_counts_only_with_a_share_and_is_never_nought():
    climbed = pulls("rope_climb", 0.0)
    without = shares_of(climbed)
    rows = without.rows[without.rows["variant"] == "rope_climb"]
    assert rows["share"].isna().all()
    assert rows["hard_sets"].sum() == 6
    assert any("6 hard sets without a share" in said for said in without.remarks())
    assert not without.pull_work.any()
    with_one = shares_of(climbed, given={"rope_climb": 0.6})
    rows = with_one.rows[with_one.rows["variant"] == "rope_climb"]
    assert (rows[["share", "low", "high"]] == 0.6).all(axis=None)
    np.testing.assert_allclose(with_one.pull_work, 0.6)


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"chin_up": 0.5}, "a share of 'chin_up' cannot be given"),
        ({"rope_climb": 1.5}, "must be from 0 to 1, got 1.5"),
    ],
)
def test_a_share_that_cannot_be_is_refused(given, words):
    with pytest.raises(InputError, match=words):
        shares_of(pulls("rope_climb", 0.0), given=given)


def test_a_body_nobody_weighed_has_no_share():
    found = shares_of(pulls("chin_up", 0.0, body_mass_kg=np.nan))
    assert found.pull_sets == 0
    assert "body mass unknown where the body is lifted" in found.unshared
    assert direct_answer(found).form == "cannot_tell"


def test_a_pull_that_the_model_thinks_impossible_is_told_as_contradicted():
    found = shares_of(pulls("pull_up", 60.0))
    assert "pull_up" in found.contradicted
    assert any("contradicted" in said for said in found.remarks())
    # An impossible set still says something, and never a share of 0.
    assert middle(found, "pull_up") > 0.5


def test_easy_sets_are_no_work_and_unknown_effort_is_told():
    easy = pulls("barbell_row", 60.0, rir=6.0)
    blank = pulls("barbell_row", 60.0, rir=np.nan)
    found = shares_of(easy, blank)
    assert found.pull_sets == 0
    assert found.effort_unknown == 6
    with pytest.raises(InputError, match="R99"):
        weekly_shares([], CURLS, BODIES, lifter="R99")


def made(pull: float, curl: float, spread: float = 0.05, **changed) -> Shares:
    draws = np.exp(spread * np.linspace(-2, 2, 101))
    known = {
        "rows": pd.DataFrame(columns=COLUMNS),
        "weeks": 10,
        "pull_work": pull * draws,
        "curl_work": curl * np.ones(101),
        "pull_sets": 60,
        "curl_sets": 40,
        "unshared": {},
        "effort_unknown": 0,
        "basis": "own standing_barbell_curl",
        "contradicted": {},
    }
    return Shares(**{**known, **changed})


@pytest.mark.parametrize(
    ("shares", "form"),
    [
        (made(4.0, 3.0), "as_much"),
        (made(1.0, 4.0), "little"),
        (made(2.6, 4.0), "too_wide"),
        (made(4.0, 3.0, 0.5), "too_wide"),
        (made(4.0, 3.0, pull_sets=3), "cannot_tell"),
        (made(4.0, 3.0, effort_unknown=101), "cannot_tell"),
        (
            made(4.0, 3.0, unshared={"variants that are not modelled": 61}),
            "cannot_tell",
        ),
        # six hard sets a week of pulls asking 1 against six of curls asking 0.75 each
        (made(1.0, 0.0, curl_sets=0), "little"),
    ],
)
def test_one_of_four_answers_is_given(shares, form):
    answer = direct_answer(shares)
    assert answer.form == form
    assert answer.sentence.startswith(FORMS[form])
    assert any("Published growth" in said for said in answer.reasons)


# Mannarino 2021: 5.16 over 11.06 %; Gentil 2015: 6.10 over 5.83 %.
@pytest.mark.published
def test_growth_of_pulls_over_curls_is_that_of_two_trials():
    table, words = growth_evidence()
    ratio = table.set_index("pull")["ratio"]
    assert ratio["dumbbell row"] == pytest.approx(5.16 / 11.06, abs=0.0006)
    assert ratio["pulldown"] == pytest.approx(6.10 / 5.83, abs=0.0006)
    pooled = table.iloc[-1]
    assert pooled["low"] < 0.5 < 1 < pooled["high"]
    assert "39 untrained men" in words
