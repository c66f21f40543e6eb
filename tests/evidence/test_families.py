"""Logs of other joints and of lifts of many joints go all the way to advice."""

from datetime import date, timedelta

import numpy as np
import pytest

from analytics import advice, evidence, intake, strength
from analytics import store as storage
from analytics.store import Store

# Invented: log name and strength in kg, both in one year's people of a rowing club.
LEGS = {"Beinbeuger liegend": 40.0, "Seated leg curl": 55.0}
PRESSES = {"Bench press": 80.0}


def store_of(folder, lifts, *, extra=()):
    rows = ["lifter,date,exercise,load_kg,reps,rir,range_from_deg,range_to_deg"]
    for i, lifter in enumerate(("K1", "K2", "K3")):
        for week in range(8):
            day = date(2026, 1, 5) + timedelta(days=7 * week)
            for name, strong in lifts.items():
                load = strong * (1 + 0.1 * i) / (1 + (5 + week % 3) / 30)
                rows.append(f"{lifter},{day},{name},{load:.1f},{5 + week % 3},0,,")
            rows += [f"{lifter},{day},{line}" for line in extra]
    path, store = folder / "log.csv", Store(folder / "s.db")
    path.write_text("\n".join(rows) + "\n")
    assert intake.take_in(store, path, dates="iso").rejected == 0
    return store


@pytest.fixture(scope="module")
def legs(tmp_path_factory):
    # A range beyond the tested 103 degrees is left out of the test, and said so.
    deep = ["Lying leg curl,30,8,0,10,120"]
    store = store_of(tmp_path_factory.mktemp("legs"), LEGS, extra=deep)
    return store, strength.fitted(store, "knee_flexion")


def test_a_leg_log_is_tested_against_its_own_joint(legs):
    _, fit = legs
    test = evidence.curve_test(fit, lifter="K1")
    assert test.verdict in ("agrees", "not enough data yet")
    said = " ".join(test.reasons)
    assert "none over their range: lying_leg_curl [10:120]" in said
    personal = test.personal.set_index("quantity")
    assert {"peak_deg", "width_deg", "scale"} <= set(personal.index)
    assert personal.loc["peak_deg", "low"] < personal.loc["peak_deg", "high"]


def test_a_leg_exercise_never_done_gets_a_load_and_its_reason(legs):
    store, fit = legs
    row = advice.next_load(
        fit, "K1", "standing_leg_curl", sets=storage.sets(store), reps=8, step_kg=0.5
    ).iloc[0]
    assert row["basis"].startswith("modelled ratio to")
    assert 0 < row["low_kg"] <= row["load_kg"] <= row["high_kg"]


def test_a_press_never_done_comes_from_measured_people(tmp_path):
    store = store_of(tmp_path, PRESSES)
    fit = strength.fitted(store, "bench_press")
    asked = {"sets": storage.sets(store), "reps": 8, "step_kg": 0.1}
    bench, dumbbells = (
        advice.next_load(fit, "K1", name, **asked).iloc[0]
        for name in ("bench_press", "dumbbell_bench_press")
    )
    assert "measured ratio (saeterbakken_2011)" in dumbbells["basis"]
    middle = np.sqrt(dumbbells["low_kg"] * dumbbells["high_kg"])
    whole = np.sqrt(bench["low_kg"] * bench["high_kg"])
    # Both dumbbells 0.83 of the bar, 12 trained men; a log counts one of them.
    assert 2 * middle / whole == pytest.approx(0.83, rel=0.01)
    assert dumbbells["load_kg"] == pytest.approx(dumbbells["low_kg"], abs=0.1)
