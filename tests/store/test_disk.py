"""Disks that are full or cannot be written: true reasons, and whole stores."""

from __future__ import annotations

import os
import resource
import signal
import sqlite3
import subprocess
import sys
from pathlib import Path

import duckdb
import pytest

from analytics.errors import InputError, StoreError
from analytics.intake import take_in
from analytics.store import (
    Store,
    backup,
    check,
    intakes,
    restore,
    sets,
    teach_name,
    undo,
)
from analytics.store.schema import schema_files

HEADER = "lifter,date,exercise,load_kg,reps,rir\n"
# Root may write everywhere; without these capabilities it is an owner like any other.
UNPRIVILEGED = (
    ["setpriv", "--bounding-set=-dac_override,-dac_read_search,-fowner"]
    if os.geteuid() == 0
    else []
)


def log(path: Path, lifter: str, rows: int) -> Path:
    path.write_text(HEADER + "".join(
        f"{lifter},2025-01-{1 + row % 28:02d},barbell curl,{20 + row % 40},"
        f"{1 + row % 12},1\n" for row in range(rows)
    ))  # fmt: skip
    return path


@pytest.fixture
def small(tmp_path):
    folder = tmp_path / "club"
    folder.mkdir()
    store = Store(folder / "store.duckdb", wait_s=2)
    take_in(store, log(tmp_path / "first.csv", "R01", 12))
    return store


def lacertus(
    *arguments: object, store: Path, most_bytes: int | None = None, **options: object
) -> subprocess.CompletedProcess[str]:
    """Run a command without privileges, and with no file longer than `most_bytes`."""

    def limit() -> None:
        if most_bytes is not None:
            signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
            resource.setrlimit(resource.RLIMIT_FSIZE, (most_bytes, most_bytes))

    command = [sys.executable, "-c", "from analytics.cli.main import main; main()"]
    return subprocess.run(
        [*UNPRIVILEGED, *command, *map(str, arguments), "--store", str(store)],
        capture_output=True, text=True, preexec_fn=limit, check=False, **options,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("rows", "spare"),
    [(3, 0), (3, 150_000), *((20_000, n) for n in (5_000, 600_000, 5_000_000))]
    + [
        pytest.param(rows, spare, marks=pytest.mark.slow)
        for rows in (3, 20_000)
        for spare in (0, 5_000, 40_000, 150_000, 600_000, 5_000_000)
    ],
)
def test_a_full_disk_ends_an_intake_with_a_true_sentence(small, tmp_path, rows, spare):
    second = log(tmp_path / "second.csv", "R02", rows)
    done = lacertus("intake", second, store=small.path, most_bytes=spare)
    stored = len(intakes(small)) == 2
    assert stored == (done.returncode == 0)
    if not stored:
        assert done.returncode == 4
        assert "full; nothing was stored" in done.stderr
    assert "Traceback" not in done.stderr
    assert check(small) > 0
    again = take_in(small, second)
    assert again.sets_added + again.already_known == rows


def test_a_disk_too_full_for_a_store_leaves_none(tmp_path):
    path = tmp_path / "new.duckdb"
    first = log(tmp_path / "first.csv", "R01", 3)
    done = lacertus("intake", first, store=path, most_bytes=8_000)
    assert (done.returncode, path.exists()) == (4, False)
    assert "full; nothing was stored" in done.stderr
    assert lacertus("intake", first, store=path).returncode == 0


@pytest.mark.parametrize("spare", [0, 20_000, 200_000])
def test_a_full_disk_removes_nothing_and_says_so(small, spare):
    done = lacertus("undo", 1, store=small.path, most_bytes=spare)
    assert done.returncode == 4
    assert "full; nothing was removed" in done.stderr
    assert len(sets(small)) == 12
    assert [path.name for path in small.path.parent.glob(".*")] == []
    assert undo(small, 1).sets == 12


def test_reading_needs_no_space(small, tmp_path):
    for call in (["strength"], ["unnamed"]):
        done = lacertus(*call, store=small.path, most_bytes=0)
        assert done.returncode == 0, done.stderr
    done = lacertus("strength", "--as", "csv", store=small.path)
    assert len(done.stdout.splitlines()) > 1


def read_only(folder: Path) -> None:
    for path in folder.iterdir():
        path.chmod(0o400)
    folder.chmod(0o500)


def test_reading_needs_no_right_to_write_and_writing_says_what_is_missing(
    small, tmp_path
):
    small.path.with_name("store.duckdb.lock").unlink()
    read_only(small.path.parent)
    report = tmp_path / "report.html"
    for call in (["strength"], ["ratios"], ["report", "R01", report]):
        done = lacertus(*call, store=small.path)
        assert done.returncode == 0, done.stderr
    done = lacertus("intake", log(tmp_path / "b.csv", "R02", 3), store=small.path)
    assert done.returncode == 4
    assert "cannot be written to: no permission; nothing was stored" in done.stderr
    done = lacertus("undo", 1, store=small.path)
    assert done.returncode == 4
    assert "no permission; nothing was removed" in done.stderr
    small.path.parent.chmod(0o700)
    assert len(sets(small)) == 12


def test_a_store_that_may_not_be_read_is_not_called_damaged(small):
    small.path.chmod(0)
    done = lacertus("variants", store=small.path)
    assert done.returncode == 4
    assert "cannot be read: no permission" in done.stderr
    small.path.parent.chmod(0)
    assert lacertus("variants", store=small.path).returncode == 4
    small.path.parent.chmod(0o700)


def test_an_old_store_that_cannot_be_written_is_still_read(tmp_path):
    path = tmp_path / "club" / "old.duckdb"
    path.parent.mkdir()
    with duckdb.connect(str(path)) as con:
        con.execute(schema_files()[0][1])
        con.execute("INSERT INTO schema_version VALUES (1, now())")
        con.execute(
            "INSERT INTO logged_set (set_key, intake_id, source_row, lifter, "
            "performed_on, name_key, load_kg, reps) VALUES "
            "(7, 1, 2, 'R01', '2025-01-06', 'barbell curl', 20, 8)"
        )
    before = path.read_bytes()
    read_only(path.parent)
    done = lacertus("variants", "--as", "csv", store=path)
    assert done.returncode == 0, done.stderr
    path.parent.chmod(0o700)
    assert path.read_bytes() == before


def test_words_in_the_name_of_a_store_do_not_decide_what_is_said(tmp_path):
    folder = tmp_path / "corrupt checksum no space left permission denied"
    folder.mkdir()
    with pytest.raises(StoreError) as refused:
        sets(Store(folder))
    assert "is no file" in str(refused.value)
    store = Store(folder / "s.duckdb", wait_s=0.3)
    teach_name(store, "curl", "hammer_curl")
    holder = subprocess.Popen(
        [sys.executable, "-c", "import duckdb, sys, time; c = duckdb.connect("
         "sys.argv[1]); print(1, flush=True); time.sleep(60)", store.path],
        stdout=subprocess.PIPE,
    )  # fmt: skip
    try:
        holder.stdout.readline()
        with pytest.raises(StoreError, match="held by process"):
            sets(store)
    finally:
        holder.kill()
        holder.communicate()


def foreign(path: Path, kind: str) -> None:
    if kind == "sqlite":
        with sqlite3.connect(path) as con:
            con.execute("CREATE TABLE logged_set (lifter TEXT)")
        con.close()
    elif kind == "text":
        path.write_text("lifter,date\n" * 5000)
    elif kind == "empty":
        path.touch()
    elif kind == "folder":
        path.mkdir()
    elif kind == "pipe":
        os.mkfifo(path)
    else:
        with duckdb.connect(str(path)) as con:
            con.execute(kind)


@pytest.mark.parametrize(
    "kind",
    [
        "sqlite", "text", "empty", "folder", "pipe", "CREATE TABLE cats (name TEXT)",
        "CREATE TABLE schema_version (a TEXT)",
        "CREATE TABLE schema_version (version INTEGER, applied_at TIMESTAMP)",
        "CREATE TABLE schema_version (version INTEGER, applied_at TIMESTAMP); "
        "INSERT INTO schema_version VALUES (3, now())",
        "CREATE VIEW schema_version AS SELECT 3 AS version, now() AS applied_at",
    ],
)  # fmt: skip
@pytest.mark.parametrize("name", ["s.duckdb", "s.sqlite", "http:s3"])
def test_a_foreign_file_is_refused_in_one_sentence_and_left_as_it_was(
    tmp_path, kind, name
):
    path = tmp_path / name
    foreign(path, kind)
    before = path.read_bytes() if path.is_file() else None
    for use in (sets, lambda store: teach_name(store, "curl", "hammer_curl")):
        with pytest.raises(StoreError) as refused:
            use(Store(path, wait_s=0.3))
        assert str(path) in str(refused.value)
        assert "extension" not in str(refused.value).lower()
    assert before == (path.read_bytes() if path.is_file() else None)


@pytest.mark.parametrize(
    "name",
    ["x.sqlite", "http:y", "s3:z", "sqlite:x", "postgres:x", "x.parquet", "ä'; --"],
)
def test_a_store_may_be_called_anything_and_loads_nothing(tmp_path, monkeypatch, name):
    monkeypatch.chdir(tmp_path)
    store = Store(name)
    teach_name(store, "curl", "hammer_curl")
    with store.read() as con:
        for order in ("INSTALL httpfs", "LOAD httpfs",
                      "SET autoload_known_extensions = true",
                      "SET enable_external_access = true",
                      "SELECT * FROM read_csv('https://localhost/x.csv')",
                      "ATTACH 'https://localhost/x.duckdb' AS x"):  # fmt: skip
            with pytest.raises(duckdb.Error):
                con.execute(order)
    assert (tmp_path / name).is_file()


@pytest.mark.parametrize("name", ["", " ", ".", "a\0b", "\udcff", "x" * 300])
def test_an_impossible_name_of_a_store_is_refused_in_a_sentence(name, tmp_path):
    with pytest.raises((InputError, StoreError)):
        sets(Store(name))
    with pytest.raises((InputError, StoreError)):
        backup(Store(tmp_path / "s.duckdb"), name)


def test_a_ring_of_links_is_refused_in_a_sentence(tmp_path):
    (tmp_path / "a").symlink_to("b")
    (tmp_path / "b").symlink_to("a")
    with pytest.raises((InputError, StoreError)):
        sets(Store(tmp_path / "a"))


def test_a_log_of_changes_without_its_store_is_neither_used_nor_lost(small, tmp_path):
    small.path.with_name("other.duckdb.wal").write_bytes(b"changes")
    other = Store(small.path.with_name("other.duckdb"))
    with pytest.raises(StoreError, match="holds changes of a store that is not there"):
        teach_name(other, "curl", "hammer_curl")
    assert not other.exists


def test_a_full_disk_makes_no_copy_and_says_so(small, tmp_path):
    done = lacertus("backup", tmp_path / "c.duckdb", store=small.path, most_bytes=9_000)
    assert done.returncode == 4
    assert "full; no copy was made" in done.stderr
    assert not list(tmp_path.glob("*c.duckdb*"))
    copy = backup(small, tmp_path / "c.duckdb")
    done = lacertus("restore", copy, store=small.path, most_bytes=9_000)
    assert done.returncode == 4
    assert "full; nothing was restored" in done.stderr
    assert len(sets(small)) == 12
    restore(small, copy)


def test_files_stored_before_the_disk_was_full_are_told_of(small, tmp_path):
    second = log(tmp_path / "second.csv", "R02", 3)
    third = log(tmp_path / "third.csv", "R03", 60_000)
    most = small.path.stat().st_size + 100_000
    done = lacertus(
        "intake", second, third, "--as", "csv", store=small.path, most_bytes=most
    )
    assert done.returncode == 4
    assert done.stdout.splitlines()[1:] == ["second.csv,2,3,3,0,0"]
    assert "`third.csv`: " in done.stderr
    assert "full; nothing was stored" in done.stderr
    assert set(sets(small).lifter) == {"R01", "R02"}
