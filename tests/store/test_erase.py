"""What is undone or forgotten cannot be read any more, whatever reads the bytes."""

from __future__ import annotations

import signal
import subprocess
import sys
import textwrap
import time
from pathlib import Path

import pandas as pd
import pytest
import tomli_w

from analytics.errors import InputError, StoreError
from analytics.store import (
    Store,
    backup,
    bodies,
    check,
    edit_set,
    forget,
    history,
    intakes,
    load_fit,
    names,
    rejected,
    restore,
    save_fit,
    save_reps,
    sets,
    sets_hash,
    teach_name,
    undo,
    variants,
)

HEADER = "lifter,date,exercise,load_kg,reps,note\n"
# Nothing of these occurs in the program, so that a byte of it is a byte of the log.
WHO, NOTE, FIRST_NOTE = "Quorvanth", "zyxxaberrant shoulder", "wumbelish elbow"
ODD_LOAD, FILE = "83.0625", "quorvanth-winter.csv"


def log(lifter: str, note: str = "", rows: int = 400, exercise: str = "barbell curl"):
    return "".join(
        f"{lifter},2025-0{1 + row % 3}-{1 + row % 28:02d},{exercise},"
        f"{20 + row % 40},{1 + row % 12},{note and f'{note} {row}'}\n"
        for row in range(rows)
    )


def traces(lifter: str) -> pd.DataFrame:
    times = ("start_s", "end_s", "peak1_s", "low_s", "peak2_s")
    angles = ("sticking_deg", "sticking_from_deg", "sticking_to_deg")
    row = {"lifter": lifter, "exercise": "barbell curl", "set": "1"}
    row |= dict.fromkeys(times, 1.0) | dict.fromkeys(angles, 60.0)
    return pd.DataFrame([row | {"rep": rep} for rep in range(1, 4)])


def bytes_around(store: Store) -> bytes:
    """Everything that lies in the folder of the store and begins with its name."""
    name = store.path.name
    return b"".join(
        path.read_bytes()
        for path in store.path.parent.rglob("*")
        if path.is_file() and name in str(path.relative_to(store.path.parent))
    )


def assert_gone(store: Store, *texts: str) -> None:
    fresh = backup(store, store.path.with_name(f"{store.path.name}.{time.time_ns()}"))
    held = bytes_around(store) + fresh.read_bytes()
    assert [text for text in texts if text.lower().encode() in held.lower()] == []


@pytest.fixture
def full(store, bring):
    """Give a store with everything of one lifter in it, beside another's."""
    bring(HEADER + log("R01", "plain day"), name="club.csv")
    bring(
        HEADER + log(WHO, NOTE) + f"{WHO},2025-01-09,barbell curl,{ODD_LOAD},x,\n"
        f"{WHO},2025-01-09,barbell curl,61,8,{FIRST_NOTE}\n",
        name=FILE,
    )
    mine = sets(store, lifter=WHO)
    edit_set(store, mine.set_id.iloc[-1], note="fixed", load_kg=61.5)
    found = mine[mine.note == FIRST_NOTE]
    edit_set(store, found.set_id.iloc[0], note="told otherwise")
    seen = {"code": "", "content_hash": sets_hash(store, "elbow_flexion")}
    assert save_fit(store, "k", "elbow_flexion", f"strength of {WHO}".encode(), **seen)
    assert FIRST_NOTE.encode() in bytes_around(store)
    return store


def test_undoing_an_import_leaves_no_byte_of_it(full):
    assert NOTE.encode() in bytes_around(full)
    erased = undo(full, 2)
    assert (erased.sets, erased.imports) == (401, 1)
    assert_gone(full, WHO, NOTE, FIRST_NOTE, "told otherwise", ODD_LOAD, FILE)
    assert history(full).empty
    assert set(sets(full).lifter) == {"R01"}
    assert check(full) > 0
    row = intakes(full).set_index("intake_id").loc[2]
    assert (row.file, row.file_hash, row.sets_added) == ("", "", 401)
    with pytest.raises(InputError, match="undone on"):
        undo(full, 2)


def test_forgetting_a_lifter_leaves_no_byte_of_them(full, bring):
    bring(f"lifter,measured_on,body_mass_kg\n{WHO},2025-01-07,80\nR01,2025-01-07,70\n",
          name="bodies.csv")  # fmt: skip
    save_reps(full, traces(WHO), file="Quorvanth trace.csv", file_hash="abc")
    bring(HEADER + log("R01", rows=3, exercise="hammer curl")
          + log(WHO, "sworkly", 2, "Grumbelcurl"), name="mixed.csv")  # fmt: skip
    bring(f"{HEADER.removeprefix('lifter,')}2025-02-08,barbell curl,x,8,flinterish\n"
          "2025-02-09,barbell curl,30,8,flinterish\n", lifter=WHO)  # fmt: skip
    teach_name(full, "Grumbelcurl", "grumbel", "elbow_flexion")
    erased = forget(full, WHO)
    assert (erased.sets, erased.traces, erased.bodies) == (404, 3, 1)
    assert erased.imports == 5
    assert_gone(
        full, WHO, NOTE, FIRST_NOTE, ODD_LOAD, "sworkly", "grumbel", "flinterish"
    )
    assert set(sets(full).lifter) == set(bodies(full).lifter) == {"R01"}
    assert rejected(full).empty
    assert intakes(full).query("undone_at.isna()").file.tolist() == [
        "club.csv", "bodies.csv", "mixed.csv",
    ]  # fmt: skip
    assert "Grumbelcurl" not in set(names(full).text)
    again = bring(HEADER + log("R01", "plain day"), name="club.csv")
    assert (again.sets_added, again.already_known) == (0, 400)


def test_rows_of_others_that_wait_stay_when_a_lifter_is_forgotten(store, bring):
    bring(HEADER + "7,2025-01-06,barbell curl,x,8,a\n8,2025-01-06,barbell curl,x,7,b\n")
    erased = forget(store, "7")
    assert (erased.sets, erased.imports) == (0, 1)
    left = rejected(store)
    assert left.value.tolist() == ["x"]
    assert left["row"].tolist() == [3]


def test_a_former_code_of_a_lifter_can_be_forgotten_too(store, bring):
    bring(HEADER + log(WHO, rows=2))
    for set_id in sets(store).set_id:
        edit_set(store, set_id, lifter="R09")
    assert forget(store, WHO).sets == 0
    assert history(store).empty
    assert len(sets(store, lifter="R09")) == 2


def test_an_unknown_lifter_is_refused_with_near_codes_and_nothing_is_written(full):
    before = full.path.read_bytes()
    with pytest.raises(InputError, match=f"no lifter `Quorvant`; nearest are {WHO}"):
        forget(full, "Quorvant")
    assert full.path.read_bytes() == before


def test_no_saved_fit_outlives_what_it_was_made_from(full):
    seen = {"code": "", "content_hash": sets_hash(full, "elbow_flexion")}
    assert load_fit(full, "k", **seen)
    forget(full, WHO)
    with full.read() as con:
        assert con.execute("SELECT count(*) FROM saved_fit").fetchall() == [(0,)]
    # A fit that was under way keeps nothing of the person either.
    assert not save_fit(full, "k", "elbow_flexion", b"late", **seen)


def test_copies_that_still_hold_what_was_removed_are_named(full, tmp_path):
    old, moved = tmp_path / "old.duckdb", tmp_path / "moved.duckdb"
    backup(full, old)
    backup(full, moved).rename(tmp_path / "elsewhere.duckdb")
    kept = restore(full, old)
    erased = forget(full, WHO)
    assert set(erased.copies) == {str(old), str(moved), str(kept)}
    assert f"`{moved}` (moved or deleted since)" in erased.still_held
    assert f"`{old}`" in erased.still_held


def test_a_copy_made_before_an_import_is_not_named(store, bring, tmp_path):
    bring(HEADER + log("R01", rows=2))
    backup(store, tmp_path / "before.duckdb")
    bring(HEADER + log(WHO, rows=2), name="later.csv")
    assert undo(store, 2).still_held == ""
    assert undo(store, 1).copies == (str(tmp_path / "before.duckdb"),)


@pytest.mark.parametrize("delay_s", [0.05, 0.15, 0.3, 0.6])
def test_a_killed_erasure_removes_all_or_nothing_and_leaves_no_draft(
    store, bring, delay_s
):
    bring(HEADER + log("R01", rows=50))
    bring(HEADER + log(WHO, NOTE, rows=20_000), name=FILE)
    victim = subprocess.Popen(
        [sys.executable, "-c", textwrap.dedent("""
            import sys
            from analytics.store import Store, forget
            store = Store(sys.argv[1])
            print("go", flush=True)
            forget(store, sys.argv[2])
            """), store.path, WHO],
        stdout=subprocess.PIPE, text=True,
    )  # fmt: skip
    assert victim.stdout.readline() == "go\n"
    time.sleep(delay_s)
    victim.send_signal(signal.SIGKILL)
    victim.communicate()
    left = sets(store).lifter.value_counts().to_dict()
    assert left in ({"R01": 50}, {"R01": 50, WHO: 20_000})
    assert check(store) > 0
    if WHO in left:
        forget(store, WHO)
    assert_gone(store, WHO, NOTE)
    assert not list(store.path.parent.glob(".*.new-*"))


def test_a_busy_store_is_not_erased_from(full):
    holder = subprocess.Popen(
        [sys.executable, "-c", "import duckdb, sys, time; con = "
         "duckdb.connect(sys.argv[1], read_only=True); print(1, flush=True); "
         "time.sleep(60)", full.path],
        stdout=subprocess.PIPE, text=True,
    )  # fmt: skip
    try:
        holder.stdout.readline()
        with pytest.raises(StoreError, match="held by"):
            undo(Store(full.path, wait_s=0.5), 1)
    finally:
        holder.kill()
        holder.communicate()
    assert len(sets(full)) == 801


@pytest.mark.slow
def test_undoing_in_a_store_of_a_million_sets_takes_seconds(tmp_path):
    store = Store(Path(tmp_path / "big.duckdb"))
    with store.write() as con:
        con.execute(
            "INSERT INTO logged_set BY NAME SELECT hash(i)::UHUGEINT * 1000003 AS "
            "set_key, 1 + i // 500000 AS intake_id, i AS source_row, 'R' || (i % 500) "
            "AS lifter, DATE '2020-01-01' + (i // 500)::INT % 1500 AS performed_on, "
            "'barbell curl' AS name_key, 20 + i % 60 AS load_kg, 1 + i % 12 AS reps "
            "FROM range(1000000) AS r(i)"
        )
        con.execute(
            "INSERT INTO set_detail BY NAME SELECT set_key, 'note ' || source_row AS "
            "note FROM logged_set WHERE source_row % 3 = 0"
        )
        con.execute(
            "INSERT INTO intake SELECT n, 'a', 'h', 'r', 'sets', now()::TIMESTAMP, '', "
            "'[]', 500000, 500000, 0, 0, 500000, 0, true, NULL FROM range(1, 3) AS t(n)"
        )
    began = time.monotonic()
    assert undo(store, 2).sets == 500_000
    assert time.monotonic() - began < 30  # 3 s on two idle cores


def test_undo_takes_names_only_the_import_taught_and_keeps_those_of_people(
    store, bring
):
    teach_name(store, "said before", "hammer_curl")
    said = {"said before": "hammer_curl", "oxcurl": "reverse_curl"}
    own = {"variant": "sledge", "movement": "sledding"}
    columns = tomli_w.dumps({"names": said | {"sledge pull": own}})
    rows = [log("R01", rows=2, exercise=name) for name in ("oxcurl", "sledge pull")]
    bring(HEADER + "".join(rows), name="first.csv", columns=columns)
    bring(HEADER + log("R02", rows=2, exercise="oxcurl"), name="second.csv")
    undo(store, 1)
    assert set(names(store).text) == {"said before", "oxcurl"}
    assert "sledge" not in set(variants(store).variant)
    assert set(sets(store).variant) == {"reverse_curl"}
    teach_name(store, "kept", "hammer_curl")
    undo(store, 2)
    assert set(names(store).text) == {"said before", "kept"}


def test_a_meaning_given_to_a_name_with_the_code_in_it_goes_with_the_lifter(
    store, bring
):
    bring("lifter,date,exercise,load_kg,reps\nLenka77,2025-01-06,hammer curl,20,8\n")
    teach_name(store, "trick of Lenka77", "lenka77_trick", "tricks")
    teach_name(store, "lenka771 curl", "hammer_curl")  # somebody else's
    forget(store, "Lenka77")
    content = store.path.read_bytes().lower()
    assert b"lenka77_trick" not in content
    assert b"trick of lenka77" not in content
    assert b"lenka771 curl" in content
