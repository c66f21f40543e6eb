"""Every query runs on an empty store, with the columns its header promises."""

from __future__ import annotations

import math

import pytest

from analytics.intake import parse_column_map, take_in
from analytics.store import (
    Store,
    bodies,
    intakes,
    lifters,
    movements,
    names,
    rejected,
    reps,
    said,
    sets,
    unnamed,
    variants,
)

COLUMNS = {
    sets: "set_id lifter performed_on movement variant equipment side load_kg on_body "
    "arms_share body_share body_mass_kg body_mass_on reps rir rir_half failed "
    "failed_at_deg range_from_deg range_to_deg stance rotation_deg hold_s angle_deg "
    "tempo pain lean_deg cheat note flag intake_id source_row",
    lifters: "lifter sets first_on last_on variants with_effort",
    variants: "movement variant title sets lifters",
    movements: "movement title reference variants sets",
    names: "text variant likeness decided_by sets lifters",
    unnamed: "text sets lifters nearest likeness",
    rejected: "intake_id file row column value problem accepted",
    bodies: "lifter measured_on body_mass_kg stature_m forearm_length_m arm_girth_m "
    "intake_id",
    said: "lifter what said said_at",
    reps: "lifter performed_on exercise variant set rep start_s end_s peak1_s low_s "
    "peak2_s sticking_deg sticking_from_deg sticking_to_deg",
    intakes: "intake_id file kind taken_at rows_read rows_added rows_known "
    "rows_rejected sets_added already_known undone_at file_hash",
}


@pytest.mark.parametrize("query", list(COLUMNS), ids=lambda query: query.__name__)
def test_a_query_on_a_store_that_does_not_exist_has_its_columns(tmp_path, query):
    store = Store(tmp_path / "none.duckdb")
    assert list(query(store).columns) == COLUMNS[query].split()
    assert not store.exists


def test_every_column_of_the_schema_has_a_comment(tmp_path):
    with Store(tmp_path / "none.duckdb").read() as con:
        bare = con.execute(
            "SELECT table_name, column_name FROM duckdb_columns() "
            "WHERE comment IS NULL AND NOT internal "
            "AND database_name = current_database()"
        ).fetchall()
    assert bare == []


def test_the_body_mass_of_a_set_is_the_nearest_weighing(tmp_path):
    store = Store(tmp_path / "s.duckdb")
    (tmp_path / "bodies.csv").write_text(
        "lifter,measured on,body mass\nR,2025-01-01,80 kg\nR,2025-01-20,84 kg\n"
    )
    (tmp_path / "log.csv").write_text(
        "lifter,date,exercise,load_kg,reps,body mass\n"
        "R,2024-12-24,chin up,5,8,\nR,2025-01-08,chin up,5,8,\n"
        "R,2025-01-15,chin up,5,8,\n"
        "R,2025-01-16,chin up,5,8,83.1\nQ,2025-01-16,chin up,5,8,\n"
    )
    take_in(store, tmp_path / "bodies.csv")
    take_in(store, tmp_path / "log.csv", unit="kg")
    found = sets(store).sort_values(["lifter", "performed_on"]).body_mass_kg.tolist()
    assert math.isnan(found[0])
    assert found[1:] == [80, 80, 83.1, 83.1]
    only = sets(store, lifter="R", since="2025-01-10", until="2025-01-15")
    assert only.body_mass_kg.tolist() == [83.1]


def test_a_map_that_knows_an_unknown_key_is_refused():
    from analytics.errors import InputError

    for text in (
        "[colums]\n",
        '[columns]\nweight="x"\n',
        '[settings]\nunit="g"\n',
        '[settings]\nday_zero="someday"\n',
        '[columns]\nload=["a","b"]\nreps=["a","b","c"]\n',
        "not toml",
    ):
        with pytest.raises(InputError):
            parse_column_map(text)


def test_a_map_written_down_reads_back():
    text = (
        '[read]\ndelimiter = ";"\nskip_rows = 2\n[columns]\nload = ["a \\"x\\"", "b"]\n'
        '[settings]\ndates = "dmy"\n[names]\n'
        '"LH-Curl stehend" = "standing_barbell_curl"\n'
    )
    column_map = parse_column_map(text)
    assert parse_column_map(column_map.to_toml()) == column_map
