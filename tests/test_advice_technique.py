"""Where lean begins, found in logs whose truth is known."""

import numpy as np
import pandas as pd
import pytest

from analytics.advice.technique import lean_start, technique


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
            "heave": lean > 6,
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
    found = technique(*frames(200), lifter="R01", body_mass_kg=80, stature_m=1.8)
    model = found.model.set_index("stance")["largest_load_kg"]
    assert model["split"] > model["parallel"]
    assert np.isinf(model["supported"])
    assert any(said.startswith("Modelled:") for said in found.sentences)
