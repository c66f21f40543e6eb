"""Links are followed once, files are their owner's alone, crashes leave nothing."""

from __future__ import annotations

import os
import signal
import stat
import subprocess
import sys
import tempfile
import textwrap
import threading
import time
from pathlib import Path

import pytest

from analytics.errors import StoreError
from analytics.intake import take_in
from analytics.store import Store, backup, check, intakes, restore, sets, teach_name
from analytics.store.engine import in_memory
from analytics.store.private import SPILL, own_folder, private_files, sweep

HEADER = "lifter,date,exercise,load_kg,reps\n"


def log(path: Path, rows: int, lifter: str = "R01") -> Path:
    path.write_text(HEADER + "".join(
        f"{lifter},2025-01-{1 + row % 28:02d},barbell curl,{20 + row % 40},"
        f"{1 + row % 12}\n" for row in range(rows)
    ))  # fmt: skip
    return path


def mode(path: Path) -> int:
    return stat.S_IMODE(path.stat().st_mode)


@pytest.fixture
def linked(tmp_path):
    """Give a store reached by a link from another folder."""
    real, seen = tmp_path / "disk" / "real.duckdb", tmp_path / "desk"
    seen.mkdir()
    take_in(Store(real), log(tmp_path / "log.csv", 20))
    (seen / "store.duckdb").symlink_to(real)
    return Store(seen / "store.duckdb"), real


WRITES_AND_DIES = """
    import os, sys
    from analytics.store import Store
    with Store(sys.argv[1]).write() as con:
        con.execute("INSERT INTO logged_set BY NAME SELECT 7::UHUGEINT AS set_key, "
            "1 AS intake_id, 2 AS source_row, 'R02' AS lifter, DATE '2025-01-06' AS "
            "performed_on, 'barbell curl' AS name_key, 20 AS load_kg, 8 AS reps")
        con.commit()
        os._exit(9)
    """


def test_a_backup_through_a_link_holds_the_changes_not_folded_in_yet(linked, tmp_path):
    store, real = linked
    subprocess.run([sys.executable, "-c", textwrap.dedent(WRITES_AND_DIES), store.path],
                   check=False)  # fmt: skip
    assert real.with_name("real.duckdb.wal").stat().st_size > 0
    copy = backup(store, tmp_path / "copy.duckdb")
    assert len(sets(Store(copy))) == 21


def test_log_and_lock_of_a_linked_store_lie_beside_the_file_itself(linked):
    store, real = linked
    teach_name(store, "zercher", "hammer_curl")
    assert [path.name for path in (store.path.parent).iterdir()] == [
        path.name for path in real.parent.iterdir()
    ]
    assert store.path == real
    assert real.with_name("real.duckdb.lock").exists()


def test_restoring_through_a_link_replaces_the_file_and_not_the_link(linked, tmp_path):
    store, real = linked
    copy = backup(store, tmp_path / "copy.duckdb")
    take_in(store, log(tmp_path / "more.csv", 5, "R02"))
    restore(store, copy)
    assert (tmp_path / "desk" / "store.duckdb").is_symlink()
    assert len(sets(Store(real))) == 20


@pytest.mark.parametrize("there", [True, False])
def test_a_link_in_place_of_the_lock_is_refused_and_its_target_left(tmp_path, there):
    store = Store(tmp_path / "store.duckdb")
    victim = tmp_path / "victim"
    if there:
        victim.write_text("precious")
    (tmp_path / "store.duckdb.lock").symlink_to(victim)
    with pytest.raises(StoreError, match="is a link, which no store makes"):
        teach_name(store, "curl", "hammer_curl")
    assert victim.exists() == there
    assert not there or victim.read_text() == "precious"


def test_the_lock_file_is_not_emptied(tmp_path):
    store = Store(tmp_path / "store.duckdb")
    (tmp_path / "store.duckdb.lock").write_text("kept")
    teach_name(store, "curl", "hammer_curl")
    assert (tmp_path / "store.duckdb.lock").read_text() == "kept"


def test_store_log_lock_copies_and_folders_are_their_owners_alone(tmp_path):
    os.umask(0o022)
    store = Store(tmp_path / "new" / "deep" / "store.duckdb")
    take_in(store, log(tmp_path / "log.csv", 5))
    with store.write() as con:
        teach = "INSERT INTO own_variant VALUES ('a', 'b', 'c')"
        con.execute(teach)
        con.commit()
        con.begin()
        files = list(store.path.parent.iterdir())
        assert {path.name for path in files} >= {"store.duckdb.wal"}
        assert {mode(path) for path in files} == {0o600}
    assert mode(tmp_path / "new") == mode(tmp_path / "new" / "deep") == 0o700
    copy = backup(store, tmp_path / "copy.duckdb")
    kept = restore(store, copy)
    assert kept is not None
    assert {mode(path) for path in (copy, kept, store.path)} == {0o600}
    assert os.umask(0o022) == 0o022


def test_a_store_others_could_read_is_closed_to_them_by_the_next_write(tmp_path):
    store = Store(tmp_path / "store.duckdb")
    teach_name(store, "curl", "hammer_curl")
    store.path.chmod(0o644)
    teach_name(store, "curls", "hammer_curl")
    assert mode(store.path) == 0o600


def test_the_mask_for_new_files_is_put_back_when_the_last_thread_leaves():
    before = os.umask(0o022)
    inside, leave = threading.Barrier(9), threading.Event()

    def stay() -> None:
        with private_files():
            inside.wait()
            leave.wait()

    threads = [threading.Thread(target=stay) for _ in range(8)]
    for thread in threads:
        thread.start()
    inside.wait()
    leave.set()
    for thread in threads:
        thread.join()
    assert os.umask(before) == 0o022


SPILLS = """
    import sys, time
    from analytics.store.engine import in_memory
    with in_memory() as con:
        con.execute("SET memory_limit = '60MB'")
        print("go", flush=True)
        con.execute("CREATE TABLE t AS SELECT i, md5(i::VARCHAR) AS a, "
            "md5((i + 1)::VARCHAR) AS b FROM range(3000000) AS r(i)")
        time.sleep(60)
    """


def test_what_spilled_is_private_and_gone_after_a_crash(tmp_path, monkeypatch):
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    victim = subprocess.Popen(
        [sys.executable, "-c", textwrap.dedent(SPILLS)], stdout=subprocess.PIPE,
        env={**os.environ, "TMPDIR": str(tmp_path)}, cwd=tmp_path,
    )  # fmt: skip
    try:
        victim.stdout.readline()
        until = time.monotonic() + 60
        while not (spilled := list(tmp_path.glob(f"{SPILL}*/*.tmp"))):
            assert time.monotonic() < until
            time.sleep(0.05)
        assert {mode(path) for path in spilled} == {0o600}
        assert {mode(path.parent) for path in spilled} == {0o700}
        sweep(tmp_path, SPILL)
        assert spilled[0].exists()  # its owner lives
    finally:
        victim.send_signal(signal.SIGKILL)
        victim.communicate()
    sweep(tmp_path, SPILL)
    assert list(tmp_path.iterdir()) == []


def test_nothing_spills_where_nothing_can_be_written(tmp_path, monkeypatch):
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path / "absent"))
    with in_memory() as con:
        assert con.execute("SELECT current_setting('temp_directory')").fetchall() == [
            ("",)
        ]


def test_a_folder_of_ones_own_is_gone_at_the_end(tmp_path):
    with own_folder(tmp_path, "x-") as folder:
        (folder / "secret").write_text("a")
        assert mode(folder) == 0o700
    assert list(tmp_path.iterdir()) == []


def test_there_is_no_moment_without_a_store_while_one_is_restored(linked, tmp_path):
    store, real = linked
    copy = backup(store, tmp_path / "copy.duckdb")
    missing, done = [], threading.Event()

    def watch() -> None:
        while not done.is_set():
            missing.append(not real.exists())

    watcher = threading.Thread(target=watch)
    watcher.start()
    restored = 0
    while restored < 5 or len(missing) <= 100:
        restore(store, copy)
        restored += 1
    done.set()
    watcher.join()
    assert not any(missing)


@pytest.mark.parametrize("delay_s", [0.1, 0.3, 0.5, 0.7])
def test_a_killed_restore_leaves_one_of_the_two_stores_whole(linked, tmp_path, delay_s):
    store, _ = linked
    copy = backup(store, tmp_path / "copy.duckdb")
    take_in(store, log(tmp_path / "more.csv", 20_000, "R02"))
    victim = subprocess.Popen(
        [sys.executable, "-c", "import sys; from analytics.store import Store, "
         "restore; print(1, flush=True); restore(Store(sys.argv[1]), sys.argv[2])",
         store.path, copy], stdout=subprocess.PIPE,
    )  # fmt: skip
    victim.stdout.readline()
    time.sleep(delay_s)
    victim.send_signal(signal.SIGKILL)
    victim.communicate()
    assert check(store) > 0
    assert len(intakes(store)) in (1, 2)
    restore(store, copy)
    assert not list(store.path.parent.glob(".*.new-*"))


def test_two_restores_keep_both_stores_of_before(linked, tmp_path):
    store, _ = linked
    copy = backup(store, tmp_path / "copy.duckdb")
    assert restore(store, copy) != restore(store, copy)
