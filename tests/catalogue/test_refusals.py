"""A data file that breaks a rule is refused with file, line and what is accepted."""

import shutil

import pytest

from analytics.catalogue import load_catalogue
from analytics.catalogue.load import DATA
from analytics.errors import CatalogueError, InputError
from analytics.mechanics import hardest

# File, what is replaced, by what, and what the message must say.
BREAKS = [
    ("variants.toml", "[[variant]]", "[[variant", "expected a readable TOML"),
    ("variants.toml", "arms = 2", "arms = 3", "`arms` = 3: expected one of 1, 2"),
    (
        "variants.toml",
        'implement = "bar"',
        'implement = "kettle"',
        "expected one of bar, dumbbell, cable, band, machine, body",
    ),
    ("variants.toml", "rotation_deg = 90\n", "", "`rotation_deg` is missing"),
    (
        "variants.toml",
        "rotation_deg = 90\n",
        "rotation_deg = 900\n",
        "expected a number from -90 to 90",
    ),
    ("variants.toml", "stance =", "stanse =", "`stance` is missing"),
    ("variants.toml", "trunk_deg = 0\n", "trunk_deg = nan\n", "from -90 to 90"),
    ("variants.toml", "[0, 0], [70, 0]", "[0, 0], [0, 0]", "rising first numbers"),
    ("variants.toml", "[130, 45], [140, 40]", "[130, 190]", "from -60 to 120"),
    (
        "variants.toml",
        "range_to_deg = 140",
        "range_to_deg = 0",
        "range_from_deg must be smaller",
    ),
    (
        "variants.toml",
        'kind = "gravity"',
        'kind = "magnet"',
        "gravity, cable, band, constant, cam",
    ),
    (
        "variants.toml",
        "anchor_height_m = 0.1 }",
        "anchor_height_m = -0.1 }",
        "`anchor_height_m` = -0.1: expected a number from 0 to 10",
    ),
    (
        "variants.toml",
        "anchor_forward_m = 0.5, ",
        "",
        "`anchor_forward_m` is missing; needed are anchor_forward_m, anchor_height_m",
    ),
    (
        "variants.toml",
        "slack_m = 0.6",
        "slack_m = 0",
        "`slack_m` = 0: expected a number from 0.01",
    ),
    ("variants.toml", "pad_deg = 45", "pad_deg = 40", "must equal pad_deg"),
    ("variants.toml", "bench_deg = 60", "bench_deg = 50", "must be 90 - bench_deg"),
    (
        "variants.toml",
        'variant = "hammer_curl"',
        'variant = "reverse_curl"',
        "the id is used twice",
    ),
    (
        "variants.toml",
        'source = "common_practice"',
        'source = "hearsay"',
        "is not in sources.toml",
    ),
    (
        "variants.toml",
        'movement = "hinge"',
        'movement = "swing"',
        "there are: elbow_flexion, pull, hinge",
    ),
    (
        "variants.toml",
        'like = "barbell_row"',
        'like = "bell_row"',
        "`like` = 'bell_row': expected a variant above: standing_barbell_curl",
    ),
    ("variants.toml", 'like = "barbell_row"', "like = []", "`like` = []: expected a"),
    ("joints.toml", 'joint = "knee_flexion"', 'joint = "elbow"', "used twice"),
    ("chains.toml", 'chain = "foot"', 'chain = "arm"', "the id is used twice"),
    ("movements.toml", 'movement = "hinge"', 'movement = "pull"', "used twice"),
    (
        "movements.toml",
        'title = "Squat"',
        'title = "Squat"\nchain = "legs"',
        "`chain` = 'legs': expected a chain led by",
    ),
    (
        "variants.toml",
        'title = "Deadlift"',
        'title = "Deadlift"\nlength_m = 1',
        "unknown `length_m`; accepted are like, modelled, variant",
    ),
    (
        "variants.toml",
        'title = "Deadlift"',
        'title = "Deadlift"\nmodelled = true',
        "'hinge' has no muscle sets (no joint named in movements.toml)",
    ),
    (
        "variants.toml",
        'title = "Deadlift"',
        'title = "Deadlift"\npad_deg = 10',
        "unknown `pad_deg`: only a variant with `modelled = true` takes it",
    ),
    (
        "variants.toml",
        "modelled = true",
        'modelled = "yes"',
        "`modelled` = 'yes': expected true or false",
    ),
    ("joints.toml", "grid_deg =", "grid =", "`grid_deg` is missing"),
    (
        "movements.toml",
        'reference = "standing_barbell_curl"',
        'reference = "deadlift"',
        "is none of its variants",
    ),
    (
        "movements.toml",
        "title =",
        "name =",
        "`title` is missing; needed are movement, title",
    ),
    (
        "exercise_names.toml",
        '"hammercurl"',
        '"bb curl"',
        "already means 'standing_barbell_curl'",
    ),
    ("exercise_names.toml", "hammer_curl = [", "sledge_curl = [", "no such variant"),
    ("sources.toml", "citation =", "cite =", "expected a table with `citation`"),
    (
        "spreads.toml",
        "sd = 0.15",
        "sd = -0.15",
        "`sd` = -0.15: expected greater than or equal to 0",
    ),
    (
        "spreads.toml",
        "sd =",
        "deviation =",
        "`sd` is missing; needed are parameter, sd",
    ),
    (
        "tables/muscles_arm26.toml",
        '"624.30"',
        '"624,30"',
        "'624,30': expected digits in quotes",
    ),
    ("tables/muscles_arm26.toml", '"624.30", ', "", "columns differ in length"),
    (
        "tables/muscles_arm26.toml",
        'peak_force = "N"',
        'peak_force = "lbf"',
        "accepted are N, kgf, Nm, m, cm, mm, deg, rad, 1",
    ),
    ("sources.toml", 'licence = "CC BY 3.0"\n', "", "`licence` is missing"),
    (
        "sources.toml",
        'licence = "CC BY 3.0"\nmay_ship = true',
        'licence = "CC BY 3.0"\nmay_ship = "yes"',
        "`may_ship`: expected true or false",
    ),
    (
        "tables/muscles_arm26.toml",
        'source = "arm26"',
        'source = "open_trial_log"',
        "'open_trial_log' may not be shipped (licence: CC BY-NC-SA 4.0",
    ),
    (
        "tables/muscles_printed.toml",
        '["tsm", "tsm", "arm26"',
        '["tsm", "open_trial_log", "arm26"',
        "'open_trial_log' may not be shipped",
    ),
    (
        "tables/muscles_arm26.toml",
        'kind = "fitted"',
        'kind = "guessed"',
        "measured, pooled, fitted, predicted, assumed",
    ),
    ("tables/muscles_arm26.toml", "locator =", "where =", "`locator` is missing"),
    (
        "tables/muscles_arm26.toml",
        'source = "arm26"',
        'source = "hearsay"',
        "not in sources.toml",
    ),
]


@pytest.fixture
def copied(tmp_path):
    return shutil.copytree(DATA, tmp_path / "data")


@pytest.mark.parametrize(
    ("name", "old", "new", "message"), BREAKS, ids=[b[2] or b[1] for b in BREAKS]
)
def test_a_broken_rule_is_refused_with_its_place(copied, name, old, new, message):
    file = copied / name
    text = file.read_text(encoding="utf-8")
    assert old in text
    file.write_text(text.replace(old, new, 1), encoding="utf-8")
    with pytest.raises(CatalogueError) as error:
        load_catalogue(copied)
    said = str(error.value)
    assert message in said
    assert said.startswith(file.name)
    assert "line" in said


def test_the_line_named_is_the_line_of_the_value(copied):
    file = copied / "variants.toml"
    lines = file.read_text(encoding="utf-8").splitlines()
    entry = lines.index('variant = "hammer_curl"')
    wrong = next(i for i in range(entry, len(lines)) if lines[i].startswith("rotation"))
    lines[wrong] = 'rotation_deg = "up"'
    file.write_text("\n".join(lines), encoding="utf-8")
    with pytest.raises(CatalogueError) as error:
        load_catalogue(copied)
    assert f"variants.toml, line {wrong + 1}, variant 'hammer_curl'" in str(error.value)


WRIST = """
[[movement]]
movement = "wrist_flexion"
title = "Wrist flexion"
joint = "wrist"
"""
WRIST_FLEXION = """
[[variant]]
variant = "seated_wrist_flexion"
like = "preacher_curl_0"
movement = "wrist_flexion"
title = "Seated wrist flexion"
"""


def test_a_joint_without_muscle_sets_is_refused_where_it_claims_to_be_modelled(copied):
    for name, text in (("movements", WRIST), ("variants", WRIST_FLEXION)):
        with (copied / f"{name}.toml").open("a", encoding="utf-8") as file:
            file.write(text)
    variants = copied / "variants.toml"
    lines = variants.read_text(encoding="utf-8").splitlines()
    with pytest.raises(CatalogueError) as error:
        load_catalogue(copied)
    assert str(error.value) == (
        f"variants.toml, line {len(lines) - 2}, "
        "variant 'seated_wrist_flexion': `modelled` = True: 'wrist_flexion' has no "
        "muscle sets (the joint 'wrist' in movements.toml); accepted are `modelled = "
        "false`, or a movement of one of the joints that have: elbow, elbow_extension, "
        "knee_extension, knee_flexion, ankle_plantar_flexion"
    )
    variants.write_text("\n".join([*lines, "modelled = false"]), encoding="utf-8")
    load_catalogue.cache_clear()
    wrist = load_catalogue(copied).variants["seated_wrist_flexion"]
    assert wrist.mechanics is None
    with pytest.raises(InputError, match="'seated_wrist_flexion' is logged, not model"):
        _ = wrist.model


HACK = """
[[variant]]
variant = "home_leg_extension"
like = "leg_extension"
title = "Leg extension with an ankle weight"
resistance = { kind = "gravity" }
"""


def test_a_variant_of_a_measured_joint_is_taken_by_the_recipe(copied):
    variants = copied / "variants.toml"
    text = variants.read_text(encoding="utf-8")
    variants.write_text(text + HACK, encoding="utf-8")
    taken = load_catalogue(copied).variants["home_leg_extension"]
    assert taken.modelled
    assert taken.model.joint.joint == "knee_extension"
    load = hardest([taken], n_draws=60)["limit_load_kg"].iloc[0]
    assert 5 < load < 200


def test_a_measured_joint_needs_its_neighbour_held(copied):
    variants = copied / "variants.toml"
    free = HACK + "holds = []\n"
    variants.write_text(variants.read_text(encoding="utf-8") + free, encoding="utf-8")
    with pytest.raises(CatalogueError, match="holds must name hip"):
        load_catalogue(copied)


def test_what_is_inherited_is_refused_at_the_line_that_inherits_it(copied):
    file = copied / "variants.toml"
    text = file.read_text(encoding="utf-8").replace("pad_deg = 30\n", "")
    file.write_text(text, encoding="utf-8")
    with pytest.raises(CatalogueError, match=r"must equal pad_deg \(0\)") as error:
        load_catalogue(copied)
    assert "variant 'preacher_curl_30'" in str(error.value)


def test_a_missing_file_is_refused_by_name(copied):
    (copied / "movements.toml").unlink()
    with pytest.raises(CatalogueError, match=r"movements\.toml"):
        load_catalogue(copied)
