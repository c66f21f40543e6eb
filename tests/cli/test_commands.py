"""The command contract: columns, exit codes, streams."""

import csv
import io
import json
import os
import re

import pandas as pd
import pytest
from click.testing import CliRunner

from analytics.cli.main import main

SECRET = "9b1e66a07c35f2d84e1b0997ac52d3f6"
HEADER = "lifter,date,exercise,load_kg,reps\n"
COLUMNS = {
    ("rejected",): "intake_id,file,row,column,value,problem,accepted",
    ("variants",): "movement,variant,title,sets,lifters",
    ("unnamed",): "text,sets,lifters,nearest,likeness",
    ("strength", "--lifter", "R02"): (
        "lifter,variant,date,reps,strength_kg,low_kg,high_kg,sets,basis"
    ),
    ("ratios",): (
        "variant,reference,ratio,low,high,between_sd,lifters,sets,predicted,"
        "predicted_low,predicted_high,reps"
    ),
    ("curve", "preacher_curl_45"): "elbow_deg,demand_nm,capability_nm,utilisation",
    ("sticking", "preacher_curl_45"): (
        "variant,source,elbow_deg,low_deg,high_deg,limit_load_ratio,evenness,n,event"
    ),
    ("next", "R02", "hammer_curl", "--reps", "8"): (
        "variant,reps,rir,load_kg,low_kg,high_kg,basis,caution"
    ),
    ("session", "R02", "hammer_curl", "preacher_curl_45"): (
        "variant,reps,rir,load_kg,low_kg,high_kg,basis,caution"
    ),
    ("clients",): (
        "lifter,variant,strength_kg,low_kg,high_kg,change_4w,change_8w,"
        "chance_no_gain,flags"
    ),
    ("sets", "--lifter", "R02"): (
        "set_id,lifter,performed_on,exercise,equipment,load,load_unit,reps,rir,failed,"
        "failed_at_deg,range_from_deg,range_to_deg,stance,rotation,side,hold_s,"
        "angle_deg,tempo,pain,body_mass,lean,cheat,note,load_counts"
    ),
    ("balance", "--load", "30", "--mass", "75", "--stature", "1.75"): (
        "stance,centre_of_mass_m,base_front_m,margin_m,lean_deg,largest_load_kg"
    ),
    ("setups", "low_cable_curl"): (
        "setting,value,evenness,sticking_deg,limit_load_ratio"
    ),
}


@pytest.fixture(scope="module")
def sample(sample_store):
    return str(sample_store)


def run(*arguments: str, store: str):
    return CliRunner().invoke(main, [*arguments, "--store", store])


@pytest.mark.parametrize("arguments", list(COLUMNS), ids=lambda a: a[0])
def test_columns_are_those_of_the_contract(arguments, sample):
    done = run(*arguments, "--as", "csv", store=sample)
    assert done.exit_code == 0, done.stderr
    rows = list(csv.reader(io.StringIO(done.stdout)))
    assert ",".join(rows[0]) == COLUMNS[arguments]
    assert len(rows) > 1


def test_ratios_show_every_movement_or_the_one_of_the_reference(sample):
    def references(*arguments):
        done = run("ratios", *arguments, "--as", "json", store=sample)
        return {row["reference"] for row in json.loads(done.stdout)}

    assert references() == {
        *("standing_barbell_curl", "barbell_row"),
        *("lying_leg_curl", "standing_calf_raise"),
    }
    assert references("--reference", "hammer_curl") == {"hammer_curl"}


def test_curve_test_prints_the_fields_of_the_contract(sample):
    fields = json.loads(run("fit", store=sample).stdout)
    assert fields["verdict"] in ("agrees", "disagrees", "not enough data yet")
    assert set(fields["weights"]) == {
        *("peaked", "flat", "inverted", "rising", "falling")
    }
    assert fields["cause"] in ("length", "leverage", "cannot be told")
    assert {"reasons", "p_value", "residuals", "left_out", "more_data"} <= set(fields)


def test_curve_test_of_an_empty_store_says_what_to_log(tmp_path):
    done = run("fit", store=str(tmp_path / "empty.duckdb"))
    assert done.exit_code == 0, done.stderr
    fields = json.loads(done.stdout)
    assert fields["verdict"] == "not enough data yet"
    assert "Log the reference and three other" in fields["reasons"][0]


@pytest.mark.parametrize(
    ("content", "code", "told"),
    [
        ("", 3, "is empty"),
        ("lifter,date,exercise,reps\nA,2025-02-03,barbell curl,8\n", 3, "load"),
        (HEADER + "A,03/04/2025,barbell curl,30,8\n", 3, "--dates"),
        (HEADER.replace("_kg", "") + "A,2025-02-03,barbell curl,30,8\n", 3, "--unit"),
    ],
    ids=["empty", "no-load", "date-order", "no-unit"],
)
def test_a_refused_file_says_what_to_do_and_stores_nothing(
    content, code, told, tmp_path
):
    log, store = tmp_path / "log.csv", tmp_path / "s.duckdb"
    log.write_text(content, encoding="utf-8")
    done = run("intake", str(log), store=str(store))
    assert done.exit_code == code
    assert told in done.stderr
    assert done.stdout == ""
    assert run("variants", "--as", "csv", store=str(store)).exit_code == 0


def test_bad_cells_are_rejected_with_their_row_and_column(tmp_path):
    log, store = tmp_path / "log.csv", str(tmp_path / "s.duckdb")
    bad = ["2025-02-03,x,30,acht", "2025-02-03,x,30,-8", "2025-02-03,x,10000,8"]
    rows = [*bad, "2190-02-03,x,30,8", "2025-02-03,x,30,8"]
    log.write_text(HEADER + "".join(f"A,{row}\n" for row in rows), encoding="utf-8")
    done = run("intake", str(log), "--as", "csv", store=store)
    assert done.stdout.splitlines() == [
        "file,intake_id,rows_read,sets_added,already_known,rejected",
        "log.csv,1,5,1,0,4",
    ]
    rejected = run("rejected", "--as", "json", store=store)
    found = [(row["row"], row["column"]) for row in json.loads(rejected.stdout)]
    assert found == [(2, "reps"), (3, "reps"), (4, "load_kg"), (5, "date")]
    assert run("undo", "1", store=store).exit_code == 0
    assert json.loads(run("rejected", "--as", "json", store=store).stdout) == []


@pytest.mark.parametrize(
    "arguments",
    [
        ("curve", "nosuch"),
        ("curve", "preacher_curl_45", "--range", "120:30"),
        ("strength", "--lifter", "nobody"),
        ("ratios", "--reference", "nosuch"),
        ("next", "R02", "hammer_curl", "--reps", "0"),
        ("next", "R02", "hammer_curl", "--reps", "acht"),
        ("next", "R02", "hammer_curl", "--reps", "8", "--rir", "11"),
        ("next", "R02", "hammer_curl", "--reps", "8", "--step", "0"),
        ("next", "R02", "hammer_curl", "--reps", "8", "--step", "5st"),
        ("next", "R02", "nosuch", "--reps", "8"),
        ("session", "R02"),
        ("session", "R02", "nosuch"),
        ("session", "nobody", "hammer_curl"),
        ("session", "R02", "hammer_curl", "--reps", "acht"),
        ("session", "R02", "hammer_curl", "--rir", "-1"),
        ("clients", "--variant", "nosuch"),
        ("sets", "--lifter", "nobody"),
        ("sets", "--variant", "nosuch"),
        ("sets", "--from", "2026-02-01", "--to", "2026-01-01"),
        ("sets", "--from", "31.01.2026"),
        ("sets", "--to", "9999-12-31"),
        ("correct", "zz", "load=5"),
        ("correct", "ffff", "load=5"),
        ("correct", "ffff", "--undo"),
        ("correct", "ffff"),
        ("next", "R02"),
        ("tables", "out", "--smallest-cell", "4"),
        ("nosuch",),
    ],
    ids=" ".join,
)
def test_bad_use_is_one_line_that_lists_what_exists(arguments, sample):
    done = run(*arguments, store=sample)
    assert done.exit_code == 2
    assert len(done.stderr.strip().splitlines()) == 1


def test_a_file_that_is_no_store_is_named_and_exits_4(tmp_path):
    path = tmp_path / "s.duckdb"
    path.write_bytes(b"no database" * 1000)
    done = run("variants", store=str(path))
    assert done.exit_code == 4
    assert "s.duckdb" in done.stderr


def test_the_demo_does_not_replace_logs_of_ones_own(tmp_path):
    log, store = tmp_path / "mine.csv", str(tmp_path / "s.duckdb")
    log.write_text(HEADER + "A,2025-02-03,barbell curl,30,8\n", encoding="utf-8")
    assert run("intake", str(log), store=store).exit_code == 0
    done = run("demo", "--no-serve", store=store)
    assert done.exit_code == 4
    assert "mine.csv" in done.stderr


def test_tables_with_a_key_hold_personal_rows_and_neither_key_nor_codes(
    sample, tmp_path
):
    key, folder = tmp_path / "key", tmp_path / "tables"
    key.write_text(SECRET)
    key.chmod(0o600)
    call = ("tables", str(folder), "--smallest-cell", "5", "--key-file", str(key))
    done = run(*call, "--as", "csv", store=sample)
    assert done.exit_code == 0, done.stderr
    assert "subtract" in done.stderr
    assert (folder / "personal_strength.csv").is_file()
    assert not any(SECRET.encode() in path.read_bytes() for path in folder.iterdir())
    told = done.output + "".join(
        pd.read_parquet(path).to_csv()  # packed bytes may look like a code by chance
        if path.suffix == ".parquet"
        else path.read_text("utf-8")
        for path in folder.iterdir()
    )
    assert SECRET not in told
    assert not re.search(r"\bR(0\d|1[0-4])\b", told)


def test_pain_with_an_exercise_that_has_no_name_yet_refuses_a_load(tmp_path):
    log, store = tmp_path / "log.csv", str(tmp_path / "s.duckdb")
    log.write_text(
        "lifter,date,exercise,load_kg,reps,pain\n"
        "A,2025-02-03,barbell curl,30,8,\nA,2025-02-05,qqqqq,10,8,4\n"
    )
    assert run("intake", str(log), store=store).exit_code == 0
    call = ("next", "A", "standing_barbell_curl", "--reps", "5", "--as", "json")
    row = json.loads(run(*call, store=store).stdout)[0]
    assert row["load_kg"] is None
    assert "pain 4 was logged on 2025-02-05 with qqqqq" in row["caution"]


def test_a_step_in_pounds_gives_a_load_in_whole_steps_of_pounds(sample):
    call = ("next", "R02", "hammer_curl", "--reps", "8", "--step", "5lb")
    done = run(*call, store=sample)
    assert re.search(r"warm up: .*; then \d*[05] lb", done.stderr)


def test_mechanics_take_a_sex_a_measured_forearm_and_ask_where_a_pad_starts(tmp_path):
    store = str(tmp_path / "none.duckdb")
    curve = ["curve", "preacher_curl_45", "--load", "20"]
    plain = run(*curve, "--as", "csv", store=store)
    assert plain.stderr == ""
    for option in (["--sex", "female"], ["--forearm", "0.2"]):
        assert run(*curve, *option, "--as", "csv", store=store).stdout != plain.stdout
    assert "give the lifter's own with --range" in run(*curve, store=store).stderr
    kept = run("setups", "preacher_curl_45", "--range", "30:115", store=store).stdout
    assert "range_from_deg" not in kept


def test_forget_prints_what_it_removed_and_names_copies(tmp_path):
    log, store = tmp_path / "log.csv", str(tmp_path / "s.duckdb")
    rows = [
        f"{code},2025-02-0{day},barbell curl,30,8" for code in "AB" for day in "345"
    ]
    log.write_text(HEADER + "\n".join(rows), encoding="utf-8")
    assert run("intake", str(log), store=store).exit_code == 0
    assert run("backup", str(tmp_path / "old.duckdb"), store=store).exit_code == 0
    done = run("forget", "A", "--as", "csv", store=store)
    assert done.exit_code == 0, done.stderr
    assert done.stdout.splitlines() == [
        "lifter,sets,traces,bodies,imports",
        "A,3,0,0,1",
    ]
    assert "still hold what was removed" in done.stderr
    assert "old.duckdb" in done.stderr
    again = run("forget", "A", store=store)
    assert again.exit_code == 2
    assert "no lifter `A`; nearest are B" in again.stderr
    done = run("undo", "1", store=store)
    assert "intake 1 undone: 3 rows removed" in done.stderr
    assert "old.duckdb" in done.stderr


def test_a_report_is_of_one_lifter_or_of_all(sample, tmp_path):
    for call in (["report"], ["report", "R02"], ["report", "R02", "--all", "a.zip"]):
        done = run(*call, store=sample)
        assert done.exit_code == 2
        assert "give LIFTER and FILE, or --all FILE.zip alone" in done.stderr
    done = run("report", "--all", str(tmp_path / "a.pdf"), store=sample)
    assert done.exit_code == 2
    assert "must end in .zip" in done.stderr


def test_what_a_command_writes_is_its_owners_alone(sample, tmp_path):
    before = os.umask(0o022)
    try:
        for call in (
            ["report", "R02", tmp_path / "r.html", "--coach", "Kim", "--unit", "lb"],
            ["tables", tmp_path / "t"],
        ):
            done = run(*map(str, call), store=sample)
            assert done.exit_code == 0, done.stderr
    finally:
        os.umask(before)
    made = [tmp_path / "r.html", *(tmp_path / "t").iterdir()]
    assert {path.stat().st_mode & 0o777 for path in made} == {0o600}
    page = made[0].read_text("utf-8").replace("\N{NO-BREAK SPACE}", " ")
    assert " lb" in page
    assert " kg" not in page
    assert (tmp_path / "t").stat().st_mode & 0o777 == 0o700


@pytest.mark.parametrize(
    ("call", "word"),
    [
        (["strength", "--on", "0001-01-01"], "is not from 1950"),
        (["strength", "--on", "9999-12-31"], "is not from 1950"),
        (["variants", "--store", ""], "empty"),
        (["variants", "--store", "\udcff"], "no store can be called"),
        (["name", "\udcff", "hammer_curl"], "UTF-8"),
        (["backup", "x" * 300], "too long"),
        (["backup", "a/b/c"], "no folder"),
        (["restore", "log.csv"], "log.csv` is no DuckDB file"),
        (["forget", "\udcff"], "no lifter"),
        *(
            (["intake", "log.csv", "--columns", f"{name}.toml"], f"encoding `{name}`")
            for name in ("rot13", "base64", "utf-16", "idna", "undefined", "nosuch")
        ),
    ],
)  # fmt: skip
def test_odd_names_dates_and_encodings_are_refused_in_one_sentence(
    tmp_path, monkeypatch, call, word
):
    monkeypatch.chdir(tmp_path)
    log = tmp_path / "log.csv"
    log.write_text(HEADER + "A,2025-02-03,barbell curl,30,8\n", encoding="utf-8")
    if call[-1].endswith(".toml"):
        text = f'[read]\nencoding = "{call[-1].removesuffix(".toml")}"\n'
        (tmp_path / call[-1]).write_text(text, encoding="utf-8")
    assert run("intake", "log.csv", store="s.duckdb").exit_code == 0
    done = CliRunner().invoke(main, call, env={"LACERTUS_STORE": "s.duckdb"})
    assert isinstance(done.exception, SystemExit)
    assert done.exit_code in (2, 3, 4)
    assert word in done.stderr
    assert len(done.stderr.splitlines()) == 1


def test_strength_for_more_repetitions_is_less_load(sample):
    loads = {}
    for reps in ("1", "8"):
        done = run(
            "strength", "--lifter", "R02", "--reps", reps, "--as", "json", store=sample
        )
        rows = json.loads(done.stdout)
        assert {row["reps"] for row in rows} == {int(reps)}
        loads[reps] = [row["strength_kg"] for row in rows]
    assert all(a > b for a, b in zip(loads["1"], loads["8"], strict=True))
    assert run("strength", "--reps", "31", store=sample).exit_code == 2


def test_what_rests_on_assumed_reserve_is_said_on_stderr_and_in_a_column(tmp_path):
    log, store = tmp_path / "log.csv", str(tmp_path / "s.duckdb")
    days = [f"A,2025-02-{day:02d},barbell curl,30,8\n" for day in range(3, 21, 3)]
    log.write_text(HEADER + "".join(days), encoding="utf-8")
    run("intake", str(log), store=store)
    done = run("strength", "--as", "json", store=store)
    assert {row["basis"] for row in json.loads(done.stdout)} == {"assumed reserve"}
    assert "A, standing_barbell_curl: no set tells how hard it was" in done.stderr
    call = ("next", "A", "standing_barbell_curl", "--reps", "8")
    assert "no set tells how hard it was" in run(*call, store=store).stdout
    assert "no set tells" in run(*call, "--as", "csv", store=store).stderr
