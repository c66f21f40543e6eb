"""What each role sees of each page, cell by cell of the table on the method page."""

from __future__ import annotations

import csv
import io
import shutil
import zipfile
from collections.abc import Callable
from importlib.resources import files
from pathlib import Path

import club
import pytest
from page_runs import MAIN
from streamlit.testing.v1 import AppTest

from analytics import reports
from analytics import store as stored
from analytics.errors import NotAllowedError
from analytics.store import Store
from app.views.people_and_data import needs

ROLES = ("lifter", "coach", "researcher", "owner")
with files("app").joinpath("data", "roles.csv").open(encoding="utf-8") as _file:
    TABLE = [row for row in csv.DictReader(_file) if row["kind"] == "page"]
REACH = {
    "own": {"AA1"}, "assigned": {"AA1", "BB2"}, "all": set(club.CODES),
    "model": set(), "aggregates": set(),
}  # fmt: skip
# The list of whom to choose stands on every page.
MOST = {"lifter": "own", "coach": "assigned", "researcher": "model", "owner": "all"}


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return club.build(tmp_path_factory.mktemp("club") / "club.duckdb").path


@pytest.fixture(scope="module")
def visit(built) -> Callable[..., AppTest]:
    """Open a page as one of the club, with whatever in the address bar."""
    visitors: dict[str, AppTest] = {}

    def go(view: str, role: str, who: str = "") -> AppTest:
        with pytest.MonkeyPatch.context() as patch:
            patch.setenv("LACERTUS_STORE", str(built))
            patch.setenv("LACERTUS_PERSON", club.PEOPLE[role][0])
            if f"{role} {who}" not in visitors:
                app = AppTest.from_file(MAIN, default_timeout=120)
                if who:
                    app.query_params["who"] = who
                visitors[f"{role} {who}"] = app.run()
            return visitors[f"{role} {who}"].switch_page(f"views/{view}/view.py").run()

    return go


def codes(app: AppTest) -> set[str]:
    """Give the codes in words, tables and what the lists of a page offer."""
    parts = [*app.markdown, *app.caption, *app.info, *app.success, *app.error]
    text = [part.value for part in parts]
    text += [part.value.to_csv() for part in app.dataframe]
    text += [str(box.options) for box in (*app.selectbox, *app.multiselect)]
    return {code for code in club.CODES if code in "\n".join(text)}


@pytest.mark.parametrize("role", ROLES)
@pytest.mark.parametrize("row", TABLE, ids=lambda row: row["what"])
def test_a_page_shows_the_lifters_of_the_table(row, role, visit):
    if row[role] == "not offered":
        with pytest.raises(ValueError, match="Could not find a navigation page"):
            visit(row["what"], role)
        return
    app = visit(row["what"], role)
    assert not app.exception
    assert app.title[0].value.lower().rstrip("?") == row["what"].replace("_", " ")
    assert REACH[row[role]] <= codes(app) <= REACH[MOST[role]]


@pytest.mark.parametrize(
    ("view", "label", "offered"),
    [
        ("research_tables", "Also if a former release", {"owner"}),
        ("research_tables", "Make the package with personal", {"owner"}),
        ("import_logs", "Give these meanings", {"coach", "owner"}),
        ("import_logs", "Undo import", {"lifter", "coach", "owner"}),
        ("home", "Keep the note", {"coach", "owner"}),
        ("people_and_data", "Remove all my data", {"lifter"}),
        ("people_and_data", "Download all my data", {"lifter"}),
        ("people_and_data", "Keep my log out", {"lifter"}),
    ],
)
def test_nobody_is_offered_what_the_command_would_refuse(view, label, offered, visit):
    row = next(row for row in TABLE if row["what"] == view)
    for role in (role for role in ROLES if row[role] != "not offered"):
        app = visit(view, role, "AA1" if view == "home" else "")
        parts = (*app.button, *app.checkbox, *app.get("download_button"))
        labels = [getattr(part, "label", "") or part.proto.label for part in parts]
        assert any(one.startswith(label) for one in labels) == (role in offered), role


def test_a_lifter_is_told_who_names_what_waits(visit):
    said = "\n".join(part.value for part in visit("import_logs", "lifter").info)
    assert "has yet to say" in said
    assert "wobble of AA1" in said


FORGED = [
    pytest.param(row["what"], role, id=f"{row['what']}-{role}")
    for row in TABLE
    for role in ("lifter", "coach", "researcher")
    if row[role] != "not offered"
]


@pytest.mark.parametrize(("view", "role"), FORGED)
def test_a_lifter_forged_into_the_address_bar_is_not_shown(role, view, visit):
    app = visit(view, role, "CC3")
    assert not app.exception
    assert "CC3" not in codes(app)


def test_a_lifter_sees_of_the_cohort_what_a_report_shows(
    sample_store, tmp_path, monkeypatch
):
    from app import fits, state  # as the pages do

    store = Store(Path(shutil.copy(sample_store, tmp_path / "club.duckdb")))
    stored.add_person(store, "anna@club.test", "lifter", ["R02"])
    monkeypatch.setenv("LACERTUS_STORE", str(store.path))
    choice = state.Choice("R02", "elbow_flexion", None, None)
    whole = fits.fit(choice)
    monkeypatch.setenv("LACERTUS_PERSON", "anna@club.test")
    seen, expected = fits.fit(choice), reports.seen_by(whole, "R02")
    assert seen.ratios.equals(expected.ratios)
    assert len(seen.ratios) < len(whole.ratios)
    assert set(seen.trend["lifter"]) == {"R02"}


@pytest.fixture
def as_lifter(built, tmp_path, monkeypatch) -> Store:
    path = Path(shutil.copy(built, tmp_path / "own.duckdb"))
    monkeypatch.setenv("LACERTUS_STORE", str(path))
    monkeypatch.setenv("LACERTUS_PERSON", club.PEOPLE["lifter"][0])
    return Store(path)


def test_a_lifter_takes_away_all_of_the_own_log_and_nothing_else(as_lifter):
    owner = as_lifter  # who may note something on both
    for code in ("AA1", "BB2"):
        stored.note_on(owner, code, f"{code} rests the elbow")
    needs.withhold(True)
    with zipfile.ZipFile(io.BytesIO(needs.own_data())) as archive:
        files_in = {name: archive.read(name).decode() for name in archive.namelist()}
    assert set(files_in) == {f"{name}.csv" for name in needs.OWN}
    assert len(files_in["sets.csv"].splitlines()) == 1 + 8 * 4 + 1
    assert "of AA1" in files_in["sets.csv"]
    assert "heavy AA1" in files_in["rejected_rows.csv"]
    assert "rests the elbow" in files_in["said.csv"]
    assert "log withheld" in files_in["said.csv"]
    assert not [code for code in ("BB2", "CC3") if code in "".join(files_in.values())]


def test_what_a_lifter_withholds_is_in_no_research_table(as_lifter):
    needs.withhold(True)
    assert needs.is_withheld()
    owner = stored.for_research(as_lifter)
    assert set(stored.lifters(owner)["lifter"]) == {"BB2", "CC3"}
    needs.withhold(False)
    assert set(stored.lifters(stored.for_research(as_lifter))["lifter"]) == set(
        club.CODES
    )


def test_a_lifter_is_forgotten_by_who_it_is(as_lifter):
    assert needs.forget().startswith("33 rows")
    assert set(stored.lifters(as_lifter)["lifter"]) == {"BB2", "CC3"}
    rows = stored.record(as_lifter)
    assert "removed a lifter" in set(rows["deed"])
    assert not rows.astype(str).apply(lambda c: c.str.contains("AA1")).any(axis=None)
    people = stored.people(as_lifter).set_index("address")
    assert len(people.loc[club.PEOPLE["lifter"][0], "lifters"]) == 0


def test_the_record_tells_who_did_what_and_only_an_owner_reads_it(built, tmp_path):
    store = Store(Path(shutil.copy(built, tmp_path / "own.duckdb")))
    coach = store.asked_by(stored.asking_of(store, club.PEOPLE["coach"][0]))
    key = stored.sets(coach, lifter="BB2")["set_id"].iloc[0]
    stored.edit_set(coach, key, reps=7)
    stored.delete_set(coach, key)
    stored.undo(coach, 2)
    stored.backup(store, tmp_path / "copy")
    rows = stored.record(store)
    last = rows[rows["address"] == club.PEOPLE["coach"][0]]
    assert list(last["deed"]) == ["brought in", "corrected", "deleted", "undid"]
    assert set(last["intake_id"]) == {2}
    assert rows["deed"].iloc[-1] == "made a backup"
    with pytest.raises(NotAllowedError, match="read the record"):
        stored.record(coach)


def test_nothing_in_the_program_changes_or_removes_a_row_of_the_record():
    for package in ("analytics", "app"):
        for path in Path(str(files(package))).rglob("*"):
            if path.suffix in (".py", ".sql"):
                text = path.read_text(encoding="utf-8").lower()
                for verb in ("update deed", "delete from deed", "drop table deed"):
                    assert verb not in text, path
