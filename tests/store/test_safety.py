"""The store file under migration, other processes, kill, damage and full disks."""

from __future__ import annotations

import os
import random
import resource
import signal
import subprocess
import sys
import textwrap
import time
from pathlib import Path
from types import SimpleNamespace

import duckdb
import pytest

from analytics.errors import InputError, StoreError
from analytics.intake import take_in
from analytics.store import (
    Store,
    backup,
    check,
    connection,
    edit_set,
    history,
    intakes,
    load_fit,
    names,
    reps,
    restore,
    save_fit,
    sets,
    sets_hash,
    teach_name,
    undo,
    unnamed,
    variants,
)
from analytics.store.schema import schema_files

HEADER = "lifter,date,exercise,load_kg,reps\n"


def log(path: Path, rows: int, lifter: str = "R01") -> Path:
    lines = (
        f"{lifter},2025-01-{1 + row % 28:02d},barbell curl,"
        f"{20 + row % 40},{1 + row % 12}\n"
        for row in range(rows)
    )
    path.write_text(HEADER + "".join(lines))
    return path


@pytest.fixture
def store(tmp_path):
    store = Store(tmp_path / "store.duckdb", wait_s=1)
    take_in(store, log(tmp_path / "log.csv", 30))
    return store


def python(script: str, *arguments: object, **options: object) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-c", textwrap.dedent(script), *map(str, arguments)],
        text=True, stdout=subprocess.PIPE, stderr=subprocess.PIPE, **options,
    )  # fmt: skip


@pytest.mark.parametrize("version", [version for version, _ in schema_files()][:-1])
def test_a_store_of_every_earlier_schema_is_brought_up_to_date(tmp_path, version):
    path = tmp_path / "old.duckdb"
    with duckdb.connect(str(path)) as con:
        for number, text in schema_files():
            if number <= version:
                con.execute(text)
                con.execute(f"INSERT INTO schema_version VALUES ({number}, now())")
        con.execute(
            "INSERT INTO logged_set (set_key, intake_id, source_row, lifter, "
            "performed_on, name_key, load_kg, reps) VALUES "
            "(7, 1, 2, 'R01', '2025-01-06', 'barbell curl', 20, 8)"
        )
        con.execute(
            "INSERT INTO intake SELECT 1, 'log.csv', 'h', 'r', 'sets', "
            "CAST(now() AS TIMESTAMP), '', '[]', 1, 1, 0, 0, 1, 0, true, NULL"
        )
        con.execute(
            "INSERT INTO exercise_name (name_key, text, variant, likeness, decided_by) "
            "VALUES "
            "('barbell curl', 'Barbell curl', 'standing_barbell_curl', 1, 'catalogue')"
        )
        if version == 2:  # two repetitions of a trace, of the time without numbers
            con.execute(
                "INSERT INTO traced_rep (file_hash, lifter, exercise, name_key, "
                "set_label, rep) SELECT 'abc', 'R01', 'x', 'x', '1', unnest([1, 2])"
            )
    store = Store(path)
    assert sets(store).load_kg.tolist() == [20]
    traced = intakes(store).query("kind == 'traces'")
    assert traced["rows_read"].tolist() == [2] * (version == 2)
    for number in traced["intake_id"]:
        assert undo(store, number).rows == 2
        assert reps(store).empty
    edit_set(store, "7", reps=9.0)
    assert history(store, "7").after.tolist() == ["9.0"]


def test_a_store_of_a_newer_program_and_a_foreign_file_are_refused(tmp_path):
    path = tmp_path / "new.duckdb"
    with duckdb.connect(str(path)) as con:
        for _, text in schema_files():
            con.execute(text)
        con.execute("INSERT INTO schema_version VALUES (99, now())")
    with pytest.raises(StoreError, match="upgrade the program"):
        sets(Store(path))
    with duckdb.connect(str(tmp_path / "other.duckdb")) as con:
        con.execute("CREATE TABLE cats (name TEXT)")
    with pytest.raises(StoreError, match="no store of Lacertus"):
        teach_name(Store(tmp_path / "other.duckdb"), "curl", "hammer_curl")


def test_the_store_connection_cannot_reach_other_files(store, tmp_path):
    (tmp_path / "secret.csv").write_text("a\n1\n")
    for opened in (store.read, store.write):
        with opened() as con, pytest.raises(duckdb.PermissionException):
            con.execute(f"SELECT * FROM read_csv('{tmp_path}/secret.csv')").fetchall()


def test_a_busy_store_is_waited_for_and_then_named_with_its_holder(store, monkeypatch):
    slept: list[float] = []
    clock = SimpleNamespace(monotonic=lambda: sum(slept), sleep=slept.append)
    holder = python(
        """
        import duckdb, sys, time
        con = duckdb.connect(sys.argv[1]); print("open", flush=True); time.sleep(60)
        """, store.path,
    )  # fmt: skip
    try:
        assert holder.stdout.readline() == "open\n"
        monkeypatch.setattr(connection, "time", clock)
        with pytest.raises(StoreError, match=str(holder.pid)) as busy:
            sets(store)
        assert store.wait_s <= sum(slept) < store.wait_s + 0.1
        assert busy.value.exit_code == 4
    finally:
        holder.kill()
        holder.communicate()
    assert len(sets(store)) == 30


def _kill_at(tmp_path: Path, delay_s: float) -> None:
    """Kill an intake after a delay; the store holds all of it or nothing."""
    path = tmp_path / f"killed{delay_s:.4f}.duckdb"
    store = Store(path)
    take_in(store, log(tmp_path / "first.csv", 50, "R01"))
    second = log(tmp_path / "second.csv", 60_000, "R02")
    victim = python(
        """
        import sys
        from analytics.intake import take_in
        from analytics.store import Store
        store = Store(sys.argv[1])
        print("go", flush=True)
        take_in(store, sys.argv[2])
        """, path, second,
    )  # fmt: skip
    assert victim.stdout.readline() == "go\n"
    time.sleep(delay_s)
    victim.send_signal(signal.SIGKILL)
    victim.communicate()
    assert check(store) > 0
    with store.read() as con:
        stored = con.execute("SELECT count(*) FROM logged_set").fetchall()[0][0]
    assert stored in (50, 60_050)
    assert len(intakes(store)) == (1 if stored == 50 else 2)
    again = take_in(store, second)
    assert again.sets_added + again.already_known == 60_000


@pytest.mark.parametrize("delay_s", [0.15, 0.4, 0.6])
def test_a_killed_intake_leaves_all_or_nothing(tmp_path, delay_s):
    _kill_at(tmp_path, delay_s)


@pytest.mark.slow
def test_twenty_intakes_killed_at_random_moments_leave_all_or_nothing(tmp_path):
    moments = random.Random(20250106)
    for _ in range(20):
        _kill_at(tmp_path, moments.uniform(0.05, 1.5))


READER = """
    import sys, time
    from analytics.store import Store, lifters, sets
    store, until, reads = Store(sys.argv[1]), time.monotonic() + float(sys.argv[2]), 0
    while time.monotonic() < until:
        assert len(sets(store, lifter="R01")) >= 30
        reads += 1
    print(reads)
    """


def _side_by_side(store: Store, folder: Path, readers: int, seconds: float) -> None:
    crowd = [python(READER, store.path, seconds) for _ in range(readers)]
    writer = Store(store.path, wait_s=30)
    until, written = time.monotonic() + seconds, 0
    while time.monotonic() < until:
        take_in(writer, log(folder / f"w{written}.csv", 5, f"W{written}"))
        written += 1
    for reader in crowd:
        output, errors = reader.communicate(timeout=120)
        assert reader.returncode == 0, errors
        assert int(output) > 0
    assert written > 0
    with store.read() as con:
        stored = con.execute("SELECT count(*) FROM logged_set").fetchall()[0][0]
    assert stored == 30 + 5 * written


def test_readers_and_a_writer_work_side_by_side(store, tmp_path):
    _side_by_side(store, tmp_path, readers=3, seconds=4)


@pytest.mark.slow
def test_ten_readers_and_a_writer_work_side_by_side_for_a_minute(store, tmp_path):
    _side_by_side(store, tmp_path, readers=10, seconds=60)


def test_a_damaged_store_is_detected_and_a_backup_brings_it_back(store, tmp_path):
    copy = backup(store, tmp_path / "copy.duckdb")
    content = bytearray(store.path.read_bytes())
    for at in range(12_288, len(content), 4096):
        content[at : at + 64] = os.urandom(64)
    store.path.write_bytes(content)
    with pytest.raises(StoreError, match="damaged"):
        check(store)
    store.path.write_bytes(b"not a database at all" * 1000)
    with pytest.raises(StoreError, match="damaged"):
        sets(store)
    kept = restore(store, copy)
    assert kept is not None
    assert kept.exists()
    assert len(sets(store)) == 30


def test_a_backup_holds_the_store_of_its_moment(store, tmp_path):
    copy = backup(store, tmp_path / "copy.duckdb")
    take_in(store, log(tmp_path / "more.csv", 4, "R02"))
    restore(store, copy)
    assert set(sets(store).lifter) == {"R01"}
    with pytest.raises(InputError, match="exists"):
        backup(store, copy)
    (tmp_path / "junk.duckdb").write_bytes(b"junk" * 5000)
    with pytest.raises(StoreError, match="damaged"):
        restore(store, tmp_path / "junk.duckdb")
    assert len(sets(store)) == 30


def test_a_full_disk_is_reported_and_leaves_the_store_whole(store, tmp_path):
    # A limit on the size of files stands for a full disk.
    before = store.path.stat().st_size
    limited = python(
        """
        import signal, sys
        from analytics.errors import StoreError
        from analytics.intake import take_in
        from analytics.store import Store
        try:
            take_in(Store(sys.argv[1]), sys.argv[2])
        except StoreError as error:
            print(error)
        """, store.path, log(tmp_path / "big.csv", 200_000, "R02"),
        preexec_fn=lambda: (
            signal.signal(signal.SIGXFSZ, signal.SIG_IGN),
            resource.setrlimit(resource.RLIMIT_FSIZE, (before + 200_000,) * 2),
        ),
    )  # fmt: skip
    output, errors = limited.communicate(timeout=300)
    assert limited.returncode == 0, errors
    assert "full" in output
    assert len(sets(store)) == 30
    assert check(store) > 0


def test_a_folder_that_cannot_be_written_is_reported():
    # Not even root can make files under /proc.
    with pytest.raises(StoreError, match="store"):
        teach_name(Store("/proc/lacertus/store.duckdb"), "curl", "hammer_curl")


def test_names_decide_past_and_future_sets(store, tmp_path):
    path = tmp_path / "names.csv"
    path.write_text(
        HEADER + "R,2025-01-06,Standng barbel curls,20,8\nR,2025-01-06,Zercher,60,5\n"
        "R,2025-01-06,\"curl, preacher 45\",20,8\n"
    )  # fmt: skip
    take_in(store, path)
    known = names(store).set_index("text")
    assert known.loc["Standng barbel curls", "variant"] == "standing_barbell_curl"
    assert known.loc["Standng barbel curls", "decided_by"] == "typo"
    assert known.loc["curl, preacher 45", "variant"] == "preacher_curl_45"
    assert (known.likeness <= 1).all()
    assert unnamed(store).text.tolist() == ["Zercher"]
    assert "Zercher" not in set(sets(store).variant)
    with pytest.raises(InputError, match="--movement"):
        teach_name(store, "Zercher", "zercher_squat")
    teach_name(store, "Zercher", "zercher_squat", "squat")
    assert len(sets(store, movement="squat")) == 1
    path.write_text(HEADER + "R,2025-01-07,ZERCHER,60,5\n")
    take_in(store, path)
    assert len(sets(store, movement="squat")) == 2
    assert "zercher_squat" in set(variants(store).variant)


def test_a_saved_fit_is_found_for_its_content_only(store):
    seen = {"code": "a", "content_hash": sets_hash(store, "elbow_flexion")}
    assert save_fit(store, "k", "elbow_flexion", b"\x00fit", **seen)
    assert load_fit(store, "k", **seen) == b"\x00fit"
    assert load_fit(store, "k", **seen | {"code": "b"}) is None
    assert load_fit(store, "k", **seen | {"content_hash": "b"}) is None
