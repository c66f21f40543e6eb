"""What goes wrong in a long run changes nothing, or is said."""

import json
import random
import signal
from pathlib import Path

import psutil
import pytest
from distributed import Client

from analytics.cohort import REFUSED, run_cohort
from analytics.cohort.place import Place
from analytics.errors import FileRefusedError, InputError

pytestmark = pytest.mark.long


def content(out):
    files = sorted(p for p in Path(out).rglob("*") if p.is_file())
    return {str(p.relative_to(out)): p.read_bytes() for p in files}


def workers(scheduler):
    with Client(scheduler, set_as_default=False) as client:
        return [info["id"] for info in client.run(_process).values()]


def _process():
    import os

    return {"id": os.getpid()}


def killed_at(scheduler, tasks, killed):
    """A progress that kills a worker after so many tasks, and keeps its number."""
    done = 0

    def report(step, of_step, total):
        nonlocal done
        done += 1
        if done == tasks:
            killed.append(workers(scheduler)[0])
            psutil.Process(killed[0]).send_signal(signal.SIGKILL)

    return report


@pytest.mark.parametrize(
    "seed", [1, *(pytest.param(n, marks=pytest.mark.slow) for n in range(2, 11))]
)
def test_a_killed_worker_changes_no_byte(seed, done, logs, scheduler, tmp_path):
    at = random.Random(seed).randint(4, 24)
    again, killed = tmp_path / "out", []
    run_cohort(
        logs, str(again), scheduler=scheduler, parts=3,
        on_progress=killed_at(scheduler, at, killed),
    )  # fmt: skip
    assert killed
    assert killed[0] not in workers(scheduler)
    assert content(again) == content(done.out)


class BrokenOffError(Exception):
    pass


def broken_at(step):
    def report(now, of_step, total):
        if now == step:
            raise BrokenOffError

    return report


def test_a_run_broken_off_goes_on_at_what_is_finished(done, logs, scheduler, tmp_path):
    out = str(tmp_path / "out")
    with pytest.raises(BrokenOffError):
        run_cohort(
            logs, out, scheduler=scheduler, parts=3, on_progress=broken_at("weigh")
        )
    sets = sorted((tmp_path / "out" / "sets").iterdir())
    made = [p.stat().st_mtime_ns for p in sets]
    assert len(made) == 3
    run_cohort(logs, out, scheduler=scheduler, parts=3)
    assert [p.stat().st_mtime_ns for p in sets] == made
    assert content(out) == content(done.out)


def test_a_finished_folder_is_not_made_again(done, logs, scheduler):
    before = {p: p.stat().st_mtime_ns for p in done.out.rglob("*.zip")}
    accounts = run_cohort(logs, str(done.out), scheduler=scheduler, parts=3)
    assert accounts["taken"].tolist() == done.accounts["taken"].tolist()
    assert {p: p.stat().st_mtime_ns for p in before} == before


def test_two_runs_into_one_folder_are_refused(logs, scheduler, tmp_path):
    out = str(tmp_path / "out")
    with Place(out).held(), pytest.raises(FileRefusedError, match="another run"):
        run_cohort(logs, out, scheduler=scheduler)


@pytest.mark.parametrize(
    ("topic", "name"),
    [("versions", "code"), ("versions", "duckdb"), ("parameters", "parts")],
)
def test_other_versions_and_parameters_do_not_go_on(
    topic, name, logs, scheduler, tmp_path
):
    out = tmp_path / "out"
    with pytest.raises(BrokenOffError):
        run_cohort(
            logs[2:3], str(out), scheduler=scheduler, on_progress=broken_at("read")
        )
    meta = json.loads((out / "_meta.json").read_text())
    meta[topic][name] = "other"
    (out / "_meta.json").write_text(json.dumps(meta))
    with pytest.raises(InputError, match=f"other {topic}: `{name}` was other and is "):
        run_cohort(logs[2:3], str(out), scheduler=scheduler)


def test_a_changed_source_does_not_go_on(scheduler, logs, tmp_path):
    log = tmp_path / "log.csv"
    log.write_bytes(Path(logs[2]).read_bytes())
    out = str(tmp_path / "out")
    with pytest.raises(BrokenOffError):
        run_cohort([str(log)], out, scheduler=scheduler, on_progress=broken_at("read"))
    log.write_text(log.read_text().replace("22,", "23,"))
    with pytest.raises(InputError, match=r"other sources: `.*log\.csv` was"):
        run_cohort([str(log)], out, scheduler=scheduler)


def test_poisoned_files_end_in_the_accounts(logs, scheduler, tmp_path):
    folder = tmp_path / "logs"
    folder.mkdir()
    (folder / "a.csv").write_bytes(Path(logs[0]).read_bytes())
    (folder / "garbage.parquet").write_bytes(random.Random(3).randbytes(5000))
    (folder / "columns.csv").write_text("colour,taste\nred,sweet\n")
    (folder / "empty.csv").write_text("")
    (folder / "cut.xlsx").write_bytes(b"PK\x03\x04" + bytes(200))
    (folder / "rows.csv").write_text("lifter,date,lift,load_kg,reps\nA,soon,curl,1,1\n")
    (folder / "bodies.csv").write_text(
        "lifter,date,body_mass_kg\nL000001,2024-01-02,80\n"
    )
    missing = str(tmp_path / "missing.csv")
    out = tmp_path / "out"
    told = run_cohort([str(folder), missing], str(out), scheduler=scheduler, parts=2)
    by_name = told.set_index(told["file"].map(lambda p: Path(p).name))
    assert by_name.loc["rows.csv", ["rows", "taken", "rejected"]].tolist() == [1, 0, 1]
    assert "soon" in by_name.loc["rows.csv", "reason"]
    assert by_name.loc["bodies.csv", "reason"] == ""
    bad = by_name.drop(index=["a.csv", "rows.csv", "bodies.csv"])
    assert len(bad) == 5
    assert bad["reason"].str.startswith(REFUSED).all()
    assert (bad["reason"].str.len() > len(REFUSED) + 10).all()
    assert by_name.loc["a.csv", "taken"] == by_name.loc["a.csv", "rows"] == 720


def test_nothing_but_poison_is_said_too(scheduler, tmp_path):
    (tmp_path / "a.csv").write_text("colour,taste\nred,sweet\n")
    told = run_cohort(
        [str(tmp_path / "a.csv")], str(tmp_path / "out"), scheduler=scheduler
    )
    assert told["taken"].tolist() == [0]
    assert told["reason"].str.startswith(REFUSED).all()


def test_a_folder_of_other_files_is_refused(logs, scheduler, tmp_path):
    (tmp_path / "thesis.txt").write_text("mine")
    with pytest.raises(InputError, match=r"thesis\.txt"):
        run_cohort(logs, str(tmp_path), scheduler=scheduler)
    assert (tmp_path / "thesis.txt").read_text() == "mine"
