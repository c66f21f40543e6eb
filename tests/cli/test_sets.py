"""Sets on the command line: listed, taken away and brought back, corrected, undone."""

import csv
import io
import json

import openpyxl
import pytest
from click.testing import CliRunner

from analytics.cli.main import main
from analytics.store import Store, sets, sets_and_pains

LOG = (
    "lifter,date,exercise,load,unit,reps,rir,pain,note\n"
    "Ana,2025-02-03,barbell curl,50,lb,8,2,,=1+1\n"
    "Ana,2025-02-05,barbell curl,22.5,kg,8,1,2,\n"
    "Ana,2025-02-07,qqqqq,40,kg,5,,,\n"
    "ben,2025-02-05,chin up,BW+10,kg,5,0,,\n"
    "ben,2025-02-06,hammer curl,16,kg,5,0,,\n"
)


@pytest.fixture
def store(tmp_path):
    path = tmp_path / "s.duckdb"
    (tmp_path / "log.csv").write_text(LOG, encoding="utf-8")
    assert run("intake", tmp_path / "log.csv", store=path).exit_code == 0
    return path


def run(*arguments, store):
    return CliRunner().invoke(main, [*map(str, arguments), "--store", str(store)])


def listed(store, *arguments):
    done = run("sets", *arguments, "--as", "json", store=store)
    assert done.exit_code == 0, done.stderr
    return json.loads(done.stdout)


def test_all_that_was_logged_comes_out_also_of_names_that_wait(store):
    rows = listed(store)
    assert [row["exercise"] for row in rows] == [
        *("barbell curl", "barbell curl", "chin up", "hammer curl", "qqqqq"),
    ]
    assert rows[0]["load"] == pytest.approx(22.6796185)  # 50 lb, exact
    assert (rows[0]["load_unit"], rows[0]["reps"], rows[0]["rir"]) == ("kg", 8, 2)
    assert rows[2]["load"] == "BW+10"
    assert (rows[1]["pain"], rows[0]["pain"]) == (2, None)


def test_dumbbells_counted_together_are_counted_so_in_another_store(tmp_path):
    # 40 kg in two hands are 20 in each, in the log and in the copy of it
    log, copy = tmp_path / "log.csv", tmp_path / "copy.csv"
    log.write_text(
        "lifter,date,exercise,load,unit,reps,hold_s,angle_deg\n"
        "Ana,2025-02-03,dumbbell curl,40 total,kg,,5,90\n"
        "Ana,2025-02-03,dumbbell curl,20 per hand,kg,,5,90\n",
        encoding="utf-8",
    )
    stores = [tmp_path / "one.duckdb", tmp_path / "two.duckdb"]
    for store, file in zip(stores, (log, copy), strict=True):
        assert run("intake", file, store=store).exit_code == 0
        told = run("sets", "--as", "csv", store=store).stdout
        copy.write_text(told, encoding="utf-8")
        found = sets(Store(store))
        assert sorted(found["load_kg"] / found["arms_share"]) == [20.0, 20.0]


def test_a_table_says_of_no_load_that_it_counts_per_hand(tmp_path):
    # Every set of such a layout is kept so; of a bar or a cable it would be untrue.
    log = tmp_path / "log.csv"
    log.write_text(
        "lifter,date,exercise,load,unit,reps\n"
        "Ana,2025-02-03,barbell curl,40 per hand,kg,5\n"
        "Ana,2025-02-03,hammer curl,16 per hand,kg,5\n"
        "Ana,2025-02-03,hammer curl,32 total,kg,5\n",
        encoding="utf-8",
    )
    assert run("intake", log, store=tmp_path / "s.duckdb").exit_code == 0
    told = run("sets", store=tmp_path / "s.duckdb").stdout
    assert "per hand" not in told
    assert "per_hand" not in told
    assert "32 total" in told


@pytest.mark.parametrize(
    ("arguments", "days"),
    [
        (["--lifter", "ANA"], ["03", "05", "07"]),
        (["--lifter", "BEN", "--variant", "Hammer curl"], ["06"]),
        (["--from", "2025-02-05", "--to", "2025-02-06"], ["05", "05", "06"]),
        (["--to", "2025-02-02"], []),
    ],
)
def test_sets_are_chosen_by_lifter_in_any_case_by_title_and_by_day(
    store, arguments, days
):
    assert [row["performed_on"][-2:] for row in listed(store, *arguments)] == days


def test_what_was_taken_away_can_be_brought_into_another_store(store, tmp_path):
    taken = tmp_path / "mine.csv"
    taken.write_text(run("sets", "--as", "csv", store=store).stdout, encoding="utf-8")
    assert ",'=1+1," in taken.read_text("utf-8")  # no formula in a spreadsheet
    other = tmp_path / "other.duckdb"
    done = run("intake", taken, "--unit", "kg", "--as", "json", store=other)
    assert json.loads(done.stdout)[0]["sets_added"] == 5
    plain = [
        [{k: v for k, v in row.items() if k not in ("set_id", "note")} for row in rows]
        for rows in (listed(store), listed(other))
    ]
    assert plain[0] == plain[1]


def test_a_correction_is_kept_in_the_history_and_undone_once(store):
    before = listed(store)
    which = before[1]["set_id"]
    call = ("correct", which.upper(), "load=45 lb", "exercise=Hammer curl", "pain=")
    done = run(*call, "--as", "csv", store=store)
    assert done.exit_code == 0, done.stderr
    told = list(csv.DictReader(io.StringIO(done.stdout)))
    assert [(row["column"], row["before"], row["after"]) for row in told] == [
        ("exercise", "barbell curl", "hammer curl"),
        ("load_kg", "22.5", str(45 * 0.45359237)),  # the pound, exact
        ("pain", "2.0", ""),
    ]
    assert run("correct", which, "reps=9", store=store).exit_code == 0
    changed = next(row for row in listed(store) if row["set_id"] == which)
    assert (changed["exercise"], changed["reps"]) == ("hammer curl", 9)  # as first met
    assert changed["pain"] is None
    for _ in range(2):
        assert run("correct", which, "--undo", store=store).exit_code == 0
    assert listed(store) == before
    again = run("correct", which, "--undo", store=store)
    assert again.exit_code == 2
    assert "nothing to undo" in again.stderr


@pytest.mark.parametrize(
    ("fields", "told"),
    [
        (["load"], "is no FIELD=VALUE"),
        (["mood=good"], "is no field of a set"),
        (["rpe=8"], "cannot be corrected"),
        (["intake_id=3"], "is no field of a set"),
        (["load=acht"], "not a number"),
        (["load=BW+5"], "how a load counts"),
        (["load=5000"], "0 to 1000 kg"),
        (["reps=0"], "above 0"),
        (["performed_on=31.01.2025"], "2025-01-31"),
        (["performed_on=2190-01-01"], "to today"),
        (["failed=perhaps"], "neither yes nor no"),
        (["failed=yes"], "contradicts"),
        (["side=up"], "left, right or both"),
        (["exercise=?"], "without letters"),
        (["lifter="], "must be text"),
        (["reps="], "needs `reps` or `hold_s`"),
        (["reps=8", "reps=9"], "given twice"),
        (["reps=8", "--undo"], "give either"),
        ([], "give either"),
    ],
    ids=lambda value: " ".join(value) if isinstance(value, list) else "",
)
def test_a_correction_that_cannot_be_is_refused_in_one_line(store, fields, told):
    before = listed(store)
    done = run("correct", before[1]["set_id"], *fields, store=store)
    assert isinstance(done.exception, SystemExit)
    assert done.exit_code == 2
    assert told in done.stderr
    assert len(done.stderr.splitlines()) == 1
    assert listed(store) == before


def test_two_codes_that_differ_in_case_alone_are_told_apart(store, tmp_path):
    more = tmp_path / "more.csv"
    more.write_text(LOG.replace("ben", "ana"), encoding="utf-8")
    assert run("intake", more, store=store).exit_code == 0
    done = run("sets", "--lifter", "ANA", store=store)
    assert done.exit_code == 2
    assert "may be Ana or ana" in done.stderr
    assert len(listed(store, "--lifter", "ana")) == 2
    assert run("forget", "BEN", store=store).exit_code == 0
    assert {row["lifter"] for row in listed(store)} == {"Ana", "ana"}


def test_only_the_sheet_that_is_asked_for_is_read(tmp_path):
    book = openpyxl.Workbook()
    for sheet, load in ((book.active, 20), (book.create_sheet("Week 2"), 30)):
        sheet.append(["lifter", "date", "exercise", "load_kg", "reps"])
        sheet.append(["A", "2025-02-03", "barbell curl", load, 8])
    path, store = tmp_path / "plan.xlsx", tmp_path / "s.duckdb"
    book.save(path)
    refused = run("intake", path, "--sheet", "Week 9", store=store)
    assert refused.exit_code == 3
    assert "no sheet `Week 9`; it has Sheet, Week 2" in refused.stderr
    assert run("intake", path, "--sheet", "Week 2", store=store).exit_code == 0
    assert [row["load"] for row in listed(store)] == [30]
    plain = tmp_path / "log.csv"
    plain.write_text(LOG, encoding="utf-8")
    refused = run("intake", plain, "--sheet", "Week 2", store=store)
    assert refused.exit_code == 3
    assert "has no sheets" in refused.stderr


@pytest.mark.parametrize("text", ["Standing barbell curl", "LH-Curl stehend", "sbc"])
def test_a_name_of_ones_own_a_title_and_a_trade_name_are_a_variant(store, text):
    assert run("name", "sbc", "standing barbell curl", store=store).exit_code == 0
    done = run("sets", "--variant", text, "--as", "csv", store=store)
    assert len(done.stdout.splitlines()) == 3
    assert f"'{text}' is standing_barbell_curl" in done.stderr
    for call in (["curve", text], ["sticking", text], ["ratios", "--reference", text]):
        assert run(*call, store=store).exit_code == 0, call


def test_no_path_is_a_pattern_on_windows_either(monkeypatch):
    given = {}
    monkeypatch.setattr(
        "click.Group.main", lambda self, **options: given.update(options)
    )
    main(args=["intake", "log[1].csv"])
    assert given["windows_expand_args"] is False


def test_pain_of_a_lifter_is_over_up_to_the_day_of_a_set(store):
    rows = {row["performed_on"][:10]: row["set_id"] for row in listed(store)}
    assert sets_and_pains(Store(store))["pain"].max() == 2
    done = run("correct", rows["2025-02-03"], "pain=over", store=store)
    assert (done.exit_code, sets_and_pains(Store(store))["pain"].max()) == (0, 2)
    done = run("correct", rows["2025-02-05"], "pain=over", store=store)
    assert "is over" in done.stderr
    assert run("correct", "ffff", "pain=over", store=store).exit_code == 2


def test_notes_that_speak_of_pain_are_flagged_beside_the_client(tmp_path):
    path = tmp_path / "s.duckdb"
    rows = "".join(
        f"Ana,2025-02-{day:02d},barbell curl,20,kg,8,1,,{note}\n"
        for day, note in enumerate(["fine", "elbow hurts", "Ellenbogen schmerzt"], 3)
    )
    (tmp_path / "log.csv").write_text(LOG.splitlines()[0] + "\n" + rows, "utf-8")
    assert run("intake", tmp_path / "log.csv", store=path).exit_code == 0
    done = run("clients", "--as", "json", store=path)
    (row,) = json.loads(done.stdout)
    assert row["flags"].split("; ")[-1] == "notes that speak of pain: 2, elbow"
    done = run("next", "Ana", "standing_barbell_curl", "--reps", 8, store=path)
    assert "speaks of pain (elbow): `Ellenbogen schmerzt`" in done.stderr
