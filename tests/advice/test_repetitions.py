"""Where strength is known best, by which relation, what is odd and what has changed."""

import numpy as np
import pandas as pd
import pytest
from hand_made_fit import DAY, ONE_RM_KG, K, made_fit, made_sets

from analytics import advice

CURL = "standing_barbell_curl"


@pytest.fixture
def fit():
    return made_fit(made_sets({"R01": [CURL], "R02": list(ONE_RM_KG)}))


@pytest.mark.analytic
def test_loads_by_repetitions_follow_the_relation(fit):
    table = advice.by_repetitions(fit, "R01", CURL)
    assert table["reps"].tolist() == list(range(1, 16))
    # 50 kg x 30 / (30 + r - 1)
    wanted = 50 * K / (K + table["reps"] - 1)
    np.testing.assert_allclose(table["strength_kg"], wanted, rtol=1e-12)


@pytest.mark.analytic
def test_strength_is_known_best_where_the_relation_cancels(fit):
    # Var(s - g) = 0.05^2 - 2 d c + d^2 v with d = -(1 - 1/e^g), least at d = c / v:
    # c = -0.02 * 0.1, v = 0.1^2 gives a lost share of 0.2, K 30: 8.5 repetitions
    fit.trend["log_sd"], fit.trend["with_ln_k"] = 0.05, -0.2 * 0.1**2
    fit.relation["var_ln_k"] = 0.1**2
    table = advice.by_repetitions(fit, "R01", CURL)
    best = table.loc[table["narrowest"], "reps"].tolist()
    assert best in ([8], [9])
    said = advice.known_best(table)
    assert said.startswith(f"known best at {best[0]} repetitions: ")
    assert said.endswith(f"once {table['width_frac'].iloc[0]:.0%}")


@pytest.mark.analytic
def test_the_relation_is_told_as_a_share_with_what_is_the_lifters_own(fit):
    said = advice.relation_sentence(fit, "R01", CURL)
    # 30 / 37 = 81 %, 25 / 32 = 78 %, 35 / 42 = 83 %
    assert "8 repetitions are taken to be possible at 81% of the load for one" in said
    assert "90 % interval 78% to 83%, K 25 to 35" in said
    assert "as published" in said
    fit.relation["learned_frac"] = 0.4
    own = advice.relation_sentence(fit, "R01", CURL)
    assert "40% of what was uncertain in it was learned from R01's own" in own
    assert advice.relation_sentence(fit, "R01", "moon_curl") == ""
    curve = advice.relation_curve(fit, "R01", CURL)
    assert curve["share_frac"].iloc[7] == pytest.approx(30 / 37)
    assert advice.relation_curve(fit, "R01", "moon_curl").empty


@pytest.mark.analytic
def test_changes_are_told_in_per_cent_of_the_strength_before(fit):
    shown = pd.DataFrame({"lifter": ["R01"], "variant": [CURL]})
    # exp(0.016) - 1 = 1.6 %, exp(0.004) - 1 = 0.4 %, exp(0.028) - 1 = 2.8 %
    assert advice.changes(fit, shown) == [
        f"R01, {CURL}: Strength against 4 weeks before +1.6 % (90 % interval +0.4 to "
        "+2.8)."
    ]
    rows = advice.clients(fit, made_sets({"R01": [CURL], "R02": list(ONE_RM_KG)}))
    assert rows["change_4w"].iloc[0] == pytest.approx(np.expm1(0.016))
    assert rows["change_8w"].isna().all()
    assert rows["basis"].tolist() == ["reported effort"] * 2


def test_odd_sets_and_assumed_reserve_are_said_of_what_is_shown(fit):
    fit.trend.loc[fit.trend["lifter"] == "R02", "basis"] = "assumed reserve"
    fit.outliers.loc[0] = ["R01", CURL, DAY, "7", "375 kg is ten times the others."]
    shown = pd.DataFrame({"lifter": ["R01", "R02"], "variant": [CURL, CURL]})
    assert advice.doubts(fit, shown) == [
        f"R02, {CURL}: {advice.PRIOR_ONLY}",
        f"R01, {CURL}: 375 kg is ten times the others.",
    ]
    assert advice.doubts(fit, shown.head(0)) == []
    sets = made_sets({"R01": [CURL], "R02": list(ONE_RM_KG)})
    rows = advice.clients(fit, sets).set_index("lifter")
    assert rows["outliers"].map(len).to_dict() == {"R01": 1, "R02": 0}
    assert rows.at["R02", "basis"] == "assumed reserve"
