"""A real file system that is full, or becomes read-only, in a mount namespace."""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
SCRIPT = """
import contextlib, io, json, os, subprocess, sys
from pathlib import Path
from analytics.errors import AnalyticsError
from analytics.intake import take_in
from analytics.store import Store, backup, check, forget, intakes, sets, undo
from analytics.strength import fitted

HEADER = "lifter,date,exercise,load_kg,reps,rir\\n"
disk, elsewhere = Path("/mnt"), Path(sys.argv[1])
told = {"runs": 0, "refused": 0, "lost": 0, "said": []}

def log(lifter, rows):
    path = elsewhere / f"{lifter}.csv"
    path.write_text(HEADER + "".join(
        f"{lifter},2025-01-{1 + row % 28:02d},barbell curl,{20 + row % 40},"
        f"{1 + row % 12},1\\n" for row in range(rows)))
    return path

store = Store(disk / "s.duckdb", wait_s=2)
take_in(store, log("R01", 300))

def fill(spare):
    with open(disk / "ballast", "wb", buffering=0) as out, contextlib.suppress(OSError):
        while True:
            out.write(bytes(4096))
    size = max((disk / "ballast").stat().st_size - spare, 0)
    os.truncate(disk / "ballast", size)

def attempt(spare, deed, rows_if_done):
    fill(spare)
    before, done = len(sets(store)), True
    try:
        deed()
    except AnalyticsError as error:
        done = False
        told["said"].append([error.exit_code, str(error)])
    (disk / "ballast").unlink()
    check(store)
    told["runs"] += 1
    told["refused"] += not done
    expected = before + rows_if_done if done else before
    told["lost"] += len(sets(store)) != expected

spares = [4096 * n for n in json.loads(sys.argv[2])]
for number, spare in enumerate(spares):
    path = log(f"W{number}", 4000)
    attempt(spare, lambda: take_in(store, path), 4000)
    if f"W{number}" in set(sets(store).lifter):
        undo(store, int(intakes(store)["intake_id"].max()))
for spare in spares:
    attempt(spare, lambda: backup(store, disk / f"copy{spare}.duckdb"), 0)
    (disk / f"copy{spare}.duckdb").unlink(missing_ok=True)
for number, spare in enumerate(spares):
    take_in(store, log(f"F{number}", 50))
    attempt(spare, lambda: forget(store, f"F{number}"), -50)
told["left"] = sorted(p.name for p in disk.iterdir())

fill(0)  # reading needs no space
assert len(fitted(store).trend)
(disk / "ballast").unlink()
subprocess.run(["mount", "-o", "remount,ro", "/mnt"], check=True)
assert len(fitted(store).trend)
try:
    take_in(store, log("R99", 3))
except AnalyticsError as error:
    told["read_only"] = [error.exit_code, str(error)]
print(json.dumps(told))
"""
MOUNTED = 'mount -t tmpfs -o size=24m none /mnt && exec "$@"'


def run(folder: Path, spares: list[int]) -> dict:
    """Run the script with a small disk of its own at /mnt."""
    assert shutil.which("unshare"), "needs unshare of util-linux"
    namespace = ["unshare", "--map-root-user", "--mount", "sh", "-c", MOUNTED, "sh"]
    done = subprocess.run(
        [*namespace, sys.executable, "-c", SCRIPT, str(folder), json.dumps(spares)],
        text=True, capture_output=True, check=False, cwd=ROOT,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


def judge(told: dict) -> None:
    assert told["lost"] == 0
    assert told["left"] == ["s.duckdb", "s.duckdb.lock"]
    assert told["refused"] == len(told["said"])
    for code, said in told["said"]:
        assert code == 4
        assert "is full; " in said or "disk is full" in said, said
    assert told["read_only"][0] == 4
    assert "nothing was stored" in told["read_only"][1]


def test_a_full_and_a_read_only_disk_lose_nothing_and_say_so(tmp_path):
    told = run(tmp_path, [0, 40, 400])
    judge(told)
    assert told["refused"] >= 3


@pytest.mark.slow
def test_ninety_writes_to_a_disk_with_hardly_any_space_lose_nothing(tmp_path):
    told = run(tmp_path, [n * n for n in range(30)])
    print({name: told[name] for name in ("runs", "refused", "lost")})
    judge(told)
