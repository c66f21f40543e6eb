"""What the catalogue holds, and that each thing says where it comes from."""

import pickle
from dataclasses import replace

import numpy as np
import pytest

from analytics.catalogue import load_catalogue, normalise_name
from analytics.catalogue.pulls import load_pulls

CATALOGUE = load_catalogue()
MODELLED = [v for v in CATALOGUE.variants.values() if v.modelled]


def test_every_promised_variant_exists():
    promised = [
        "standing_barbell_curl",
        "standing_dumbbell_curl",
        "one_arm_dumbbell_curl",
        "no_lockout_curl",
        "preacher_curl_30",
        "preacher_curl_45",
        "preacher_curl_60",
        "preacher_curl_90",
        "incline_curl_45",
        "incline_curl_60",
        "concentration_curl",
        "prone_incline_curl",
        "low_cable_curl",
        "behind_cable_curl",
        "high_cable_curl",
        "hammer_curl",
        "reverse_curl",
        "band_curl",
        "barbell_row",
        "chin_up",
        "pulldown",
        "deadlift",
    ]
    assert set(promised) <= set(CATALOGUE.variants)
    assert CATALOGUE.movements["elbow_flexion"].reference == "standing_barbell_curl"
    logged_only = {v.variant for v in CATALOGUE.variants.values() if not v.modelled}
    assert set(load_pulls()) <= logged_only
    modelled = {v.movement for v in CATALOGUE.variants.values() if v.modelled}
    assert {x.movement for x in CATALOGUE.movements.values() if x.joint} == modelled


def test_the_catalogue_covers_what_a_log_holds():
    assert len(CATALOGUE.variants) >= 90
    assert all(family.reference for family in CATALOGUE.movements.values())
    # A name and its plural count once.
    names = {name.removesuffix("s") for name in CATALOGUE.exercise_names}
    assert len(names) >= 350


def test_every_number_has_a_source_and_a_kind_of_evidence():
    for table in CATALOGUE.tables.values():
        assert table.source in CATALOGUE.sources
        assert table.kind
        assert table.locator
    for variant in CATALOGUE.variants.values():
        assert variant.source in CATALOGUE.sources
        assert variant.kind
        assert variant.note
    for spread in CATALOGUE.spreads.values():
        assert spread.source in CATALOGUE.sources
        # A spread nobody published must say that it is assumed.
        assert spread.kind == "assumed" or spread.source != "assumed"


@pytest.mark.trade
def test_a_free_upper_arm_ends_with_the_forearm_near_vertical():
    # Common practice, no source: the top of a standing curl carries almost no moment.
    for name in ("standing_barbell_curl", "hammer_curl", "reverse_curl"):
        variant = CATALOGUE.variants[name]
        forearm_deg = (
            float(variant.model.shoulder_deg(140) - variant.model.trunk_deg) + 140
        )
        assert 170 <= forearm_deg <= 185


@pytest.mark.trade
def test_supported_arms_keep_the_angle_of_their_pad_and_incline_arms_hang():
    # Definition of the pad angle: from the hanging upper arm.
    for name in ("preacher_curl_30", "preacher_curl_60", "preacher_curl_90"):
        variant = CATALOGUE.variants[name]
        arm = variant.model.shoulder_deg([0, 70, 140]) - variant.model.trunk_deg
        np.testing.assert_allclose(arm, variant.model.pad_deg)
    for name in ("incline_curl_45", "incline_curl_60"):
        variant = CATALOGUE.variants[name]
        assert variant.model.trunk_deg == variant.model.bench_deg - 90
        assert variant.model.shoulder_deg(0) - variant.model.trunk_deg == 0


def test_variants_are_equal_after_pickling():
    for variant in CATALOGUE.variants.values():
        assert pickle.loads(pickle.dumps(variant)) == variant


def test_an_entry_takes_all_but_what_it_states_from_the_one_it_is_like():
    hammer, base = (
        CATALOGUE.variants[name] for name in ("hammer_curl", "standing_dumbbell_curl")
    )
    stated = {"variant": "hammer_curl", "title": "Hammer curl", "note": hammer.note}
    assert hammer == replace(base.bent(rotation_deg=0.0), **stated)


def test_share_and_convention_agree_with_the_implement():
    for variant in CATALOGUE.variants.values():
        if variant.implement == "dumbbell":
            assert (variant.load_convention, variant.arms_share) == ("per_hand", 1)
        if variant.implement == "bar":
            assert (variant.load_convention, variant.arms_share) == ("total", 2)
    assert CATALOGUE.variants["chin_up"].body_share == 1


@pytest.mark.parametrize(
    ("text", "variant"),
    [
        ("BB Curl", "standing_barbell_curl"),
        ("EZ-Bar Curls", "ez_bar_curl"),
        ("LH-Curl stehend", "standing_barbell_curl"),
        ("Langhantel Curl", "standing_barbell_curl"),
        ("standing_barbell_curl", "standing_barbell_curl"),
        ("DB curls", "standing_dumbbell_curl"),
        ("Kurzhantelcurl", "standing_dumbbell_curl"),
        ("Einarmiger KH-Curl", "one_arm_dumbbell_curl"),
        ("Scottcurl 45", "preacher_curl_45"),
        ("Schrägbank-Curl 60", "incline_curl_60"),
        ("Konzentrationscurl", "concentration_curl"),
        ("Kabelcurl hinter dem Körper", "behind_cable_curl"),
        ("Hammercurls", "hammer_curl"),
        ("Curl im Obergriff", "reverse_curl"),
        ("Klimmzüge im Untergriff", "chin_up"),
        ("Kreuzheben", "deadlift"),
        ("Latzug", "pulldown"),
        ("Klimmzug Obergriff", "pull_up"),
        ("Rowing haltère", "dumbbell_row"),
        ("Tirage horizontal", "seated_cable_row"),
        ("Soulevé de terre", "deadlift"),
        ("Langhantelrudern", "barbell_row"),
        ("Kniebeugen", "back_squat"),
        ("Frontkniebeuge", "front_squat"),
        ("Soulevé de terre roumain", "romanian_deadlift"),
        ("Développé couché", "bench_press"),
        ("Bankdrücken eng", "close_grip_bench_press"),
        ("Développé militaire", "overhead_press"),
        ("Skullcrushers", "lying_bar_extension"),
        ("Barre au front", "lying_bar_extension"),
        ("Trizepsdrücken", "cable_pushdown"),
        ("Beinstrecker", "leg_extension"),
        ("Leg curl assis", "seated_leg_curl"),
        ("Beinbeuger liegend", "lying_leg_curl"),
        ("Wadenheben sitzend", "seated_calf_raise"),
        ("Mollets debout", "standing_calf_raise"),
    ],
)
def test_names_of_logs_lead_to_variants(text, variant):
    assert CATALOGUE.exercise_names[normalise_name(text)] == variant


@pytest.mark.parametrize(
    "text",
    [
        *("curl", "preacher curl", "incline curl", "Scottcurl", "row", "Klimmzug"),
        *("leg curl", "Beinbeuger"),
    ],
)
def test_a_name_that_could_mean_several_variants_means_none(text):
    assert normalise_name(text) not in CATALOGUE.exercise_names


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("  EZ-Bar   CURL (wide) ", "ez bar curl wide"),
        ("Schrägbank_Curl 45°", "schraegbank curl 45"),
        ("Einarmig, vorgebeugt & gestützt", "einarmig vorgebeugt gestuetzt"),
        ("Curl à la barre", "curl a la barre"),
        ("...", ""),
    ],
)
def test_names_are_compared_without_case_accents_and_punctuation(text, name):
    assert normalise_name(text) == name
    assert normalise_name(name) == name


@pytest.mark.published
@pytest.mark.parametrize(
    ("table", "column", "rows", "total"),
    [
        # Sums of the printed values, to catch slips in typing them.
        ("muscles_arm26", "peak_force", 3, 624.30 + 435.56 + 987.26),
        # Seth's scaled model, Arm26; Holzbaur 2005 from memory. Murray 2000: 12.8,
        # 17.7 and 5.5 cm.
        (
            "muscles_printed",
            "peak_force",
            6,
            485.8 + 693.0 + 987.26 + 261.3 + 304.9 + 566.2,
        ),
        (
            "muscles_printed",
            "optimal_fibre",
            6,
            0.128 + 0.1106 + 0.0858 + 0.177 + 0.081 + 0.055,
        ),
        ("moment_arms_arm26", "biceps", 14, 0.5042),
        ("moment_arms_arm26", "brachialis", 14, 0.2562),
        ("biceps_length_arm26", "long", 12, 3.6747 + 0.3545 + 0.3580),
        ("grip_strength", "force", 3, 213.6 + 243.6 + 113.6),
    ],
)
def test_tables_hold_the_printed_numbers(table, column, rows, total):
    values = CATALOGUE.tables[table].numbers(column)
    assert len(values) == rows
    np.testing.assert_allclose(values.sum(), total, rtol=1e-9)


@pytest.mark.published
def test_optimal_biceps_fibre_differs_from_specimens_by_less_than_two_spreads():
    # Murray, Buchanan, Delp 2000: biceps long head 12.8 cm in 10 specimens; Arm26
    # prints 0.1157 m.
    model = CATALOGUE.tables["muscles_arm26"].numbers("optimal_fibre")[0]
    spread = CATALOGUE.spreads["optimal_fibre"].sd
    assert abs(np.log(0.128 / model)) < 2 * spread


def test_every_source_states_its_licence_and_no_table_comes_from_a_closed_one():
    shipped = {key for key, one in CATALOGUE.sources.items() if one["may_ship"]}
    assert all(one["licence"] for one in CATALOGUE.sources.values())
    assert "open_trial_log" not in shipped
    for table in CATALOGUE.tables.values():
        assert table.source in shipped, table.name
        for name, cells in table.columns.items():
            if name.endswith("origin"):
                known = set(cells) & set(CATALOGUE.sources)
                assert known <= shipped, (table.name, name)
