"""The library as a notebook uses it."""

import re
import shutil
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

import analytics as la
from analytics.errors import InputError
from analytics.strength.model.observe import completed
from analytics.strength.model.results import TABLES
from analytics.table_schema import column_names, defaults

ROOT = Path(__file__).parents[1]
OF_TEST = {
    "residuals": "residuals",
    "left_out": "left_out",
    "more_data": "more_data",
    "direct_points": "direct_points",
    "direct": "direct",
    "personal": "personal_curve",
}


@pytest.fixture(scope="module")
def cells(tmp_path_factory):
    """What the README's lines leave behind."""
    folder = tmp_path_factory.mktemp("notebook")
    shutil.copytree(ROOT / "sample_logs", folder / "sample_logs")
    text = (ROOT / "README.md").read_text("utf-8")
    code = re.search(r"<!-- notebook -->\n```python\n(.*?)```", text, re.S)[1]
    lines = [line for line in code.splitlines() if line]
    assert len(lines) == 10
    left = {}
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(folder)
        for line in lines:
            exec(line, left)
    return left


def test_lines_of_the_readme_give_a_fit_and_a_verdict(cells):
    fit, test = cells["fit"], cells["test"]
    assert fit.n_lifters == 6  # the southern coach's, sample_logs/make_logs.py
    assert test.verdict in str(test.summary())
    for reason in test.reasons:
        assert reason in str(test.summary())
    for result in (fit, test):
        assert result._repr_html_() == result.summary()._repr_html_()
        assert "<table" in result._repr_html_()
    now = fit.trend.groupby(["lifter", "setup"]).tail(1).iloc[0]
    assert f"{now['strength_kg']:.3g}" in str(fit.summary())


@pytest.mark.parametrize("table", TABLES)
def test_tables_of_a_fit_have_the_declared_columns(cells, table):
    assert list(getattr(cells["fit"], table).columns) == column_names(table)


@pytest.mark.parametrize("table", OF_TEST)
def test_tables_of_a_test_have_the_declared_columns(cells, table):
    test = cells["test"]
    if table == "personal":
        test = la.curve_test(cells["fit"], lifter=cells["fit"].trend["lifter"][0])
    assert list(getattr(test, table).columns) == column_names(OF_TEST[table])


def test_every_declared_column_is_explained(cells):
    known = la.columns()
    assert set(known["table"]) == {"sets", *TABLES, *OF_TEST.values()}
    assert known["meaning"].str.len().gt(2).all()


def own_sets():
    """Twelve sessions with the columns that are needed, and no other."""
    days = pd.date_range("2025-01-06", periods=12, freq="3D")
    table = {"lifter": "A", "load_kg": 20.0, "reps": 8}
    bar = pd.DataFrame(table | {"performed_on": days.strftime("%Y-%m-%d")})
    one = bar.assign(variant="standing_barbell_curl")
    two = bar.assign(variant="standing_dumbbell_curl", load_kg=10.0)
    return pd.concat([one, two], ignore_index=True)


def test_a_dataframe_with_the_needed_columns_is_enough():
    fit = la.fit(own_sets())
    assert fit.movement == "elbow_flexion"
    assert fit.n_obs == 24
    # 20 kg in two hands and 10 kg in each are the same per working arm
    assert fit.ratios["ratio"].to_numpy() == pytest.approx([1.0], abs=0.05)
    assert la.curve_test(fit).verdict == "not enough data yet"


def test_a_movement_of_ones_own_is_fitted_too():
    fit = la.fit(own_sets().assign(variant="log_lift"))
    assert fit.movement == ""
    assert fit.setups["setup"].tolist() == ["log_lift"]


@pytest.mark.parametrize("column", ["lifter", "performed_on", "variant", "reps"])
def test_a_missing_column_is_named(column):
    with pytest.raises(InputError, match=f"lacks the column `{column}`"):
        la.fit(own_sets().drop(columns=column))


@pytest.mark.parametrize(
    ("column", "value", "said"),
    [
        (
            "load_kg",
            "heavy",
            "row 2 .*`load_kg`: `heavy` cannot be read; give a number",
        ),
        ("rir", "some", "row 2 .*`rir`: `some` cannot be read"),
        ("performed_on", "6/1/2025", "row 2 .*`performed_on`: `6/1/2025` cannot"),
        ("performed_on", None, "row 2 .*`performed_on`: `None` cannot be read"),
        ("load_kg", np.inf, "row 2 .*`load_kg`: `inf` cannot be read"),
        ("failed", "no", "row 2 .*`failed`: `no` cannot be read; give True or False"),
    ],
)
def test_a_cell_that_cannot_be_read_is_named(column, value, said):
    sets = own_sets().assign(rir=2.0, failed=False).astype(object)
    sets.loc[1, column] = value
    with pytest.raises(InputError, match=said):
        la.fit(sets)


def test_a_reference_that_nobody_did_is_refused():
    with pytest.raises(InputError, match="no set of the reference 'hammer_curl'"):
        la.fit(own_sets(), reference="hammer_curl")


def test_days_as_numbers_are_no_days_of_1970():
    with pytest.raises(InputError, match=r"row 1 .*`20250106` cannot be read"):
        la.fit(own_sets().assign(performed_on=20250106))


@pytest.mark.parametrize("failed", [True, 1, 1.0])
def test_failure_is_a_truth_value_or_one(failed):
    sets = own_sets().assign(failed=pd.Series([failed, None], dtype=object))
    assert completed(sets)["failed"].sum() == 1


def test_what_is_no_table_of_sets_is_refused():
    doubled = pd.concat([own_sets(), own_sets()[["reps"]]], axis=1)
    for data in (doubled, None, own_sets().to_dict("list")):
        with pytest.raises(InputError, match="each column once"):
            la.fit(data)


def test_what_people_wrote_cannot_run_in_a_notebook():
    seen = la.fit(own_sets().assign(lifter="<script>x</script>"))
    assert "<script>" not in seen._repr_html_()
    assert "&lt;script&gt;" in seen._repr_html_()


def test_columns_that_may_be_missing_stand_for_nothing_said():
    whole = own_sets().assign(**defaults("sets"))
    whole["set_id"] = [str(number) for number in range(len(whole))]
    pd.testing.assert_frame_equal(la.fit(whole).trend, la.fit(own_sets()).trend)
    assert np.isnan(defaults("sets")["rir"])


def test_an_interval_without_width_is_a_number_and_a_wide_one_says_less():
    told = own_sets().assign(rir=1.5)
    point, narrow, wide = (
        la.fit(told.assign(rir_half=half)).trend for half in (np.nan, 0.0, 1.5)
    )
    pd.testing.assert_frame_equal(narrow, point)
    spread = [(t["high_kg"] / t["low_kg"]).mean() for t in (point, wide)]
    assert spread[1] > spread[0]


@pytest.mark.parametrize(
    ("column", "value", "accepted"),
    [
        ("rir", 99, "0 to 30 repetitions in reserve"),
        ("rir", -1, "0 to 30 repetitions in reserve"),
        ("hold_s", 0.0, "seconds above 0, at most 3600"),
        ("failed_at_deg", 400, "degrees from -20 to 180"),
    ],
)
def test_a_value_that_no_log_could_hold_is_refused(column, value, accepted):
    data = own_sets().assign(**{column: np.nan})
    data.loc[data.index[1], column] = value
    with pytest.raises(InputError, match=rf"row 2 .*`{column}`.*{accepted}"):
        la.fit(data)


def test_a_curve_test_of_what_is_no_fit_says_how_to_make_one():
    with pytest.raises(InputError, match=r"needs a fit .* got a table; .* `fit`"):
        la.curve_test(own_sets())
