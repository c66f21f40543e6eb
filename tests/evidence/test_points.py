"""Direct points, left-out setups and sticking angles, against general libraries."""

import numpy as np
import pandas as pd
import pytest
import statsmodels.api as sm
from elbow_generator import moment, sticking_deg
from scipy import stats
from simulated_fits import (
    DEFAULTS,
    HOLD_COLUMNS,
    REFERENCE,
    STARTS,
    label,
    simulated_fit,
)
from statsmodels.stats.meta_analysis import combine_effects

from analytics.evidence import left_out_sentence, sticking, sticking_agreement
from analytics.evidence.comparison import Comparison
from analytics.evidence.direct import direct_points
from analytics.evidence.failures import failure_points
from analytics.evidence.features import (
    measured_curve,
)
from analytics.evidence.holds import hold_ratios, maximal_holds
from analytics.evidence.left_out import left_out
from analytics.evidence.more_data import plan_sets
from analytics.evidence.observe import Noise
from analytics.evidence.say import hold_sentence
from analytics.evidence.verdict import CAUSES, IDEAS
from analytics.ratios import LogRatios


def failed_sets(fit, shape, *, people=8, seed=3):
    """Failure angles seen by eye, at the other elbow's own sticking angles."""
    rng = np.random.default_rng(seed)
    setups = [(REFERENCE, None), *DEFAULTS, *STARTS]
    rows = [
        (f"R{i:02d}", label(*s), s[0], "failure", at, 30.0, 2.0, np.nan, True, 0.0)
        for s in setups
        for i, at in enumerate(rng.normal(sticking_deg(*s, shape), 8, people), start=1)
    ]
    return pd.DataFrame(rows, columns=HOLD_COLUMNS)


def test_failure_angles_are_moments_on_the_strength_curve_of_the_other_elbow():
    fit = simulated_fit("peaked", setups=DEFAULTS + STARTS)
    fit.holds = failed_sets(fit, "peaked")
    ratios = LogRatios(
        labels=fit.ratio_setups, mean=fit.log_ratio, cov=fit.log_ratio_cov
    )
    found = failure_points(
        fit.holds,
        fit.setups.set_index("setup"),
        ratios,
        reference=REFERENCE,
        reference_kg=20.0,
    )
    table = found.table
    assert set(table["setup"]) <= {REFERENCE, *fit.ratio_setups}
    assert len(table) >= 12
    # analytic: the generator's own moment, its upper arm hanging, at those angles
    truth = np.log(moment(table["angle_deg"].to_numpy(), 0.0, "peaked"))
    gap = np.log(table["moment_nm"].to_numpy()) - truth
    weight = np.linalg.inv(found.cov)
    gap = gap - weight.sum(axis=0) @ gap / weight.sum()  # the level is free
    # chi-square on one less than there are points: no more than 1 log in 1000 so far
    assert gap @ weight @ gap < stats.chi2.ppf(0.999, len(gap) - 1)
    points, cov = direct_points(maximal_holds(fit.holds).table, found)
    curve = measured_curve(points, cov).set_index("quantity")
    top = np.argmax(moment(np.arange(20.0, 130.0), 0.0, "peaked")) + 20
    assert (
        curve.loc["peak_deg", "low"] - 15 <= top <= curve.loc["peak_deg", "high"] + 15
    )


@pytest.mark.external
def test_hold_ratios_are_statsmodels_least_squares_on_lifter_means():
    # statsmodels OLS with a dummy per lifter and per angle but 90
    fit = simulated_fit("peaked", lifters=5, hold_angles=(30.0, 60.0, 90.0, 120.0))
    holds = maximal_holds(fit.holds).table
    ratios = hold_ratios(holds)
    cells = holds.assign(y=np.log(holds["load_kg"]))
    cells = cells.groupby(["lifter", "angle_deg"], as_index=False)["y"].mean()
    design = np.hstack(
        [
            pd.get_dummies(cells["angle_deg"], dtype=float)[[30.0, 60.0, 120.0]],
            pd.get_dummies(cells["lifter"], dtype=float),
        ]
    )
    theirs = sm.OLS(cells["y"], design).fit()
    np.testing.assert_allclose(ratios.ratios.mean, theirs.params[:3], atol=1e-9)
    unscaled = np.asarray(theirs.normalized_cov_params)[:3, :3]
    # our variance adds four holds of 5 % to the residuals (assumed)
    variance = (theirs.ssr + 4 * 0.05**2) / (theirs.df_resid + 4)
    np.testing.assert_allclose(ratios.ratios.cov, variance * unscaled, atol=1e-9)


def test_holds_without_effort_are_floors_beside_holds_to_failure():
    rows = [
        (
            "R1",
            "preacher_curl_0",
            "preacher_curl_0",
            "hold",
            60.0,
            30.0,
            2.0,
            5.0,
            True,
            np.nan,
        ),
        (
            "R1",
            "preacher_curl_0",
            "preacher_curl_0",
            "hold",
            90.0,
            30.0,
            2.0,
            5.0,
            False,
            np.nan,
        ),
        ("R1", REFERENCE, REFERENCE, "failure", 88.0, 30.0, 2.0, np.nan, True, np.nan),
    ]
    holds = pd.DataFrame(rows, columns=HOLD_COLUMNS)
    used = maximal_holds(holds)
    assert used.effort_known
    assert list(used.table["angle_deg"]) == [60.0]
    assert used.table["load_kg"].tolist() == [15.0]  # two arms share a bar
    assert "1 without known effort are floors" in hold_sentence(used)
    unknown = maximal_holds(holds[~holds["failed"]])
    assert not unknown.effort_known
    assert "assumed" in hold_sentence(unknown)


def flat_comparison(observed, cov, draws):
    return Comparison(
        labels=("a", "b"),
        observed=observed,
        cov=cov,
        spread=0.03**2 * (np.eye(2) + 1),
        draws=dict.fromkeys(IDEAS, draws),
    )


@pytest.mark.analytic
def test_left_out_scores_are_normal_log_densities():
    rng = np.random.default_rng(2)
    comparison = flat_comparison(
        np.array([-0.5, 0.0]),
        np.diag([0.01, 0.01]) ** 2,
        np.array([-0.5, 0.0]) + rng.normal(0, 0.05, (600, 2)),
    )
    own = pd.DataFrame(
        {
            "lifter": ["R1", "R2", "R1", "R2"],
            "setup": ["a", "a", "b", "b"],
            "own_ratio": np.exp([-0.52, -0.46, 0.02, -0.03]),
            "own_low": np.exp(np.array([-0.52, -0.46, 0.02, -0.03]) - 0.05),
            "own_high": np.exp(np.array([-0.52, -0.46, 0.02, -0.03]) + 0.05),
        }
    )
    table = left_out(comparison, own, np.array([0.04, 0.04])).set_index("setup")
    own_sd = 0.05 / stats.norm.ppf(0.95)
    noise = own_sd**2 + 0.04**2
    # the other lifter's ratio is known to noise, the lifter's own to noise again
    expected = np.mean(
        [stats.norm.logpdf(-0.52, -0.46, np.sqrt(2 * noise))] * 2,
    )
    assert table.loc["a", "score_cohort_mean"] == pytest.approx(expected)
    # same load: ratio 1, spread as the other setup's log ratio (0, at least 2 %)
    same = np.mean(stats.norm.logpdf([-0.52, -0.46], 0.0, np.sqrt(0.02**2 + noise)))
    assert table.loc["a", "score_same_load"] == pytest.approx(same)
    assert table.loc["a", "error_same_load"] == pytest.approx(
        np.mean(np.expm1([0.52, 0.46]))
    )
    assert table.loc["a", "best"] != "same_load"
    assert "errs by" in left_out_sentence(table.reset_index())


def test_one_lifter_alone_has_no_cohort_mean():
    fit = simulated_fit("peaked", lifters=1, sets=5)
    comparison = flat_comparison(
        np.array([-0.5, 0.0]), 1e-4 * np.eye(2), np.zeros((60, 2))
    )
    names = dict(zip(fit.ratio_setups[:2], "ab", strict=True))
    own = fit.personal.assign(setup=fit.personal["setup"].map(names)).dropna()
    table = left_out(comparison, own, np.array([0.04, 0.04]))
    assert table["score_cohort_mean"].isna().all()
    assert set(table["best"]) <= {"model", "same_load"}


@pytest.mark.external
def test_agreement_of_two_angles_is_cochrans_homogeneity():
    # statsmodels combine_effects: Q of a fixed-effect meta-analysis, for each event
    # by itself; they add up.
    z = stats.norm.ppf(0.95)
    at = np.array([70.0, 80.0, 90.0, 95.0, 88.0])
    sd = np.array([6.0, 5.0, 3.0, 7.0, 4.0])
    table = pd.DataFrame(
        {
            "variant": "standing_barbell_curl",
            "source": ["modelled", "modelled", "logged", "modelled", "traced"],
            "event": ["hold", "stall", "stall", "slowest", "slowest"],
            "elbow_deg": at,
            "low_deg": at - sd * z,
            "high_deg": at + sd * z,
        }
    )
    row = sticking_agreement(table).iloc[0]
    theirs = sum(
        combine_effects(at[[i, j]], sd[[i, j]] ** 2).q for i, j in ((1, 2), (3, 4))
    )
    assert row["chi2"] == pytest.approx(theirs)
    assert row["p_value"] == pytest.approx(stats.chi2.sf(theirs, 2))
    assert row["agree"]
    assert row["sources"] == 3


def test_sticking_lists_all_sources_and_counts_each_lifter_once():
    sets = pd.DataFrame(
        {
            "lifter": ["R1"] * 9 + ["R2", "R3"],
            "variant": "standing_barbell_curl",
            "failed_at_deg": [90.0] * 9 + [80.0, 85.0],
        }
    )
    reps = sets.rename(columns={"failed_at_deg": "sticking_deg"})
    table = sticking(
        ["standing_barbell_curl", "preacher_curl_45"], sets=sets, reps=reps, n_draws=60
    )
    assert list(table.columns) == [
        *("variant", "source", "elbow_deg", "low_deg", "high_deg"),
        *("limit_load_ratio", "evenness", "n", "event"),
    ]
    assert list(zip(table["source"], table["event"], strict=True)) == [
        ("modelled", "hold"),
        ("modelled", "stall"),
        ("modelled", "slowest"),
        ("logged", "stall"),
        ("traced", "slowest"),
        ("modelled", "hold"),
        ("modelled", "stall"),  # hardest at the start: no slow part on the way
    ]
    logged = table[table["source"] == "logged"].iloc[0]
    assert logged["elbow_deg"] == pytest.approx(85.0)  # analytic: mean of 90, 80, 85
    assert logged["n"] == 11
    # Student on 3 lifters (sd 5), and 5 degrees that all readings may share (assumed)
    reach = np.hypot(stats.t.ppf(0.95, 2) * 5 / np.sqrt(3), stats.norm.ppf(0.95) * 5)
    assert logged["high_deg"] - logged["elbow_deg"] == pytest.approx(reach)
    # a sensor is set to about 2 degrees (assumed)
    traced = table[table["source"] == "traced"].iloc[0]
    reach = np.hypot(stats.t.ppf(0.95, 2) * 5 / np.sqrt(3), stats.norm.ppf(0.95) * 2)
    assert traced["high_deg"] - traced["elbow_deg"] == pytest.approx(reach)


def test_readings_that_are_all_equal_are_still_uncertain():
    sets = pd.DataFrame(
        {"lifter": "R1", "variant": "hammer_curl", "failed_at_deg": [85.0] * 7}
    )
    logged = sticking(["hammer_curl"], sets=sets, n_draws=60).iloc[-1]
    assert logged["high_deg"] - logged["low_deg"] >= 10


def test_a_single_source_has_nothing_to_agree_with():
    table = sticking(["preacher_curl_45"], n_draws=60)
    row = sticking_agreement(table).iloc[0]
    assert row["agree"] is None
    assert "Nothing to compare yet" in row["sentence"]


def known_prediction(gap):
    """One logged setup that says nothing, one candidate the shapes differ in."""
    rng = np.random.default_rng(0)
    noise = rng.normal(0, 0.02, (600, 1))
    logged = flat_comparison(np.zeros(2), 10 * np.eye(2), rng.normal(0, 1, (600, 2)))
    candidate = Comparison(
        labels=("new",),
        observed=np.zeros(1),
        cov=np.zeros((1, 1)),
        spread=1e-6 * np.eye(3),
        draws=dict.fromkeys(CAUSES, noise)
        | dict.fromkeys(("flat", "rising"), noise + gap)
        | dict.fromkeys(("inverted", "falling"), noise - gap),
    )
    return logged, candidate


@pytest.mark.analytic
def test_the_planned_chance_is_the_normal_one_of_a_log_bayes_factor():
    # d between N(0, v) and N(+-gap, v): the log Bayes factor against the closer one is
    # (gap^2 - 2 gap |x|) / 2v, x normal with variance v; the chance that it reaches
    # log 10 is that of |x| <= gap / 2 - v log 10 / gap
    gap, noise = 0.2, Noise(set_sd=0.15, between_sd=0.0, lifters=1)
    logged, candidate = known_prediction(gap)
    even = dict.fromkeys(IDEAS, 0.0) | {"peaked": 1e-9}
    plan = plan_sets(even, logged, candidate, noise, seed=1).iloc[0]
    v = 0.02**2 + 0.15**2 / plan["sets"]
    reach = gap / 2 - v * np.log(10) / gap
    expected = 2 * stats.norm.cdf(reach / np.sqrt(v)) - 1
    # 400 simulated logs, three standard errors
    assert plan["chance"] == pytest.approx(expected, abs=3 * 0.5 / np.sqrt(400))


def test_what_tells_nothing_is_not_proposed():
    logged, candidate = known_prediction(0.0)
    even = dict.fromkeys(IDEAS, 0.0) | {"peaked": 1e-9}
    noise = Noise(set_sd=0.05, between_sd=0.0, lifters=1)
    assert plan_sets(even, logged, candidate, noise, seed=1).empty
