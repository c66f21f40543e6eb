"""The data package: personal rows under pseudonyms, its files, its description."""

import json

import frictionless
import pandas as pd
import pytest
from research_club import CURLS, KEY, LEGS, STANDING, build, cohort, legs

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


def test_the_description_names_units_sources_method_and_cell_size(package):
    described = json.loads((package / "datapackage.json").read_text("utf-8"))
    fields = {
        field["name"]: field
        for resource in described["resources"]
        if resource["type"] == "table"
        for field in resource["schema"]["fields"]
    }
    assert fields["mean_kg"]["unit"] == "kg"
    assert fields["elbow_deg"]["unit"] == "deg"
    assert all(field["description"] for field in fields.values())
    assert described["method"]["smallest_cell"] == 5
    assert described["method"]["version"]
    curls, own = (described["method"]["movements"][name] for name in (CURLS, LEGS))
    assert curls["parameters"]["day_sd"] == 0.034
    assert (curls["modelled"], own["modelled"]) == (True, False)
    assert f"Logged, not modelled: {LEGS}" in described["description"]
    assert "subtract" in described["description"]
    assert len(described["sources"]) > 10


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
