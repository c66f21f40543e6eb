"""The invented winter block can be made again, and carries the flaws it should."""

import importlib
import io
import tomllib
from pathlib import Path

import openpyxl
import pandas as pd
import pytest

from analytics import store as storage
from analytics.store import Store
from analytics.strength import fitted

FOLDER = Path(__file__).parents[1] / "sample_logs"


@pytest.fixture(scope="module")
def made() -> dict[str, bytes]:
    with pytest.MonkeyPatch.context() as patch:
        patch.syspath_prepend(str(FOLDER))
        return importlib.import_module("make_logs").contents()


def test_the_generator_writes_the_files_that_are_kept(made):
    for name, content in made.items():
        kept = (FOLDER / name).read_bytes()
        if name.endswith(".xlsx"):  # compressed bytes differ between zlib builds
            assert cells(content) == cells(kept)
        else:
            assert content == kept, name


def cells(content: bytes) -> list[tuple]:
    sheet = openpyxl.load_workbook(io.BytesIO(content)).active
    return list(sheet.iter_rows(values_only=True))


def test_the_generator_shares_no_code_with_the_library():
    for name in ("make_logs.py", "winter_block.py", "sundays.py"):
        assert "analytics" not in (FOLDER / name).read_text("utf-8")


def test_the_block_has_fourteen_lifters_and_stays_small(made):
    north = pd.read_excel(FOLDER / "coach_north.xlsx", skiprows=2)
    south = pd.read_csv(FOLDER / "coach_south.csv", sep=";", encoding="cp1252")
    sundays = pd.read_csv(FOLDER / "club_sundays.csv", sep=";")
    lifters = {*north["Athlete"], *south["Name"], "R14"}
    assert set(sundays["Qui"]) <= lifters
    assert lifters == {f"R{n:02d}" for n in range(1, 15)}
    assert sum(len(content) for content in made.values()) < 1_500_000


def test_the_logs_carry_the_flaws_that_real_logs_have():
    north = pd.read_excel(FOLDER / "coach_north.xlsx", skiprows=2)
    south = pd.read_csv(
        FOLDER / "coach_south.csv", sep=";", encoding="cp1252", decimal=","
    )
    assert 0.1 < north["Reserve"].isna().mean() < 0.4
    assert "Barbel crul" in set(north["Lift"])
    assert north.duplicated().sum() >= 12  # the week that was pasted twice
    assert north["Load (kg)"].max() > 1000
    assert set(south["Einheit"]) == {"kg", "lb"}
    assert (south["Sätze"] > 1).sum() > 100
    assert "31.11.2025" in set(south["Datum"])
    assert south["Schmerz"].notna().any()


def test_the_column_maps_name_only_headers_that_exist():
    heads = {
        "coach_north": set(
            pd.read_excel(FOLDER / "coach_north.xlsx", skiprows=2).columns
        ),
        "coach_south": set(
            pd.read_csv(FOLDER / "coach_south.csv", sep=";", encoding="cp1252").columns
        ),
        "club_sundays": set(pd.read_csv(FOLDER / "club_sundays.csv", sep=";").columns),
        "own_shorthand": set(pd.read_csv(FOLDER / "own_shorthand.csv").columns),
        "bodies": set(pd.read_csv(FOLDER / "bodies.csv").columns),
    }
    for name, head in heads.items():
        column_map = tomllib.loads((FOLDER / f"{name}.toml").read_text("utf-8"))
        assert set(column_map["columns"].values()) <= head, name


def test_the_truth_is_written_beside_the_logs():
    truth = tomllib.loads((FOLDER / "truth.toml").read_text("utf-8"))
    assert truth["ratios"]["standing_barbell_curl"] == 1
    assert set(truth["sticking_deg"]) == set(truth["ratios"])
    assert len(truth["lifters"]) == 14


# truth.toml beside the logs; the bound leaves room for 14 lifters
@pytest.mark.analytic
def test_intervals_of_the_sample_logs_hold_their_truth(sample_store):
    truth = tomllib.loads((FOLDER / "truth.toml").read_text("utf-8"))
    trend = fitted(Store(sample_store)).trend
    trend = trend[trend["setup"] == "standing_barbell_curl"]
    weeks = (trend["date"] - pd.Timestamp(truth["first_monday"])).dt.days // 7
    true = [
        truth["lifters"][who]["strength_kg"][week]
        for who, week in zip(trend["lifter"], weeks, strict=True)
    ]
    held = (trend["low_kg"] <= true) & (trend["high_kg"] >= true)
    assert held.mean() > 0.8


# truth.toml beside the logs: loads liftable once by body mass, per hand with one
# dumbbell, so that their quotients are true ratios
@pytest.mark.analytic
@pytest.mark.parametrize(
    ("movement", "setup", "reference"),
    [
        ("knee_flexion", "seated_leg_curl", "lying_leg_curl"),
        ("ankle_plantar_flexion", "seated_calf_raise", "standing_calf_raise"),
    ],
)
def test_ratios_of_leg_curls_and_calf_raises_hold_their_truth(
    movement, setup, reference, sample_store
):
    once = tomllib.loads((FOLDER / "truth.toml").read_text("utf-8"))["sundays"]
    fit = fitted(Store(sample_store), movement)
    assert fit.reference == reference
    found = fit.ratios.set_index("setup").loc[setup]
    assert found["low"] < once[setup] / once[reference] < found["high"]
    assert found["lifters"] == 6


def test_sundays_need_no_name_to_be_given(sample_store):
    sets = storage.sets(Store(sample_store))
    assert {
        *("dumbbell_row", "seated_cable_row", "pull_up", "lying_leg_curl"),
        *("seated_leg_curl", "standing_calf_raise", "seated_calf_raise"),
    } <= set(sets["variant"])
