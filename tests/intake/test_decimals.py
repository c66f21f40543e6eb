"""A sign before exactly three digits is asked about, whichever sign it is."""

import pytest

from analytics.errors import FileRefusedError
from analytics.intake import parse_column_map, take_in
from analytics.store import Store, sets

HEADER = "lifter;date;exercise;load_kg;reps\n"


@pytest.fixture
def bring(tmp_path):
    store = Store(tmp_path / "store.duckdb")

    def take(text, column_map=None):
        path = tmp_path / "log.csv"
        path.write_text(text, encoding="utf-8")
        return take_in(store, path, column_map=column_map), sets(store)

    return take


@pytest.mark.parametrize("load", ["1.005", "1,005", "45.359 kg"])
def test_a_sign_before_three_digits_alone_is_asked(bring, load):
    with pytest.raises(FileRefusedError, match="decimal"):
        bring(HEADER + f"R;2025-01-06;deadlift;{load};5\n")


def test_an_answer_settles_it(bring):
    for_comma = parse_column_map('[read]\ndecimal = ","\n')
    result, _ = bring(HEADER + "R;2025-01-06;deadlift;1.005;5\n", for_comma)
    # 1,005 kg is impossible, so the row is rejected and not read as 1.005 kg
    assert (result.sets_added, result.rejected) == (0, 1)
    for_point = parse_column_map('[read]\ndecimal = "."\n')
    _, stored = bring(HEADER + "R;2025-01-06;deadlift;45.359;5\n", for_point)
    assert stored.load_kg.tolist() == [45.359]


def test_a_proof_within_the_file_settles_it_and_is_told(bring):
    rows = "R;2025-01-06;deadlift;100.500;5\nR;2025-01-08;deadlift;62,5;5\n"
    result, stored = bring(HEADER + rows)
    assert stored.load_kg.tolist() == [62.5]
    assert result.rejected == 1
    assert any("decimal commas, as `62,5` (row 3)" in note for note in result.notes)


def test_one_other_point_proves_that_points_are_decimal(bring):
    rows = "R;2025-01-06;deadlift;45.359;5\nR;2025-01-08;deadlift;22.68;5\n"
    assert bring(HEADER + rows)[1].load_kg.tolist() == [45.359, 22.68]


def test_a_cell_that_is_no_shorthand_is_named(bring):
    rows = "lifter;date;exercise;sets\nR;2025-01-06;deadlift;banana\n"
    columns = (
        'lifter = "lifter"\nperformed_on = "date"\nexercise = "exercise"\n'
        'shorthand = "sets"\n'
    )
    given = parse_column_map(f'[columns]\n{columns}[settings]\nunit = "kg"\n')
    result, _ = bring(rows, given)
    assert [(i.value, i.problem) for i in result.issues] == [
        ("banana", "neither a number nor shorthand")
    ]
