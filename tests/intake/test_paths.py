"""A path names one file: no sign in it is a pattern, an option or a wish."""

from __future__ import annotations

import json
import shutil

import openpyxl
import pandas as pd
import pytest

from analytics.cli.rep_log import store_trace
from analytics.errors import InputError
from analytics.intake import read_column_map, take_in
from analytics.store import Store, backup, reps, restore, sets

HEAD = ["lifter", "date", "exercise", "load_kg", "reps"]


def row(lifter):
    return [lifter, "2025-01-06", "barbell curl", "20", "8"]


def even(path, lifter):
    path.write_text("\n".join(map(",".join, [HEAD, row(lifter)])) + "\n")


def uneven(path, lifter):
    path.write_text("\n".join(map(",".join, [HEAD, [*row(lifter)[:4], "8 "], []])))


def semicolons(path, lifter):
    path.write_text("\n".join(map(";".join, [HEAD, row(lifter)])))


def as_json(path, lifter):
    path.write_text(json.dumps([dict(zip(HEAD, row(lifter), strict=True))]))


def parquet(path, lifter):
    table = pd.DataFrame([row(lifter)], columns=HEAD)
    with path.open("wb") as file:
        table.to_parquet(file)


def workbook(path, lifter):
    book = openpyxl.Workbook()
    book.active.append(HEAD)
    book.active.append(row(lifter))
    with path.open("wb") as file:
        book.save(file)


WRITERS = {
    even: "csv", uneven: "csv", semicolons: "csv", as_json: "json",
    parquet: "parquet", workbook: "xlsx",
}  # fmt: skip
# A name, and the neighbours that it would mean as a pattern.
NAMES = {
    "log[1]": ["log1"], "a*b": ["ab", "axxb"], "w?x": ["wyx"], "[!a]": ["b"],
    "[a-c]": ["b"], "{p,q}": ["p", "q"], "**": ["z"], "a\\*b": ["a*b"],
    "~": [], "file:y": ["y"],
}  # fmt: skip


@pytest.mark.parametrize("write", WRITERS, ids=lambda write: write.__name__)
@pytest.mark.parametrize("name", NAMES)
def test_a_file_is_read_and_never_its_neighbours(
    store, tmp_path, monkeypatch, write, name
):
    ending = WRITERS[write]
    for other in NAMES[name]:
        write(tmp_path / f"{other}.{ending}", "NEIGHBOUR")
    path = tmp_path / f"{name}.{ending}"
    write(path, "OWN")
    monkeypatch.chdir(tmp_path)
    result = take_in(store, path.name, trial=True)
    assert (result.file, result.sets_added) == (path.name, 1)
    assert list(result.preview["lifter"]) == ["OWN"]


@pytest.mark.parametrize("folder", ["f0=R99", "l[1]", "a*b", "lifter=R99"])
@pytest.mark.parametrize("write", WRITERS, ids=lambda write: write.__name__)
def test_the_name_of_a_folder_is_no_pattern_and_no_column(
    store, tmp_path, folder, write
):
    for name, lifter in ((folder, "OWN"), ("l1", "OTHER"), ("ab", "OTHER")):
        (tmp_path / name).mkdir()
        write(tmp_path / name / "log", lifter)
    result = take_in(store, tmp_path / folder / "log", trial=True)
    assert list(result.preview["lifter"]) == ["OWN"]


@pytest.mark.parametrize("ending", ["gz", "zst", "csv.gz"])
def test_an_ending_does_not_decide_how_bytes_are_read(store, tmp_path, ending):
    even(tmp_path / f"log.{ending}", "OWN")
    assert take_in(store, tmp_path / f"log.{ending}").sets_added == 1


@pytest.mark.parametrize("place", ["a?b.duckdb", "f?/a.duckdb"])
def test_a_store_where_its_log_of_changes_would_lie_elsewhere_is_refused(
    tmp_path, place
):
    (tmp_path / "f?").mkdir()
    with pytest.raises(InputError, match=r"`\?` may not be in its path"):
        Store(tmp_path / place)
    (tmp_path / "link.duckdb").symlink_to(tmp_path / place)
    with pytest.raises(InputError, match=r"`\?` may not be in its path"):
        Store(tmp_path / "link.duckdb")


@pytest.mark.parametrize("name", ["#a.duckdb", "a%41.duckdb", "a{b,c}.duckdb", "a;b"])
def test_a_store_of_another_odd_name_has_its_log_beside_it(tmp_path, name):
    store = Store(tmp_path / name)
    uneven(tmp_path / "log.csv", "OWN")
    assert take_in(store, tmp_path / "log.csv").sets_added == 1
    backup(store, tmp_path / "copy")
    assert len(sets(Store(tmp_path / "copy"))) == 1
    assert {path.name for path in tmp_path.iterdir()} == {
        "log.csv", "copy", name, f"{name}.lock", "copy.lock"
    }  # fmt: skip


def test_a_temporary_folder_may_have_any_name(store, tmp_path, monkeypatch):
    folder = tmp_path / "t[1]*"
    folder.mkdir()
    monkeypatch.setattr("tempfile.tempdir", str(folder))
    uneven(tmp_path / "log.csv", "OWN")
    assert take_in(store, tmp_path / "log.csv").sets_added == 1


def test_a_column_map_a_trace_and_a_backup_are_the_ones_named(
    store, tmp_path, sample_copy
):
    (tmp_path / "map[1].toml").write_text('[settings]\nlifter = "OWN"\n')
    (tmp_path / "map1.toml").write_text('[settings]\nlifter = "OTHER"\n')
    assert read_column_map(tmp_path / "map[1].toml").settings == {"lifter": "OWN"}

    for name, lifter in (("t[1]", "OWN"), ("t1", "OTHER")):
        angles = [*range(100), *range(100, 0, -1)] * 3
        trace = pd.DataFrame({
            "lifter": lifter, "performed_on": "2026-02-09", "exercise": "barbell curl",
            "set": 1, "time_s": [n * 0.02 for n in range(len(angles))],
            "elbow_deg": [float(angle) for angle in angles],
        })  # fmt: skip
        trace.to_csv(tmp_path / f"{name}.csv", index=False)
        with (tmp_path / f"{name}.parquet").open("wb") as file:
            trace.to_parquet(file)
    for ending in ("csv", "parquet"):
        fresh = Store(tmp_path / f"{ending}.duckdb")
        store_trace(fresh, tmp_path / f"t[1].{ending}")
        assert set(reps(fresh)["lifter"]) == {"OWN"}

    even(tmp_path / "log.csv", "OWN")
    take_in(store, tmp_path / "log.csv")
    backup(store, tmp_path / "b[1].duckdb")
    shutil.copy(sample_copy.path, tmp_path / "b1.duckdb")
    restore(store, tmp_path / "b[1].duckdb")
    assert list(sets(store)["lifter"]) == ["OWN"]
