"""The command, and what opens its result."""

import json
from pathlib import Path

import pandas as pd
import pytest
from click.testing import CliRunner
from page_runs import MAIN
from streamlit.testing.v1 import AppTest

from analytics.cli import cohort
from analytics.cli.main import main
from analytics.cohort import run_cohort

pytestmark = pytest.mark.long


def run(*words):
    return CliRunner().invoke(main, [str(word) for word in words])


def test_a_map_is_used_and_a_poisoned_file_ends_with_code_3(scheduler, tmp_path):
    (tmp_path / "map.toml").write_text(
        '[columns]\nlifter = "Wer"\nperformed_on = "Wann"\nexercise = "Was"\n'
        'load = "Gewicht"\nreps = "Wdh"\n[settings]\nunit = "kg"\ndates = "dmy"\n'
        '[names]\n"LH" = "standing_barbell_curl"\n'
    )
    logs = tmp_path / "logs"
    logs.mkdir()
    header = "Wer;Wann;Was;Gewicht;Wdh\n"
    (logs / "a.csv").write_text(header + "A;03.02.2025;LH;40,5;8\n")
    (logs / "b.csv").write_text("x;y\n1;2\n")
    out = tmp_path / "out"
    done = run(
        "cohort", logs, "--out", out, "--scheduler", scheduler,
        "--columns", tmp_path / "map.toml", "--as", "json",
    )  # fmt: skip
    assert done.exit_code == 3, done.output
    good, bad = json.loads(done.stdout)
    assert (good["taken"], good["unnamed"], good["rejected"]) == (1, 0, 0)
    assert bad["taken"] == 0
    assert bad["reason"].startswith("file refused: ")
    said = done.stderr.splitlines()
    assert said[0] == "1/9 files 0/2"
    assert any(line.startswith("9/9 join 1/1") for line in said)
    assert "1 of 2 files could not be read" in said[-1]
    assert not any("\r" in line for line in said)  # nobody watches: plain lines


def test_who_withholds_the_log_is_in_no_result_and_counted(logs, scheduler, tmp_path):
    store = tmp_path / "s.duckdb"
    assert run("intake", logs[2], "--store", store).exit_code == 0
    assert run("withhold", "l000001", "--store", store).exit_code == 0
    out = tmp_path / "out"
    done = run(
        "cohort", logs[2], "--out", out, "--scheduler", scheduler, "--store", store,
        "--as", "json",
    )  # fmt: skip
    assert done.exit_code == 0, done.output
    (account,) = json.loads(done.stdout)
    counts = ("rows", "taken", "known", "rejected", "withheld")
    assert [account[name] for name in counts] == [9, 6, 0, 1, 2]
    parts = [pd.read_parquet(part) for part in (out / "sets").iterdir()]
    assert set(pd.concat(parts)["lifter"]) == {"L000002", "L000003"}
    assert b"L000001" not in b"".join(p.read_bytes() for p in out.glob("*.*"))
    told = run("cohort", logs[2], "--out", out, "--scheduler", scheduler)
    assert told.exit_code == 2
    assert "other parameters: `withheld`" in told.stderr


def test_no_source_is_a_pattern(logs, scheduler, tmp_path, monkeypatch):
    for name in ("log1.csv", "log[2].csv"):
        (tmp_path / name).write_bytes(Path(logs[2]).read_bytes())
    monkeypatch.chdir(tmp_path)
    done = run(
        "cohort", "log[1].csv", "log[2].csv", "--out", "out", "--scheduler", scheduler,
        "--as", "json",
    )  # fmt: skip
    assert done.exit_code == 3
    missing, there = json.loads(done.stdout)
    assert (missing["taken"], there["taken"]) == (0, 8)
    assert "log[1].csv" in missing["reason"]


def test_a_place_that_takes_nothing_is_said(logs):
    done = run("cohort", logs[2], "--out", "/proc/nowhere/out")
    assert done.exit_code == 4
    assert done.stderr.startswith("lacertus: cannot write to /proc/nowhere/out: ")


def test_tables_are_written_from_a_result(done, tmp_path):
    told = run("tables", tmp_path / "t", "--cohort", done.out, "--smallest-cell", 5)
    assert told.exit_code == 0, told.output
    assert (tmp_path / "t" / "datapackage.json").is_file()
    refused = run(
        "tables", tmp_path / "u", "--cohort", done.out, "--key-file", tmp_path / "k"
    )
    assert refused.exit_code == 2
    assert not (tmp_path / "u").exists()


def test_a_second_release_of_nearly_the_same_cohort_is_refused(
    logs, scheduler, tmp_path
):
    # Their own log apart, for a register of their own.
    lines = Path(logs[0]).read_text("utf-8").splitlines(keepends=True)
    fewer = [line for line in lines if not line.startswith("L000003")]
    for name, content in (("all", lines), ("fewer", fewer)):
        (tmp_path / f"{name}.csv").write_text("".join(content), "utf-8")
        out = tmp_path / f"out {name}"
        run_cohort([str(tmp_path / f"{name}.csv")], str(out), scheduler=scheduler)

    def release(of, *more):
        return run("tables", tmp_path / "t", "--cohort", tmp_path / f"out {of}", *more)

    assert release("all").exit_code == 0
    assert release("all").exit_code == 0  # the same once more tells nothing more
    refused = release("fewer")
    assert refused.exit_code == 3
    assert "had nearly the same cohort" in refused.stderr
    assert release("fewer", "--again").exit_code == 0


@pytest.mark.parametrize("command", ["tables", "serve"])
def test_a_folder_without_a_result_is_refused(command, tmp_path):
    where = [tmp_path / "t"] if command == "tables" else []
    told = run(command, *where, "--cohort", tmp_path)
    assert told.exit_code == 2
    assert "holds no finished cohort" in told.stderr


def test_no_scheduler_is_said(logs, tmp_path):
    told = run(
        "cohort", logs[0], "--out", tmp_path / "o", "--scheduler", "tcp://127.0.0.1:1"
    )
    assert told.exit_code == 2
    assert "no Dask scheduler answers at tcp://127.0.0.1:1" in told.stderr


def test_the_dashboard_shows_research_first_and_nothing_to_change(done, monkeypatch):
    monkeypatch.setenv("LACERTUS_COHORT", str(done.out))
    monkeypatch.setenv("LACERTUS_STORE", "/nowhere/none.duckdb")
    app = AppTest.from_file(MAIN, default_timeout=120).run()
    assert not app.exception
    assert not app.error
    assert app.title[0].value == "Research tables"
    assert "A cohort of 30 lifters" in app.markdown[0].value
    assert [button.label for button in app.button] == ["Make the data package"]
    app.switch_page("views/method_and_cautions/view.py").run()
    assert not app.exception


def test_who_watches_sees_how_far_which_step_and_how_long_still(monkeypatch, capsys):
    seconds = iter([0.0, 10.0, 30.0])
    monkeypatch.setattr("sys.stderr.isatty", lambda: True, raising=False)
    monkeypatch.setattr(cohort.time, "monotonic", lambda: next(seconds))
    show = cohort._progress(["read", "fit"])
    for done in range(3):
        show("fit", done, 2)
    shown = capsys.readouterr().err.split("\r")
    assert shown[1].startswith("[" + " " * 30 + "] 2/2 fit 0/2")
    assert shown[2].startswith("[" + "#" * 15 + " " * 15 + "] 2/2 fit 1/2, about 10 s")
    assert shown[3].startswith("[" + "#" * 30 + "] 2/2 fit 2/2")
    assert shown[3].endswith("\n")
