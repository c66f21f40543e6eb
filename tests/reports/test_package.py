"""The data package: personal rows under pseudonyms, its files, its description."""

import json
import re

import frictionless
import pandas as pd
import pytest
from research_club import (
    CURLS,
    KEY,
    LEGS,
    STANDING,
    build,
    cohort,
    legs,
    random_club,
)

from analytics.reports import withheld_cells
from analytics.reports.guide import words
from analytics.reports.package import write_package


def club() -> pd.DataFrame:
    """Curls with a setup of few lifters, and a movement of one's own."""
    parts = [cohort(pad=12, dumbbell=6), legs(cohort(pad=9, dumbbell=0, lifters=12))]
    return pd.concat(parts, ignore_index=True)


def personal(sets: pd.DataFrame, k: int, key: bytes = KEY) -> dict[str, pd.DataFrame]:
    found, _ = build(sets, k, key)
    return {name: found[name] for name in ("personal_ratios", "personal_strength")}


def test_pseudonyms_replace_codes_and_follow_the_key():
    sets = cohort(pad=12, dumbbell=11)
    one, other = personal(sets, 10), personal(sets, 10, KEY[::-1])
    for name, table in one.items():
        assert not table.to_csv().count("Z0"), name
        pd.testing.assert_frame_equal(table, personal(sets, 10)[name])
        assert set(table["pseudonym"]).isdisjoint(other[name]["pseudonym"])
    assert one["personal_ratios"]["pseudonym"].nunique() == 12
    assert one["personal_strength"]["pseudonym"].nunique() == 16


def test_personal_rows_are_of_published_setups_and_weeks_only():
    sets = cohort(pad=12, dumbbell=3, lifters=26)
    first = sets["performed_on"].min()
    few = (sets["performed_on"] == first) & (sets["lifter"] > "Z06")
    sets = sets[~few].reset_index(drop=True)
    found = personal(sets, 10)
    assert set(found["personal_strength"]["setup"]) == {STANDING}
    monday = first.to_period("W-SUN").start_time
    assert monday not in set(found["personal_strength"]["week"])
    assert found["personal_ratios"].empty


@pytest.fixture
def package(tmp_path):
    found, fits = build(club(), 5, KEY)
    write_package(found, list(fits.values()), tmp_path, smallest_cell=5)
    return tmp_path


# frictionless (PyPI, 5.21) is the outside reader of the standard.
@pytest.mark.external
def test_frictionless_finds_the_package_valid(package):
    report = frictionless.validate(str(package / "datapackage.json"))
    assert report.valid, report.flatten(["name", "rowNumber", "type", "message"])
    names = {task.name for task in report.tasks if task.stats.get("rows")}
    assert len(names) == 14  # seven tables, read row by row as CSV and as Parquet
    assert {"ratios", "ratios_parquet", "personal_strength_parquet"} <= names


@pytest.mark.external
def test_frictionless_notices_a_changed_number(package):
    path = package / "ratios.csv"
    path.write_bytes(path.read_bytes().replace(b"0.6", b"six"))
    report = frictionless.validate(str(package / "datapackage.json"))
    assert not report.valid


def described(package) -> dict:
    return json.loads((package / "datapackage.json").read_text("utf-8"))


@pytest.mark.parametrize("seed", range(6))
def test_no_two_rows_of_a_table_share_its_key(seed):
    found, _ = build(random_club(seed), 5, KEY)
    for name, table in found.items():
        key = words()["table"][name]["key"]
        assert not table[key].isna().any().any(), name
        assert not table.duplicated(key).any(), name


# Frictionless refuses a package of which a declared key names two rows.
@pytest.mark.external
def test_the_declared_keys_are_held_by_the_outside_reader_too(package):
    keys = {
        part["path"]: part["schema"]["primaryKey"]
        for part in described(package)["resources"]
    }
    assert keys["strength_by_week.csv"] == ["movement", "setup", "week"]
    rows = (package / "curve_test.csv").read_bytes().splitlines(keepends=True)
    (package / "curve_test.csv").write_bytes(b"".join([*rows, rows[-1]]))
    report = frictionless.validate(str(package / "datapackage.json"))
    assert "primary-key" in {kind for (kind,) in report.flatten(["type"])}


def test_what_is_withheld_is_counted_by_table_with_the_reason():
    found, _ = build(cohort())  # pad and dumbbells withheld, see the tables' tests
    told = withheld_cells(found, smallest_cell=10).set_index("table")
    for name, table in found.items():
        here = told.loc[[name]]
        suppressed = (table["status"] == "suppressed").sum() if "status" in table else 0
        assert here["withheld"].iloc[0] == suppressed, name
        assert (here["cells"] == len(table)).all()
        assert (here["why"].str.len() > 0).iloc[0] == (suppressed > 0), name
    assert told.loc["ratios", "withheld"] == 2
    assert "fewer than 10 lifters" in told.loc["ratios", "why"]


def test_an_estimate_that_few_link_is_counted_apart():
    found, _ = build(cohort(pad=12, dumbbell=11))
    found["ratios"].loc[0, "ratio"] = float("nan")
    told = withheld_cells(found, smallest_cell=10).query("table == 'ratios'")
    assert told["withheld"].tolist() == [1]
    assert "did both it and the reference" in told["why"].iloc[0]


def test_the_package_says_what_it_withholds_and_how_to_cite_it(package):
    text, known = (package / "README.md").read_text("utf-8"), described(package)
    for row in known["withheld"]:
        line = f"| `{row['table']}` | {row['cells']} | {row['withheld']} | {row['why']}"
        assert line in text
    assert known["citation"] in text
    assert known["created"][:10] in known["citation"]
    assert known["title"] in known["citation"]


def test_the_codebook_has_every_column_of_every_table(package):
    text = (package / "codebook.md").read_text("utf-8")
    parts = dict(part.split("\n", 1) for part in text.split("\n## ")[1:])
    for path in package.glob("*.csv"):
        listed = re.findall(r"^\| `(\w+)` \|", parts[path.stem], flags=re.MULTILINE)
        assert listed == list(pd.read_csv(path, nrows=0).columns)


def test_the_lines_for_a_notebook_read_the_whole_package(package, monkeypatch):
    text = (package / "README.md").read_text("utf-8")
    (lines,) = re.findall(r"```python\n(.*?)```", text, flags=re.DOTALL)
    monkeypatch.chdir(package)
    read: dict = {}
    exec(compile(lines, "README.md", "exec"), read)
    assert set(read["tables"]) == {path.stem for path in package.glob("*.csv")}
    for name, rows in read["tables"].items():
        typed = pd.read_parquet(package / f"{name}.parquet")
        assert rows.index.is_unique
        assert len(rows) == len(typed)
        if "lifters" in rows:
            assert rows["lifters"].sum() == typed["lifters"].sum()
    assert len(read["ratios"])


def test_the_description_names_units_sources_method_and_cell_size(package):
    known = described(package)
    fields = {
        field["name"]: field
        for resource in known["resources"]
        if resource["type"] == "table"
        for field in resource["schema"]["fields"]
    }
    assert fields["mean_kg"]["unit"] == "kg"
    assert fields["joint_deg"]["unit"] == "deg"
    assert all(field["description"] for field in fields.values())
    assert known["method"]["smallest_cell"] == 5
    assert known["method"]["version"]
    curls, own = (known["method"]["movements"][name] for name in (CURLS, LEGS))
    assert curls["parameters"]["day_sd"] == 0.034
    assert (curls["modelled"], own["modelled"]) == (True, False)
    assert f"Logged, not modelled: {LEGS}" in known["description"]
    assert "subtract" in known["description"]
    assert len(known["sources"]) > 10


def test_neither_a_code_nor_the_key_is_in_any_file(package):
    for path in package.iterdir():
        content = path.read_bytes()
        for lifter in range(16):
            assert f"Z{lifter:02d}".encode() not in content, path.name
        assert KEY not in content, path.name


def test_a_later_package_without_a_key_leaves_no_personal_rows_behind(package):
    found, fits = build(club(), 5)
    write_package(found, list(fits.values()), package, smallest_cell=5)
    assert not list(package.glob("personal_*"))
    assert frictionless.validate(str(package / "datapackage.json")).valid


def test_parquet_holds_the_same_rows_as_csv(package):
    for path in package.glob("*.csv"):
        text = pd.read_csv(path)
        typed = pd.read_parquet(path.with_suffix(".parquet"))
        assert list(text.columns) == list(typed.columns)
        assert len(text) == len(typed)


def test_text_that_a_spreadsheet_would_run_is_disarmed_in_the_files(tmp_path):
    found, fits = build(cohort(pad=12, dumbbell=11))
    found["ratios"]["movement"] = "=cmd|' /C calc'!A0"
    write_package(found, list(fits.values()), tmp_path, smallest_cell=10)
    rows = (tmp_path / "ratios.csv").read_text("utf-8").splitlines()[1:]
    assert all(row.startswith("'=cmd") for row in rows)


def test_rows_of_one_lifter_carry_one_pseudonym_in_every_movement():
    found = personal(club(), 5)["personal_strength"]
    by = found.groupby("movement")["pseudonym"].agg(set)
    assert by[LEGS] < by[CURLS]
    assert found["pseudonym"].is_monotonic_increasing
