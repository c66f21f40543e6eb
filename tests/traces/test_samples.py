"""The invented sample traces give back what the simulation put in."""

import subprocess
import sys
import tomllib
from pathlib import Path

import pandas as pd
import pytest

from analytics.mechanics import make_body
from analytics.traces import read_trace, rep_details

FOLDER = Path(__file__).parents[2] / "sample_logs" / "traces"
TRUTH = pd.DataFrame(tomllib.loads((FOLDER / "truth.toml").read_text())["rep"])


@pytest.mark.analytic
@pytest.mark.parametrize("name", sorted(set(TRUTH["file"])))
def test_reps_sticking_angles_and_cheats_of_the_samples_are_found(name):
    # The forward simulation knows every rep; see sample_logs/make_traces.py.
    found = rep_details(read_trace(FOLDER / name))
    both = TRUTH[TRUTH["file"] == name].merge(
        found, on=["set", "rep"], how="outer", suffixes=("_true", "")
    )
    assert both["file"].notna().all()
    assert both["lifter"].notna().all()
    # A start counts from a twentieth of the peak speed: a heavy bar creeps before it.
    assert (both["start_s"] - both["start_s_true"]).abs().max() < 0.25
    assert (both["end_s"] - both["end_s_true"]).abs().max() < 0.1
    known = both["sticking_deg_true"].notna()
    assert both.loc[~known, "sticking_deg"].isna().all()
    error = both.loc[known, "sticking_deg"] - both.loc[known, "sticking_deg_true"]
    assert error.isna().sum() == 0
    assert (error.abs() < 3).all()
    if both["cheat"].notna().any():
        assert both["cheat"].tolist() == both["cheat_true"].tolist()


@pytest.mark.analytic
def test_a_height_without_measured_forearm_takes_the_length_of_the_segment_tables():
    # 1.75 m (0.146 + 0.506 x 0.108) = 0.351 m, the length mechanics uses.
    trace = read_trace(FOLDER / "pad_height.csv")
    measured = rep_details(trace, elbow_to_grip_m=make_body(stature_m=1.75).grip_m)
    pd.testing.assert_frame_equal(rep_details(trace), measured)
    taller = rep_details(trace, stature_m={"R09": 1.95})
    assert (taller["to_deg"] < measured["to_deg"]).all()


@pytest.mark.slow
def test_the_samples_are_what_their_script_writes(tmp_path):
    script = FOLDER.parent / "make_traces.py"
    copy = tmp_path / script.name
    copy.write_text(script.read_text())
    subprocess.run([sys.executable, copy], check=True)
    for path in (tmp_path / "traces").iterdir():
        assert path.read_bytes() == (FOLDER / path.name).read_bytes()
