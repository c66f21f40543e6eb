"""A cohort in parts has the numbers of the same logs in one store."""

import numpy as np
import pandas as pd
import pytest
from pandas.testing import assert_frame_equal

from analytics import evidence, reports, strength
from analytics import store as stored
from analytics.cli.bench.cohort import write_logs
from analytics.cohort import open_cohort, run_cohort
from analytics.cohort.bundle import unpacked
from analytics.intake import take_in
from analytics.store import Store
from analytics.strength.model import sample

KEYS = {
    "trend": ["lifter", "setup", "date"],
    "personal": ["lifter", "setup"],
    "slopes": ["lifter", "setup"],
}
pytestmark = pytest.mark.long


def one_store(paths, folder):
    store = Store(folder / "one.duckdb")
    for path in paths:
        take_in(store, path)
    return store


def same(ours, theirs, keys):
    columns = [c for c in theirs if c != "sentence"]
    ours, theirs = (
        t[columns].sort_values(keys, ignore_index=True) for t in (ours, theirs)
    )
    assert_frame_equal(ours, theirs, rtol=1e-6, atol=1e-6, check_dtype=False)


def compare(out, store):
    cohort = open_cohort(str(out))
    fits = [unpacked(p.read_bytes()) for p in sorted((out / "fits").iterdir())]
    movements = stored.movements(store).query("sets > 0")["movement"]
    assert set(cohort.fits) == set(movements)
    for movement in movements:
        fit = strength.fit_strength(stored.sets(store, movement=movement))
        whole = cohort.fits[movement]
        assert whole.reference == fit.reference
        assert whole.n_obs == fit.n_obs
        assert whole.hyper == pytest.approx(fit.hyper, rel=1e-6)
        assert whole.log_ratio == pytest.approx(fit.log_ratio, abs=1e-6)
        assert np.allclose(whole.log_ratio_cov, fit.log_ratio_cov, rtol=1e-6)
        same(whole.ratios, fit.ratios, ["setup"])
        for name, keys in KEYS.items():
            parts = [t[name] for t in fits if name in t]
            mine = pd.concat(parts).query("movement == @movement")
            same(mine, getattr(fit, name), keys)
    return cohort


def test_thirty_lifters_in_three_parts_equal_one_store(done, logs, tmp_path):
    store = one_store(logs, tmp_path)
    cohort = compare(done.out, store)
    fit = strength.fitted(store, "elbow_flexion")
    told, ours = evidence.curve_test(fit), cohort.verdicts["elbow_flexion"]
    assert ours["verdict"] == told.verdict
    assert ours["p_value"] == pytest.approx(told.p_value, rel=1e-6)
    assert ours["weights"] == pytest.approx(told.weights, abs=1e-6)
    assert pd.DataFrame(ours["left_out"])["best"].tolist() == [*told.left_out["best"]]
    assert ours["reasons"] == list(told.reasons)
    assert len(ours["direct_points"]) == len(told.direct_points) > 0
    mine, _ = cohort.tables(smallest_cell=5)
    theirs, _ = reports.research_tables(store, smallest_cell=5)
    assert list(mine) == list(theirs)
    for name, table in theirs.items():
        assert_frame_equal(mine[name], table, rtol=1e-6, check_dtype=False)


def test_every_row_is_in_the_accounts(done, logs):
    rows = done.accounts.set_index(done.accounts["file"].map(logs.index))
    assert rows["rows"].tolist() == [720, 720, 9, 39]
    assert rows["taken"].tolist() == [720, 720, 8, 0]
    assert rows["known"].tolist() == [0, 0, 0, 39]
    assert rows["rejected"].tolist() == [0, 0, 1, 0]
    assert rows["unnamed"].tolist() == [0, 0, 1, 0]
    assert "heavy" in rows.loc[2, "reason"]


def test_a_sample_is_the_same_whatever_the_parts():
    codes = [f"L{n}" for n in range(3 * sample.LIFTERS)]
    parts = [code for n in range(7) for code in sample.sampled(codes[n::7])]
    assert sample.sampled(parts) == sample.sampled(codes)
    assert len(sample.sampled(codes)) == sample.LIFTERS


@pytest.mark.slow
def test_two_thousand_lifters_equal_one_store(scheduler, tmp_path):
    paths = [str(p) for p in write_logs(tmp_path, 2000, files=5, sets_each=60)]
    run_cohort(paths, str(tmp_path / "out"), scheduler=scheduler, parts=4)
    cohort = compare(tmp_path / "out", one_store(paths, tmp_path))
    assert len(cohort.meta["sample"]["elbow_flexion"]) == sample.LIFTERS
