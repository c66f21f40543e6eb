"""The coach's table, one column after another, against fits written down by hand."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from hand_made_fit import made_fit, made_sets

from analytics import advice


def test_a_lifter_with_nothing_special_has_no_flags():
    sets = made_sets({"R01": ["standing_barbell_curl", "preacher_curl_45"]})
    row = advice.clients(made_fit(sets), sets).iloc[0]
    assert np.isnan(row["pain"])
    assert np.isnan(row["left_right_ratio"])
    assert np.isnan(row["lean_frac"])
    assert row["effort_frac"] == 1.0
    assert row["ratios"][0]["cohort"] == pytest.approx(0.6)


def test_cheat_is_a_share_only_where_somebody_wrote_that_there_was_none():
    sets = made_sets({"R01": ["standing_barbell_curl"] * 2})
    fit = made_fit(sets)
    mixed = np.arange(len(sets)) % 4 == 0
    row = advice.clients(fit, sets.assign(cheat=mixed)).iloc[0]
    assert row["cheat_frac"] == pytest.approx(mixed.mean())
    assert row["watched"] == len(sets)
    row = advice.clients(fit, sets.assign(cheat=np.where(mixed, True, None))).iloc[0]
    assert np.isnan(row["cheat_frac"])


CURLS = ["standing_barbell_curl", "preacher_curl_45"]


def of_one(fit, sets, **asked):
    return advice.clients(fit, sets, **asked).iloc[0]


def test_sets_are_counted_with_their_effort_and_their_marks():
    sets = made_sets({"R01": CURLS[:1]})
    sets["rir"] = [2.0, 1.0, *[np.nan] * 4]
    sets["failed"] = [False, False, True, False, False, False]
    sets["flag"] = ["", "", "", "", "implausible load", "implausible load"]
    row = of_one(made_fit(sets), sets)
    assert (row["sets"], row["flagged"]) == (6, 2)
    assert row["effort_frac"] == pytest.approx(3 / 6)


@pytest.mark.parametrize(("pain", "worst"), [(0.0, np.nan), (0.5, 0.5), (4.0, 4.0)])
def test_the_worst_recent_pain_is_shown_and_the_day_of_the_last(pain, worst):
    sets = made_sets({"R01": CURLS[:1]})
    sets["pain"] = [9.0, *[np.nan] * 3, pain, np.nan]  # weeks ago, and a week ago
    row = of_one(made_fit(sets), sets)
    assert row["pain"] == pytest.approx(worst, nan_ok=True)
    assert row["pain_on"] == sets["performed_on"][4 if pain else 0]


def test_a_client_is_shown_by_the_setup_with_most_sets_or_the_one_asked_for():
    sets = made_sets({"R01": CURLS})
    fit = made_fit(sets)
    fit.trend.loc[fit.trend["setup"] == CURLS[1], "sets"] = 3
    assert of_one(fit, sets)["setup"] == CURLS[1]
    asked = of_one(fit, sets, variant=CURLS[0])
    assert (asked["setup"], asked["strength_kg"]) == (CURLS[0], 50.0)


def test_strength_is_the_last_of_its_line_and_stands_below_its_best_with_the_body():
    sets = made_sets({"R01": CURLS[:1]})
    fit = made_fit(sets)
    fit.trend["strength_kg"] = [40.0, 50.0, 60.0, 55.0, 50.0, 45.0]
    fit.trend["body_kg"] = 20.0  # as in a chin-up: of 80 kg in all 15 are lost
    row = of_one(fit, sets)
    assert row["strength_kg"] == 45.0
    assert row["best_on"] == fit.trend["date"].iloc[2]
    assert row["below_best_frac"] == pytest.approx(1 - 65 / 80)
    assert row["spark"] == [40.0, 50.0, 60.0, 55.0, 50.0, 45.0]


def test_a_line_runs_week_by_week_from_its_first_to_its_last_of_24():
    sets = made_sets({"R01": CURLS[:1], "R02": CURLS[:1]}, weeks=30)
    fit = made_fit(sets)
    trend = fit.trend.assign(strength_kg=np.tile(np.arange(30.0), 2))
    twice = trend.iloc[[29]].assign(strength_kg=31.0)  # a second day of that week
    trend = pd.concat([trend.drop(index=[20, *range(30, 40), 59]), twice])
    rows = advice.clients(replace(fit, trend=trend), sets).set_index("lifter")
    first, second = rows["spark"]
    assert (len(first), first[0], first[-1]) == (24, 6.0, 30.0)
    assert np.flatnonzero(np.isnan(first)).tolist() == [14]  # nothing that week
    assert second == list(np.arange(10.0, 29.0))


def test_ratios_of_ones_own_sets_alone_stand_beside_the_cohorts():
    sets = made_sets({"R01": CURLS, "R02": CURLS[:1]})
    fit = made_fit(sets)
    fit.ratios["ratio"] = 0.7
    rows = advice.clients(fit, sets).set_index("lifter")
    assert rows.loc["R02", "ratios"] == []
    (own,) = rows.loc["R01", "ratios"]
    assert (own["setup"], own["cohort"]) == (CURLS[1], 0.7)
    assert own["ratio"] == pytest.approx(0.6)


def test_sides_are_those_of_the_setup_with_most_sided_sets():
    sets = made_sets({"R01": CURLS})
    fit = made_fit(sets)
    sides = {"lifter": "R01", "setup": CURLS, "left_right_ratio": [0.9, 1.1]}
    sides |= {"low": [0.8, 1.0], "high": [1.0, 1.2], "sets": [12, 5]}
    fit = replace(fit, sides=pd.DataFrame(sides))
    row = of_one(fit, sets)
    found = [row["left_right_ratio"], row["left_right_low"], row["left_right_high"]]
    assert found == [0.9, 0.8, 1.0]
