"""Where lean begins, found in logs whose truth is known."""

import re

import numpy as np
import pandas as pd
import pytest
import statsmodels.api as sm

from analytics.advice.lean import lean_start, least_squares
from analytics.advice.technique import technique


def logged(rng, *, n: int, start: float, slope: float = 60.0, per_set: float = 0.5):
    relative = rng.uniform(0.6, 1.0, n)
    number = rng.integers(1, 4, n).astype(float)
    lean = slope * np.maximum(0, relative - start) + per_set * number
    return relative, lean + rng.normal(0, 1, n), number


@pytest.mark.parametrize("start", [0.75, 0.82, 0.88])
def test_the_start_of_lean_lies_inside_its_interval(start):
    rng = np.random.default_rng(11)
    covered = 0
    for _ in range(60):
        relative, lean, number = logged(rng, n=120, start=start)
        found = lean_start(relative, lean, set_number=number)
        covered += found.low_frac <= start <= found.high_frac
    # 90 % interval: 54 expected; 46 is the lower 0.1 % point of that binomial.
    assert covered >= 46


def test_lean_that_does_not_rise_with_load_has_no_start():
    rng = np.random.default_rng(12)
    found = 0
    for _ in range(60):
        relative, lean, number = logged(rng, n=100, start=1.5)
        found += not np.isnan(lean_start(relative, lean, set_number=number).start_frac)
    # A wrong start in at most about one log of ten.
    assert found <= 12


def test_fatigue_over_the_sets_is_told_apart_from_load():
    rng = np.random.default_rng(13)
    relative, lean, number = logged(rng, n=400, start=0.82, per_set=1.5)
    found = lean_start(relative, lean, set_number=number)
    assert found.deg_per_set == pytest.approx(1.5, abs=0.25)
    assert found.start_frac == pytest.approx(0.82, abs=0.03)


def frames(n: int) -> tuple[pd.DataFrame, pd.DataFrame]:
    rng = np.random.default_rng(14)
    relative, lean, number = logged(rng, n=n, start=0.82)
    day = pd.Timestamp("2025-10-06") + pd.to_timedelta(np.arange(n), unit="D")
    sets = pd.DataFrame(
        {
            "set_id": [str(i) for i in range(n)],
            "lifter": "R01",
            "performed_on": day,
            "variant": "standing_barbell_curl",
            "equipment": "",
            "side": "",
            "stance": np.where(number > 2, "split", ""),
            "load_kg": 40 * relative,
            "lean_deg": lean.clip(0),
            "cheat": lean > 6,
            "flag": "",
            "intake_id": 1,
            "source_row": np.arange(n),
        }
    )
    trend = pd.DataFrame(
        {
            "lifter": "R01",
            "variant": "standing_barbell_curl",
            "equipment": "",
            "date": day,
            "strength_kg": 40.0,
        }
    )
    return sets, trend


def test_words_and_table_agree_with_the_start():
    found = technique(*frames(200), lifter="R01")
    assert found.sentences[0].startswith("Lean starts at about 8")
    assert found.by_load["sets"].sum() == 200
    assert set(found.by_load["stance"]) == {"split", "not written"}


def test_too_few_sets_say_how_many_more():
    found = technique(*frames(7), lifter="R01")
    assert found.sentences[0] == (
        "Lean: not enough data yet (7 sets with a lean), about 5 more sets."
    )


# Facts of the trade: a split stance carries more in front than a parallel one, and
# somebody who leans on a support does not fall.
@pytest.mark.trade
def test_the_balance_model_stands_beside_what_was_seen():
    body = pd.DataFrame({"body_mass_kg": [80.0], "stature_m": [1.8]})
    found = technique(*frames(200), lifter="R01", bodies=body)
    model = found.model.set_index("stance")["largest_load_kg"]
    assert model["split"] > model["parallel"]
    assert np.isinf(model["supported"])
    told = " ".join(found.sentences)
    assert "Modelled for 80 kg (measured) and 1.80 m (measured)" in told
    # 40 kg once in the log above.
    assert found.model_start_frac == pytest.approx(model["parallel"] / 40)
    assert f"the balance model asks from {found.model_start_frac:.0%} on" in told


def test_a_log_of_cheat_alone_is_read_with_its_noes():
    sets, trend = frames(30)
    sets["lean_deg"] = np.nan
    sets["cheat"] = np.arange(30) % 3 == 0
    found = technique(sets, trend, lifter="R01")
    # Wilson 1927, 10 of 30 at z = 1.645: by hand 0.211 to 0.484.
    assert "Cheated: 10 of 30 sets, 33% (21% to 48%)." in found.sentences
    mean = np.average(found.by_load["cheat_frac"], weights=found.by_load["sets"])
    assert mean == pytest.approx(1 / 3)
    yes = technique(sets.assign(cheat=np.where(sets.index % 2, True, None)), trend)
    assert "15 sets are noted as cheated and none as not" in " ".join(yes.sentences)
    none = technique(sets.assign(cheat=None), trend, lifter="R01")
    assert "Cheating: not enough data yet (0 sets" in " ".join(none.sentences)


def test_a_movement_without_a_balance_model_has_lean_but_no_balance():
    sets, trend = frames(40)
    sets["variant"] = trend["variant"] = "barbell_row"
    found = technique(sets, trend, lifter="R01")
    assert found.model.empty
    assert np.isnan(found.model_start_frac)
    assert found.start.sets == 40
    none = technique(sets.iloc[:0], trend)
    assert none.sentences[0].startswith("Lean: not enough data yet (0 sets")


def test_a_stance_that_leans_less_at_the_same_load_is_told_with_its_interval():
    sets, trend = frames(200)
    sets["stance"] = np.where(np.arange(200) % 2, "split", "parallel")
    sets["lean_deg"] += np.where(sets["stance"] == "parallel", 3.0, 0.0)
    told = " ".join(technique(sets, trend, lifter="R01").sentences)
    found = re.search(r"split leans (\S+)° \((\S+) to (\S+)\) against par", told)
    change, low, high = map(float, found.groups())
    assert change == pytest.approx(-3, abs=0.5)
    assert -4 < low < change < high < -2
    assert "inf" not in told  # one set a day: nothing about the next set
    only = technique(sets.assign(stance="parallel"), trend, lifter="R01")
    assert "would begin to tell what a stance changes" in " ".join(only.sentences)


# statsmodels' ordinary least squares gives the same coefficients and 90 % intervals.
@pytest.mark.external
def test_coefficients_and_intervals_are_those_of_a_general_library():
    rng = np.random.default_rng(15)
    design = np.column_stack([np.ones(40), rng.normal(size=(40, 2))])
    value = design @ [1.0, 2.0, -1.0] + rng.normal(size=40)
    beta, half = least_squares(design, value)
    theirs = sm.OLS(value, design).fit()
    np.testing.assert_allclose(beta, theirs.params)
    interval = np.column_stack([beta - half, beta + half])
    np.testing.assert_allclose(interval, theirs.conf_int(alpha=0.10))
