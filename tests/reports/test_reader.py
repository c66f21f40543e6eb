"""What one lifter sees tells nothing of single others: tables, reports, figures."""

import io
import re
from dataclasses import replace

import numpy as np
import pandas as pd
import pyarrow as pa
import pytest
from hand_made_fit import made_fit, made_sets
from page_runs import MAIN
from research_club import DUMBBELL, PAD, STANDING
from streamlit.testing.v1 import AppTest

from analytics import advice, reports, strength
from analytics.reports import seen_by
from analytics.store import Store
from analytics.strength import StrengthFit


def club(others_ratio: float, *, others: int = 1, sets_of_one: int = 1) -> StrengthFit:
    """The reader's fit beside others of one ratio in the pad curl, drawn to them."""
    done = {"reader": [STANDING, PAD]}
    done |= {f"Z{n:02d}": [STANDING, PAD] for n in range(others)}
    done |= {f"Y{n:02d}": [STANDING, DUMBBELL] for n in range(12)}
    sets = made_sets(done)
    pads = sets["variant"] == PAD
    of_one = sets[pads & (sets["lifter"] == "Z00")]
    again = [
        of_one.assign(set_id=of_one["set_id"] + f"+{n}") for n in range(sets_of_one)
    ]
    fit = made_fit(pd.concat([sets, *again[1:]], ignore_index=True))
    own, shrinkage = 0.6, 0.5
    drawn = own ** (1 - shrinkage) * others_ratio**shrinkage
    here = (fit.personal["setup"] == PAD) & (fit.personal["lifter"] == "reader")
    fit.personal.loc[here, ["ratio", "low", "high", "shrinkage"]] = [
        *(drawn * np.array([1, 0.96, 1.04])),
        shrinkage,
    ]
    fit.ratios.loc[fit.ratios["setup"] == PAD, ["ratio", "low", "high"]] = (
        others_ratio * np.array([1, 0.98, 1.02])
    )
    # What was not done is carried over from the pad curl, done as often as any.
    there = (fit.last["setup"] == DUMBBELL) & (fit.last["lifter"] == "reader")
    fit.last.loc[there, "log_strength"] += np.log(own / drawn)
    cov = np.eye(1) * 0.02**2
    own_cov = {"reader": ((PAD,), np.log([drawn]), cov)}
    return replace(fit, personal_cov=own_cov)


def told(seen: StrengthFit) -> list[pd.DataFrame]:
    """Everything with numbers in it, as the reader's pages and report have it."""
    load = advice.next_load(
        seen, "reader", PAD, sets=made_sets({"reader": [STANDING, PAD]}), reps=8
    )
    setups, mean, cov = seen.personal_cov["reader"]
    arrays = pd.DataFrame({"setup": setups, "mean": mean, "var": np.diag(cov)})
    return [seen.ratios, seen.personal, seen.trend, seen.last, load, arrays]


@pytest.mark.parametrize("others", [1, 2, 5, 9])
def test_what_a_reader_sees_does_not_change_with_what_few_others_lifted(others):
    weak, strong = (
        told(seen_by(club(ratio, others=others), "reader")) for ratio in (0.5, 0.72)
    )
    for one, other in zip(weak, strong, strict=True):
        pd.testing.assert_frame_equal(one, other, rtol=1e-9)
    assert PAD not in set(weak[0]["setup"])
    own = weak[1].set_index("setup").loc[PAD]
    assert (own["ratio"], own["shrinkage"]) == (0.6, 0)


def test_from_ten_others_on_the_cohort_is_shown_rounded():
    seen = seen_by(club(0.6543, others=10), "reader")
    row = seen.ratios.set_index("setup").loc[PAD]
    assert (row["ratio"], row["low"], row["high"]) == (0.65, 0.64, 0.67)
    assert (row["lifters"], row["sets"] % 5) == (10, 0)
    assert (seen.log_ratio == seen.log_ratio.round(2)).all()


def test_a_cohort_of_which_one_did_half_is_withheld():
    seen = seen_by(club(0.65, others=12, sets_of_one=14), "reader")
    assert PAD not in set(seen.ratios["setup"])
    assert DUMBBELL in set(seen.ratios["setup"])


def test_no_row_and_no_setup_of_others_is_left():
    seen = seen_by(club(0.65), "reader")
    for name in (
        "trend",
        "personal",
        "set_points",
        "slopes",
        "last",
        "relation",
        "loads",
    ):
        assert set(getattr(seen, name)["lifter"]) <= {"reader"}, name
    seen = seen_by(club(0.65), "Y00")
    assert PAD not in set(seen.setups["setup"])


def test_a_ratio_known_only_through_others_goes_and_own_strength_stays():
    fit = club(0.65)
    mine = fit.personal["lifter"] == "reader"
    fit.personal.loc[mine, ["own_ratio", "own_low", "own_high"]] = np.nan
    seen = seen_by(fit, "reader")
    assert PAD not in set(seen.personal["setup"])
    assert PAD not in seen.personal_cov["reader"][0]
    own = [
        made.trend[(made.trend["lifter"] == "reader") & (made.trend["setup"] == PAD)]
        for made in (fit, seen)
    ]
    assert len(own[0])
    pd.testing.assert_frame_equal(*own)
    assert set(seen.last["setup"]) == {STANDING, PAD}  # nothing carried over the ratio


def first_standing_then_pad(other_pad: float) -> StrengthFit:
    """A real fit of two: the reader changes setup midway, the other does both."""
    sets = made_sets({"reader": [STANDING, PAD], "Z": [STANDING, PAD]}, weeks=16)
    mine, pads = sets["lifter"] == "reader", sets["variant"] == PAD
    early = sets["performed_on"] < sets["performed_on"].max() - pd.Timedelta(weeks=8)
    last_pair = sets["performed_on"] >= sets["performed_on"].max() - pd.Timedelta(
        weeks=9
    )
    sets.loc[pads & ~mine, "load_kg"] *= other_pad
    kept = ~mine | (pads != early) | (last_pair & early)
    return strength.fit_strength(sets[kept].reset_index(drop=True))


def test_gains_of_a_reader_do_not_change_with_what_the_other_lifted():
    fits = [first_standing_then_pad(ratio) for ratio in (0.8, 1.25)]
    gains = [
        fit.slopes.loc[fit.slopes["lifter"] == "reader", "slope_frac_per_week"].iloc[0]
        for fit in fits
    ]
    assert abs(gains[0] - gains[1]) > 1e-4  # of the fit of all they do
    one, other = (seen_by(fit, "reader") for fit in fits)
    pd.testing.assert_frame_equal(one.slopes, other.slopes, rtol=1e-6)
    assert one.hyper == other.hyper


def test_spreads_and_counts_of_all_are_rounded():
    seen = seen_by(club(0.65, others=11), "reader")
    assert (seen.n_lifters, seen.n_obs) == (20, 12)  # of 24; own sets
    alone = made_fit(made_sets({"reader": [STANDING], "Z": [STANDING]}))
    alone = replace(alone, hyper=alone.hyper | {"day_sd": 0.034567})
    seen = seen_by(alone, "reader")
    assert (seen.n_lifters, seen.hyper["day_sd"]) == (1, 0.035)


def test_who_may_see_all_sees_all():
    fit = club(0.65)
    assert seen_by(fit, None) is fit


# Every lifter of the sample logs against every setup of two: whoever reads the report
# knows the own ratio, and the cohort's beside it would give the other's.
def test_no_report_shows_a_cohort_of_few(sample_store):
    store = Store(sample_store)
    fit = strength.fitted(store)
    for reader in ("R02", "R05", "R10"):
        page = reports.report_html(store, reader)
        drawn = re.findall(r'aria-label="([^"]*source: cohort[^"]*)"', page)
        assert all("45° pad" in label for label in drawn)
        hidden = fit.ratios.loc[fit.ratios["lifters"] < 10, "ratio"]
        assert not any(re.search(rf"(?<![\d.]){x:.3f}", page) for x in hidden)
        assert f"Everyone&#39;s ratio is not shown in {len(hidden)} of" in page


def test_no_number_in_a_picture_of_the_report_has_hidden_digits(sample_store):
    page = reports.report_html(Store(sample_store), "R02")
    labels = re.findall(r'aria-label="([^"]*: [^"]*)"', page)
    of_people = [label for label in labels if "source: model" not in label]
    assert {"own log", "everyone&#39;s log"} & set(
        re.findall(r"source: ([^;]*)", " ".join(of_people))
    )
    for label in of_people:
        for number in re.findall(r"\d+\.\d+", label):
            assert len(number.rstrip("0").split(".")[1]) <= 2, label


def frames(app: AppTest) -> list[pd.DataFrame]:
    """The tables that the figures of a page carry to the browser."""
    found = []
    for element in app.get("vega_lite_chart"):
        for table in element.proto.datasets:
            with pa.ipc.open_stream(io.BytesIO(table.data.data)) as stream:
                found.append(stream.read_pandas())
    return found


def test_a_page_of_one_lifter_carries_no_cohort_of_few_and_no_hidden_digit(
    sample_store, monkeypatch
):
    monkeypatch.setenv("LACERTUS_STORE", str(sample_store))
    app = AppTest.from_file(MAIN, default_timeout=120)
    app.query_params["who"] = "R02"
    app.run()
    app = app.switch_page("views/compare_exercises/view.py").run()
    assert not app.exception
    carried = frames(app)
    assert len(carried) >= 4
    fit = strength.fitted(Store(sample_store))
    hidden = fit.ratios.loc[fit.ratios["lifters"] < 11, "ratio"]
    for rows in carried:
        for column in rows.select_dtypes("float"):
            numbers = rows[column].dropna()
            assert not np.isclose(numbers.to_numpy()[:, None], hidden, rtol=1e-4).any()
            short = [float(f"{x:.4g}") for x in numbers]
            np.testing.assert_allclose(numbers, short, rtol=1e-12)
        if "cohort_ratio" in rows:
            shown = rows["cohort_ratio"].dropna()
            assert len(shown) == 1
            assert (shown == shown.round(2)).all()
