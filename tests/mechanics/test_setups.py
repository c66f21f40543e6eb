"""The search for the most even setup, against the quasi-static model itself."""

from dataclasses import replace

import numpy as np
import pytest

from analytics.catalogue import load_catalogue
from analytics.errors import InputError
from analytics.mechanics import (
    CURVES,
    make_body,
    search_setups,
    sweep_setups,
)
from analytics.mechanics.elbow.muscles import JOINT
from analytics.mechanics.joints import posture_rows

VARIANTS = load_catalogue().variants
ADJUSTABLE = [
    "preacher_curl_45", "incline_curl_45", "prone_incline_curl", "low_cable_curl",
    "behind_cable_curl", "high_cable_curl", "band_curl",
]  # fmt: skip


def evenness_of_structures(variant):
    """Mean utilisation under the load held, by published muscle set and curve."""
    first, last = variant.model.range_deg
    even = []
    for muscles in JOINT.muscle_sets:
        for curve in CURVES:
            rows = posture_rows(
                np.arange(first, last + 1),
                model=variant.model,
                body=make_body(),
                muscles=muscles,
                curve=curve,
            )
            even.append(rows.utilisation(rows.largest().load.min()).mean())
    return even


@pytest.mark.parametrize("variant", ADJUSTABLE)
def test_the_recipe_ends_more_even_than_it_starts_and_within_the_equipment(variant):
    found = search_setups(variant)
    assert list(found) == [
        "setting", "value", "evenness", "sticking_deg", "limit_load_ratio",
    ]  # fmt: skip
    assert found["setting"].iloc[0] == "as catalogued"
    assert found["evenness"].iloc[-1] > found["evenness"].iloc[0]
    assert found["evenness"].between(0, 1).all()
    assert (found["limit_load_ratio"] > 0).all()
    value = found.set_index("setting")["value"]
    # Usual equipment; common practice, no source (equipment_limits table).
    for setting, (least, greatest) in {
        "anchor_height_m": (0, 2.1),
        "anchor_forward_m": (-1.6, 1.6),
        "pad_deg": (0, 90),
        "bench_deg": (35, 80),
    }.items():
        if setting in value:
            assert least <= value[setting] <= greatest
    assert value["range_to_deg"] - value["range_from_deg"] >= 90


@pytest.mark.analytic
def test_evenness_is_the_mean_utilisation_of_the_published_structures():
    # Definition: mean of demand over capability, each published structure on its own,
    # on a pad tilted by hand.
    moved = VARIANTS["preacher_curl_45"].bent(pad_deg=30, path=((0, 45), (140, 45)))
    expected = np.mean(evenness_of_structures(moved))
    sweep = sweep_setups("preacher_curl_45").set_index("value")
    assert sweep.loc[30, "evenness"] == pytest.approx(expected, rel=1e-6)
    assert sweep.loc[45, "evenness"] == pytest.approx(
        search_setups("preacher_curl_45")["evenness"].iloc[0]
    )


@pytest.mark.analytic
@pytest.mark.parametrize("variant", ["preacher_curl_60", "incline_curl_60"])
def test_the_one_setting_found_is_the_best_of_its_sweep(variant):
    sweep = sweep_setups(variant)
    best = sweep.loc[sweep["evenness"].idxmax()]
    found = search_setups(variant).iloc[1]
    assert (found["setting"], found["value"]) == (best["setting"], best["value"])


@pytest.mark.long
@pytest.mark.analytic
def test_no_pulley_place_tried_at_random_beats_the_one_found():
    # 40 random places within the limits, judged by each published structure.
    base = VARIANTS["high_cable_curl"]
    span = (base.model.range_from_deg, base.model.range_to_deg)
    best = search_setups("high_cable_curl", range_deg=span)["evenness"].iloc[-1]
    rng = np.random.default_rng(6)
    for _ in range(40):
        pull = replace(
            base.model.resistance,
            anchor_height_m=round(rng.uniform(0.1, 2.1), 1),
            anchor_forward_m=round(rng.uniform(1.1, 1.6), 1),  # clear of the hand
        )
        even = evenness_of_structures(base.bent(resistance=pull))
        assert np.mean(even) <= best + 1e-9


@pytest.mark.trade
def test_a_flatter_pad_is_hardest_at_the_start_and_takes_less_load():
    # Common practice, no source: the flatter the pad, the harder the first third.
    sweep = sweep_setups("preacher_curl_45").set_index("value")
    start = VARIANTS["preacher_curl_45"].model.range_from_deg
    assert (sweep.loc[45:90, "sticking_deg"] == start).all()
    assert sweep.loc[45, "limit_load_ratio"] < sweep.loc[20, "limit_load_ratio"]


def test_a_given_range_is_kept():
    found = search_setups("low_cable_curl", range_deg=(20, 120))
    assert not found["setting"].str.startswith("range").any()


def test_a_variant_without_equipment_names_those_that_have_some():
    with pytest.raises(InputError, match="no pulley, band, pad or bench") as caught:
        search_setups("hammer_curl")
    for variant in ADJUSTABLE:
        assert variant in str(caught.value)


@pytest.mark.parametrize("variant", ["chin_up", "nothing"])
def test_a_variant_without_mechanics_is_refused(variant):
    with pytest.raises(InputError, match=r"there are|modelled are"):
        search_setups(variant)
