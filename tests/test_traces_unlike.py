"""Hard traces drawn by other means than the library's own: counts, angles, silence."""

from dataclasses import asdict

import numpy as np
import pandas as pd
import pytest
import trace_generator

from analytics.traces import rep_details

SIGNALS = ["elbow_deg", "height_m"]


def found_and_true(sets: int, *, signal: str, **kind: bool) -> pd.DataFrame:
    """Reps found beside those put in; fails where a set is miscounted."""
    parts = []
    for seed in range(sets):
        made = trace_generator.one_set(seed, signal=signal, **kind)
        found = rep_details(
            made.trace, elbow_to_grip_m=trace_generator.FOREARM_M
        ).reset_index(drop=True)
        assert len(found) == len(made.lifts), (seed, made.about)
        true = pd.DataFrame([asdict(lift) for lift in made.lifts])
        parts.append(found.join(true.add_suffix("_true")).assign(**made.about))
    both = pd.concat(parts, ignore_index=True)
    if signal == "height_m":
        # The arm hangs: h = L (1 - cos angle), as the generator drew it.
        cosine = 1 - (both["low_true"] - 0.7) / trace_generator.FOREARM_M
        both["low_true"] = np.rad2deg(np.arccos(cosine.clip(-1, 1)))
    return both


@pytest.mark.analytic
@pytest.mark.parametrize("signal", SIGNALS)
@pytest.mark.parametrize("sets", [20, pytest.param(300, marks=pytest.mark.slow)])
def test_hard_sets_are_counted_and_what_is_told_of_them_lies_near(sets, signal):
    # 0.2 to 2° or 1 to 5 mm of noise, 30 to 200 Hz, holes up to 2 s, dips of 10 to
    # 100 %. A sticking angle is told when it is sure by 90 % to lie within 3°.
    reps = found_and_true(sets, signal=signal)
    reps = reps[reps["depth_frac_true"] > 0]
    error = (reps["sticking_deg"] - reps["low_true"]).abs()
    told = error.notna()
    assert told.mean() > 0.4
    assert (error[told] > 3).mean() < 0.10
    # Nine in ten of the dips that are said to be visible are seen.
    visible = reps["depth_frac_true"] > reps["smallest_dip_frac"]
    assert reps.loc[visible, "slowest_deg"].notna().mean() > 0.9


def test_a_drifting_baseline_leaves_the_count_alone():
    for seed in range(30):
        made = trace_generator.one_set(seed, signal="elbow_deg", drift=True)
        assert len(rep_details(made.trace)) == len(made.lifts), (seed, made.about)


@pytest.mark.analytic
@pytest.mark.parametrize("signal", SIGNALS)
@pytest.mark.parametrize("sets", [20, pytest.param(300, marks=pytest.mark.slow)])
def test_hard_sets_without_a_dip_report_none_and_say_how_deep_one_would_show(
    sets, signal
):
    reps = found_and_true(sets, signal=signal, dips=False)
    assert reps["sticking_deg"].isna().all()
    assert reps["reason"].str.len().gt(0).all()
    asked = reps["reason"].str.contains("between two maxima")
    assert reps.loc[asked, "smallest_dip_frac"].between(0.06, 1).all()
