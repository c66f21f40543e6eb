"""What a column map says of a whole file, and the variants its names make."""

from __future__ import annotations

import pytest

from analytics.errors import FileRefusedError, InputError
from analytics.intake import ColumnMap, parse_column_map, suggest_columns
from analytics.store import names, sets, teach_name, undo, variants

HEADER = "lifter,date,exercise,load_kg,reps\n"
ROW = "R01,2025-01-06,barbell curl,20,8\n"
EFFORT = HEADER.replace("\n", ",rir,rpe,failed\n")


def effort(store):
    found = sets(store).sort_values("source_row")
    return [
        (None if r != r else r, bool(f))  # NaN is nothing
        for r, f in zip(found["rir"], found["failed"], strict=True)
    ]


@pytest.mark.parametrize(
    ("settings", "expected"),
    [
        ('failed = "yes"', (None, True)),
        ('failed = "no"', (None, False)),
        ("rir = 2", (2, False)),
        ("rir = 0.5", (0.5, False)),
        ('failed = "yes"\nrir = 0', (0, True)),
        ('failed = "no"\nrir = 3', (3, False)),
    ],
)
def test_a_constant_stands_in_every_row_of_a_file_without_the_column(
    store, bring, settings, expected
):
    bring(HEADER + ROW + ROW, columns=f"[settings]\n{settings}")
    assert effort(store) == [expected] * 2


@pytest.mark.parametrize(
    ("cells", "failed_yes", "rir_two"),
    [
        (",,", (None, True), (2, False)),
        ("1,,", (1, False), (1, False)),
        ("0,,", (0, True), (0, False)),
        (",8,", (2, False), (2, False)),
        (",10,", (0, True), (0, False)),
        (",,no", (None, False), (2, False)),
        (",,yes", (None, True), (None, True)),
        ("3,7,no", (3, False), (3, False)),
    ],
)
def test_a_constant_fills_in_only_where_the_row_says_nothing(
    store, bring, cells, failed_yes, rir_two
):
    for n, (settings, expected) in enumerate(
        [('failed = "yes"', failed_yes), ("rir = 2", rir_two)]
    ):
        text = EFFORT + f"R0{n}{ROW[3:-1]},{cells}\n"
        bring(text, columns=f"[settings]\n{settings}")
        assert effort(store)[n] == expected or effort(store)[-1] == expected


def test_shorthand_that_says_how_hard_a_set_was_keeps_it(store, bring):
    text = "lifter,date,exercise,work\nR01,2025-01-06,barbell curl,"
    bring(text + '"3x8 @ 20kg RIR 3"', columns='[settings]\nfailed = "yes"')
    bring(text + '"2x9 @ 20kg (fail)"', columns="[settings]\nrir = 2")
    # Of several sets only the last certainly failed; the other has the constant.
    assert effort(store) == [(3, False)] * 3 + [(2, False), (None, True)]


@pytest.mark.parametrize(
    ("text", "seen"),
    [
        ('[settings]\nfailed = "perhaps"', "[settings] failed is 'perhaps'"),
        ("[settings]\nfailed = 1", "[settings] failed is 1"),
        ("[settings]\nrir = -1", "[settings] rir is -1"),
        ("[settings]\nrir = 31", "[settings] rir is 31"),
        ("[settings]\nrir = nan", "[settings] rir is nan"),
        ("[settings]\nrir = true", "[settings] rir is True"),
        ('[settings]\nrir = "2"', "[settings] rir is '2'"),
        ('[settings]\nfailed = "yes"\nrir = 2', "rir is 2"),
        ("[settings]\nrpe = 8", "no `rpe` in [settings]"),
        ('[names]\nlp = ""', "[names] lp is ''"),
        ("[names]\nlp = 3", "[names] lp is 3"),
        ('[names]\nlp = { movement = "legs" }', "[names] lp is"),
        ('[names]\nlp = { variant = "a", title = "b" }', "[names] lp is"),
        ('[names]\nlp = { variant = "a", movement = "" }', "[names] lp is"),
        ('[names]\nlp = { variant = "a", movement = "b" }\n'
         'l = { variant = "a", movement = "c" }', "[names] l puts a under c"),
    ],
)  # fmt: skip
def test_a_wrong_entry_of_a_map_is_refused_with_file_key_and_value(text, seen):
    with pytest.raises(InputError) as refused:
        parse_column_map(text, "legs.toml")
    assert "legs.toml" in str(refused.value)
    assert seen in str(refused.value)


def test_a_constant_is_not_remembered_for_the_next_file_of_the_layout(
    store, bring, tmp_path
):
    bring(HEADER + ROW, columns='[settings]\nfailed = "yes"\nunit = "kg"')
    (tmp_path / "next.csv").write_text(HEADER + ROW)
    remembered = suggest_columns(store, tmp_path / "next.csv").column_map
    assert remembered.settings == {"unit": "kg"}


LEGS = """
[names]
lp = { variant = "leg_press", movement = "leg_press" }
"Leg Press" = "leg_press"
"Barbell Curl" = "standing_barbell_curl"
"""
LEG_ROWS = "R01,2025-01-06,LP,120,8\nR01,2025-01-07,leg press,125,8\n" + ROW


def test_names_of_a_map_make_variants_that_are_logged_and_not_modelled(store, bring):
    tried = bring(HEADER + LEG_ROWS, columns=LEGS, trial=True)
    assert (tried.sets_added, store.exists) == (3, False)
    assert bring(HEADER + LEG_ROWS, columns=LEGS).sets_added == 3
    assert sets(store)["variant"].tolist().count("leg_press") == 2
    known = variants(store).set_index("variant")
    assert known.loc["leg_press", ["movement", "sets"]].tolist() == ["leg_press", 2]
    # once more, and with the variant there already
    assert bring(HEADER + LEG_ROWS, columns=LEGS).sets_added == 0


@pytest.mark.parametrize("trial", [True, False])
@pytest.mark.parametrize(
    ("name", "seen"),
    [
        ('"leg_pres"', "no variant `leg_pres`"),
        ('{ variant = "leg_press" }', "no variant `leg_press`"),
        ('{ variant = "leg;press", movement = "legs" }', "`leg;press` is no usable"),
        ('{ variant = "hammer_curl", movement = "legs" }', "belongs to movement"),
        ('{ variant = "own_press", movement = "legs" }', "belongs to movement"),
    ],
)
def test_a_name_that_cannot_be_taught_refuses_the_file(store, bring, name, seen, trial):
    teach_name(store, "own press", "own_press", "presses")
    with pytest.raises(FileRefusedError) as refused:
        bring(HEADER + ROW, columns=f"[names]\nlp = {name}", trial=trial)
    assert "[names] `lp` = `" in str(refused.value)
    assert seen in str(refused.value)
    assert sets(store).empty
    assert names(store)["text"].tolist() == ["own press"]


def test_a_name_said_otherwise_before_is_not_changed_by_a_map(store, bring):
    teach_name(store, "LP", "chin_up")
    for trial in (True, False):
        with pytest.raises(FileRefusedError, match="was named chin_up before"):
            bring(HEADER + ROW, columns=LEGS, trial=trial)


def test_what_a_refused_file_would_have_made_is_not_there(store, bring):
    columns = LEGS + 'other = "nothing_known"\n'
    with pytest.raises(FileRefusedError, match="nothing_known"):
        bring(HEADER + LEG_ROWS, columns=columns)
    assert "leg_press" not in variants(store)["variant"].tolist()


def test_a_map_written_down_is_read_as_the_same(store, bring):
    column_map = parse_column_map(
        LEGS + '[settings]\nrir = 1.5\nfailed = "no"\nday_zero = 2025-01-06\n'
        '[columns]\nload = ["kg \\"a\\"", "b\\\\"]\n[read]\nskip_rows = 2\n', "a.toml"
    )  # fmt: skip
    again = parse_column_map(column_map.to_toml(), "b.toml")
    assert again == column_map
    assert again.digest() == column_map.digest()
    assert isinstance(again, ColumnMap)


def test_undoing_an_import_takes_back_what_its_map_said_of_names(store, bring):
    result = bring(HEADER + LEG_ROWS, columns=LEGS)
    undo(store, result.intake_id)
    assert "leg_press" not in variants(store)["variant"].tolist()
