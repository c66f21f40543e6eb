"""A data file that breaks a rule is refused with file, line and what is accepted."""

import shutil

import pytest

from analytics.catalogue import load_catalogue
from analytics.catalogue.load import DATA
from analytics.errors import CatalogueError

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
    ("variants.toml", "[0, 0], [70, 0]", "[0, 0], [0, 0]", "rising elbow_deg"),
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
        "0 or more, got -0.1",
    ),
    (
        "variants.toml",
        "anchor_forward_m = 0.5, ",
        "",
        "a cable needs the number `anchor_forward_m`",
    ),
    ("variants.toml", "slack_m = 0.6", "slack_m = 0", "more than 0"),
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
        "movements.toml",
        'reference = "standing_barbell_curl"',
        'reference = "deadlift"',
        "is none of its variants",
    ),
    ("movements.toml", "title =", "name =", "expected `movement`, `title`"),
    (
        "exercise_names.toml",
        '"hammercurl"',
        '"bb curl"',
        "already means 'standing_barbell_curl'",
    ),
    ("exercise_names.toml", "hammer_curl = [", "sledge_curl = [", "no such variant"),
    ("sources.toml", "citation =", "cite =", "expected a table with `citation`"),
    ("spreads.toml", "sd = 0.15", "sd = -0.15", "expected 0 or more"),
    ("spreads.toml", "sd =", "deviation =", "expected exactly parameter, sd"),
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
        "accepted are N, m, mm, deg, rad, 1",
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
    wrong = next(i for i in range(entry, len(lines)) if lines[i].startswith("trunk"))
    lines[wrong] = 'trunk_deg = "upright"'
    file.write_text("\n".join(lines), encoding="utf-8")
    with pytest.raises(CatalogueError) as error:
        load_catalogue(copied)
    assert f"variants.toml, line {wrong + 1}, variant 'hammer_curl'" in str(error.value)


def test_a_missing_file_is_refused_by_name(copied):
    (copied / "movements.toml").unlink()
    with pytest.raises(CatalogueError, match=r"movements\.toml"):
        load_catalogue(copied)
