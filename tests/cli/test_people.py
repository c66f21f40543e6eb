"""What each role gets of each command, cell by cell of the table on the method page."""

from __future__ import annotations

import csv
import shutil
import zipfile
from importlib.resources import files
from pathlib import Path

import club
import pytest
from click.testing import CliRunner, Result

from analytics import store as stored
from analytics.cli.main import main
from analytics.store import Store

ROLES = ("lifter", "coach", "researcher", "owner")
with files("app").joinpath("data", "roles.csv").open(encoding="utf-8") as _file:
    TABLE = [row for row in csv.DictReader(_file) if row["kind"] == "command"]
REACH = {
    "own": {"AA1"}, "assigned": {"AA1", "BB2"}, "own imports": {"BB2"},
    "all": set(club.CODES), "nothing": set(),
}  # fmt: skip
READING = {
    "sets": (), "strength": (), "clients": (), "ratios": (), "fit": (),
    "unnamed": (), "variants": (), "sticking": ("hammer_curl",),
}  # fmt: skip
MODEL = {
    "curve": ("hammer_curl",), "setups": ("low_cable_curl",),
    "balance": ("--load", "20", "--mass", "70", "--stature", "1.7"),
}  # fmt: skip
NEXT = ("hammer_curl", "--reps", "8")


def cells(*commands: str) -> list[object]:
    return [
        pytest.param(row["what"], role, row[role], id=f"{row['what']}-{role}")
        for row in TABLE
        for role in ROLES
        if row["what"] in commands
    ]


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = club.build(tmp_path_factory.mktemp("club") / "club.duckdb").path
    assert run(path, None, "strength").exit_code == 0  # keeps the fit of everybody
    return path


@pytest.fixture
def path(built, tmp_path) -> Path:
    return Path(shutil.copy(built, tmp_path / "club.duckdb"))


@pytest.fixture(scope="module")
def alone(built, tmp_path_factory) -> dict[frozenset[str], Path]:
    """Give stores in which there is nobody but some lifters."""
    made = {}
    for reach in map(frozenset, REACH.values()):
        path = tmp_path_factory.mktemp("alone") / "club.duckdb"
        made[reach] = Path(shutil.copy(built, path))
        for code in set(club.CODES) - reach:
            stored.forget(Store(path), code)
    return made


def run(path: Path, role: str | None, *arguments: str) -> Result:
    who = {"LACERTUS_PERSON": club.PEOPLE[role][0]} if role else {}
    done = CliRunner(env=who).invoke(main, [*arguments, "--store", str(path)])
    assert not done.exception or isinstance(done.exception, SystemExit), done.output
    return done


@pytest.mark.parametrize(("command", "role", "cell"), cells(*READING))
def test_reading_gives_what_it_would_if_there_were_nobody_else(
    command, role, cell, built, alone
):
    asked = (command, *READING[command], "--as", "json" if command == "fit" else "csv")
    given = run(built, role, *asked)
    expected = run(alone[frozenset(REACH[cell])], None, *asked)
    assert given.stdout == expected.stdout
    assert given.exit_code == expected.exit_code
    assert not (set(club.CODES) - REACH[cell]) & set(given.output.split(","))


def attempt(path: Path, role: str, command: str, code: str) -> Result:
    """Try a command on one lifter's things."""
    folder, number = path.parent, 1 + club.CODES.index(code)
    if command in ("next", "session"):
        return run(path, role, command, code, *NEXT)
    if command == "report":
        return run(path, role, command, code, str(folder / f"{code}.html"))
    if command == "intake":
        log = folder / "more.csv"
        log.write_text(f"{club.HEADER}{code},2024-04-02,hammer curl,9,8,1,\n")
        return run(path, role, command, str(log))
    if command == "trace":
        trace = folder / "trace.csv"
        trace.write_text(club.trace_of(code))
        return run(path, role, command, str(trace))
    if command == "correct":
        key = stored.sets(Store(path), lifter=code)["set_id"].iloc[0]
        return run(path, role, command, key, "reps=7")
    if command == "name":
        return run(path, role, command, f"wobble of {code}", "hammer_curl")
    return run(path, role, command, str(number) if command == "undo" else code)


@pytest.mark.parametrize(
    ("command", "role", "cell"),
    cells("next", "session", "report", "share", "intake", "trace", "correct", "undo",
          "forget", "withhold", "name"),
)  # fmt: skip
def test_a_command_about_one_lifter_reaches_those_of_the_table(
    command, role, cell, path, tmp_path
):
    reached = set()
    for code in club.CODES:
        one = Path(shutil.copy(path, tmp_path / f"{code}.duckdb"))
        before = one.read_bytes()
        done = attempt(one, role, command, code)
        if done.exit_code == 0:
            reached.add(code)
        else:
            assert one.read_bytes() == before or command == "intake"
            assert stored.sets(Store(one)).equals(stored.sets(Store(path)))
    assert reached == REACH[cell]


@pytest.mark.parametrize(("command", "role", "cell"), cells("rejected", "report --all"))
def test_lists_of_files_and_rows_hold_those_of_the_table(command, role, cell, path):
    zipped = path.with_name("all.zip")
    given = run(path, role, *command.split(), *[str(zipped)] * ("--all" in command))
    text = given.stdout
    if zipped.exists():
        with zipfile.ZipFile(zipped) as archive:
            text = "".join(
                archive.read(name).decode() + name for name in archive.namelist()
            )
    assert {code for code in club.CODES if code in text} == REACH[cell]
    assert not {code for code in set(club.CODES) - REACH[cell] if code in given.output}


@pytest.mark.parametrize(("command", "role", "cell"), cells(*MODEL))
def test_the_model_is_for_everybody(command, role, cell, built):
    given = run(built, role, command, *MODEL[command])
    assert given.exit_code == 0
    assert given.stdout == run(built, None, command, *MODEL[command]).stdout
    assert cell == "model"


@pytest.mark.parametrize(
    ("command", "role", "cell"),
    cells("tables", "tables --again", "person add", "person list", "person remove",
          "record", "backup", "restore"),
)  # fmt: skip
def test_what_is_an_owners_is_refused_to_others(command, role, cell, path, tmp_path):
    stored.backup(Store(path), tmp_path / "copy")
    more = {
        "tables": (str(tmp_path / "tables"),),
        "tables --again": (str(tmp_path / "tables"),),
        "person add": ("new@club.test", "--role", "owner"),
        "person remove": ("kim@club.test",),
        "backup": (str(tmp_path / "own"),),
        "restore": (str(tmp_path / "copy"),),
    }
    before = path.read_bytes()
    done = run(path, role, *command.split(), *more.get(command, ()))
    if cell == "refused":
        assert done.exit_code == 3
        assert "may not" in done.stderr
        assert done.stdout == ""
        assert path.read_bytes() == before
    elif cell == "aggregates":  # which three lifters are too few for
        assert done.exit_code == 2
        assert "may not" not in done.stderr
    else:
        assert done.exit_code == 0, done.stderr


def test_who_is_not_in_the_list_gets_nothing(path):
    for address in ("", "eve@club.test"):
        who = {"LACERTUS_PERSON": address}
        done = CliRunner(env=who).invoke(main, ["sets", "--store", str(path)])
        assert done.exit_code == 3
        assert done.stdout == ""
        assert "not in the list" in done.stderr


def test_the_table_names_every_command_that_opens_the_store():
    named = {row["what"].split()[0] for row in TABLE}
    assert set(main.commands) - named == {"serve", "demo", "bench", "cohort"}
