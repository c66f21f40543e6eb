"""The numeric core of the curve test against general libraries and closed forms."""

import numpy as np
import pytest
import statsmodels.api as sm
from scipy import stats
from statsmodels.tools import eval_measures

from analytics.evidence.comparison import (
    Comparison,
    draw_weights,
    goodness_of_fit,
    length_information,
    log_densities,
    log_evidence,
    predictive,
    smoothed,
)
from analytics.evidence.left_out import left_out_prediction
from analytics.evidence.verdict import CAUSES, RIVALS, shape_weights

RNG = np.random.default_rng(11)


def conjugate(n_draws=20_000, n=3, shift=0.3):
    """Gaussian predictions whose evidence is known exactly."""
    rng = np.random.default_rng(5)
    root = np.array([[0.1, 0, 0], [0.05, 0.08, 0], [0.02, 0.03, 0.06]])[:n, :n]
    z = rng.standard_normal((n_draws, n))
    z = (z - z.mean(0)) @ np.linalg.inv(
        np.linalg.cholesky(np.atleast_2d(np.cov(z.T, ddof=0)))
    ).T
    means = {
        "peaked": np.zeros(n),
        "flat": np.full(n, shift),
        "inverted": np.full(n, -shift),
        "rising": np.full(n, 2 * shift),
        "falling": np.full(n, -2 * shift),
        "leverage": np.full(n, 3 * shift),
        "mild": np.full(n, -3 * shift),
    }
    comparison = Comparison(
        labels=tuple("abc")[:n],
        observed=np.array([0.05, -0.02, 0.04])[:n],
        cov=np.diag([0.02, 0.03, 0.04])[:n, :n] ** 2,
        spread=0.03**2 * (np.eye(n) + 1),
        draws={shape: mean + z @ root.T for shape, mean in means.items()},
    )
    return comparison, means, root @ root.T


@pytest.mark.external
def test_one_draw_density_is_scipys_multivariate_normal():
    # scipy.stats.multivariate_normal.logpdf; with equal draws the kernel has no width
    cov = np.array([[0.02, 0.005], [0.005, 0.03]])
    draws = np.tile([0.1, -0.2], (4, 1))
    observed = np.array([0.0, 0.1])
    expected = stats.multivariate_normal.logpdf(observed, draws[0], cov)
    np.testing.assert_allclose(
        log_densities(observed, cov, draws), expected, rtol=1e-10
    )


@pytest.mark.analytic
def test_evidence_of_gaussian_predictions_is_the_conjugate_closed_form():
    # p(d) = N(d; m, S + D + M) when the predictions are N(m, M)
    comparison, means, model = conjugate()
    evidence = log_evidence(comparison)
    total = comparison.cov + comparison.spread + model
    exact = {
        shape: stats.multivariate_normal.logpdf(comparison.observed, mean, total)
        for shape, mean in means.items()
    }
    # 20,000 draws leave the evidence of the shape that fits within 0.05 nats
    assert evidence["peaked"] == pytest.approx(exact["peaked"], abs=0.05)
    # a peaked strength is any of its three causes, as likely beforehand
    closed = {shape: np.exp(value) for shape, value in exact.items()}
    peaked = np.mean([closed[cause] for cause in CAUSES])
    rivals = sum(closed[rival] for rival in RIVALS)
    assert shape_weights(evidence)["peaked"] == pytest.approx(
        peaked / (peaked + rivals), abs=0.01
    )


@pytest.mark.analytic
def test_posterior_mean_of_the_draws_is_the_conjugate_one():
    # E[m | d] = M (S + D + M)^-1 d for predictions N(0, M)
    comparison, _, model = conjugate()
    weights = draw_weights(comparison)
    total = comparison.cov + comparison.spread + model
    exact = model @ np.linalg.solve(total, comparison.observed)
    found = weights @ comparison.draws["peaked"]
    np.testing.assert_allclose(found, exact, atol=0.006)


@pytest.mark.external
def test_fit_statistic_and_p_value_are_those_of_generalised_least_squares():
    # statsmodels GLS of the gap on nothing: its weighted sum of squares is the
    # statistic; scipy.stats.chi2 gives the tail
    comparison, _, model = conjugate()
    chi2, dof, p_value = goodness_of_fit(comparison)
    total = comparison.cov + comparison.spread + model * 20_000 / 19_999
    gls = sm.GLS(comparison.observed, np.ones((3, 1)), sigma=total)
    assert chi2 == pytest.approx(float(gls.wendog @ gls.wendog), rel=1e-6)
    assert dof == 3
    assert p_value == pytest.approx(1 - stats.chi2(3).cdf(chi2), rel=1e-9)


@pytest.mark.external
def test_evidence_differences_are_half_those_of_statsmodels_information_criteria():
    # statsmodels GLM, Gaussian with known scale, one free level and the shape as
    # offset: with equal numbers of parameters AIC and BIC differ by -2 log likelihood,
    # and a level with a flat prior (standard deviation 10) leaves the same difference.
    x = RNG.normal(size=30)
    sd = 0.1
    y = 0.04 * x + RNG.normal(size=30) * sd
    slopes = {"peaked": 0.04, "flat": 0.0, "inverted": -0.04}
    comparison = Comparison(
        labels=tuple(map(str, range(30))),
        observed=y,
        cov=sd**2 * np.eye(30),
        spread=10.0**2 * np.ones((30, 30)),
        draws={shape: np.tile(k * x, (3, 1)) for shape, k in slopes.items()},
    )
    evidence = log_evidence(comparison)
    fits = {
        shape: sm.GLM(y, np.ones(30), offset=k * x).fit(scale=sd**2).llf_scaled(sd**2)
        for shape, k in slopes.items()
    }
    for rival in ("flat", "inverted"):
        gap = -2 * (evidence["peaked"] - evidence[rival])
        for criterion in (eval_measures.aic, eval_measures.bic):
            theirs = criterion(fits["peaked"], 30, 1) - criterion(fits[rival], 30, 1)
            assert gap == pytest.approx(theirs, abs=1e-4)


@pytest.mark.analytic
def test_left_out_prediction_is_the_gaussian_conditional():
    # conditional of a normal: m_j + C_jr C_rr^-1 (d_r - m_r)
    comparison, _, model = conjugate()
    mean, sd, score = left_out_prediction(comparison)
    total = comparison.cov + comparison.spread + model
    d = comparison.observed
    for j in range(3):
        r = [i for i in range(3) if i != j]
        gain = np.linalg.solve(total[np.ix_(r, r)], total[r, j])
        var = total[j, j] - total[r, j] @ gain
        assert mean[j] == pytest.approx(gain @ d[r], abs=0.006)
        assert sd[j] == pytest.approx(np.sqrt(var), rel=0.06)
        assert score[j] == pytest.approx(
            stats.norm.logpdf(d[j], gain @ d[r], np.sqrt(var)), abs=0.1
        )


@pytest.mark.analytic
def test_left_out_scores_add_up_by_the_chain_rule():
    # log p(d_j | rest) = log p(d) - log p(rest), up to the kernels' width
    comparison, _, _ = conjugate()
    _, _, score = left_out_prediction(comparison)
    for j in range(3):
        rest = comparison.subset(np.arange(3) != j)
        chain = log_evidence(comparison)["peaked"] - log_evidence(rest)["peaked"]
        assert score[j] == pytest.approx(chain, abs=0.05)


@pytest.mark.analytic
def test_information_of_two_gaussians_is_their_mahalanobis_distance():
    comparison, means, model = conjugate()
    each, together = length_information(comparison)
    gap = means["flat"]
    cov = model + comparison.spread
    np.testing.assert_allclose(each, gap / np.sqrt(np.diag(cov)), rtol=0.01)
    assert together == pytest.approx(np.sqrt(gap @ np.linalg.solve(cov, gap)), rel=0.01)


@pytest.mark.analytic
def test_scaling_all_spreads_leaves_weights_at_even_odds():
    # an observation that says nothing leaves the equal priors
    comparison, _, _ = conjugate()
    silent = comparison.at(comparison.observed, 1e4 * np.eye(3))
    for weight in shape_weights(log_evidence(silent)).values():
        assert weight == pytest.approx(1 / 5, abs=1e-4)


def test_a_single_setup_is_compared_without_matrices_collapsing():
    comparison, _, _ = conjugate(n=1)
    chi2, dof, p_value = goodness_of_fit(comparison)
    assert dof == 1
    assert 0 < p_value <= 1
    assert chi2 >= 0
    mean, _, _ = left_out_prediction(comparison)
    assert mean[0] == pytest.approx(0.0, abs=1e-3)


@pytest.mark.external
@pytest.mark.parametrize(("draws", "n"), [(50, 1), (400, 3)])
def test_the_kernels_width_is_silvermans(draws, n):
    # scipy.stats.gaussian_kde's Silverman factor; the cloud keeps mean and covariance
    cloud = RNG.normal(size=(draws, n))
    centres, kernel = smoothed(cloud)
    kde = stats.gaussian_kde(cloud.T, bw_method="silverman")
    np.testing.assert_allclose(kernel, kde.covariance, rtol=1e-12)
    np.testing.assert_allclose(centres.mean(axis=0), cloud.mean(axis=0), atol=1e-12)
    whole = np.cov(centres, rowvar=False) + kernel
    np.testing.assert_allclose(whole, np.atleast_2d(np.cov(cloud, rowvar=False)))


def two_structures(observed, *, spread=0.02**2, further=()):
    """Two muscle sets that predict -0.1 and 0.1 without doubt, for one setup."""
    cloud = np.repeat([[-0.1], [0.1]], 40, axis=0)
    return Comparison(
        labels=("a",),
        observed=np.array([observed]),
        cov=np.array([[0.02**2]]),
        spread=np.array([[spread]]),
        further=further,
        draws=dict.fromkeys(("peaked", "flat", "inverted", "rising", "falling"), cloud),
        structures=(slice(0, 40), slice(40, 80)),
    )


@pytest.mark.analytic
@pytest.mark.parametrize("observed", [0.0, 0.004, -0.1])
def test_structures_mix_by_what_they_say_of_the_log(observed):
    # law of total variance over two points weighed by their normal densities
    mean, sd = predictive(two_structures(observed))
    height = stats.norm.pdf(observed, [-0.1, 0.1], np.hypot(0.02, 0.02))
    weight = height / height.sum()
    middle = weight @ [-0.1, 0.1]
    between = weight @ (np.array([-0.1, 0.1]) - middle) ** 2
    assert mean[0] == pytest.approx(middle, abs=1e-9)
    assert sd[0] == pytest.approx(np.sqrt(between + 0.02**2), rel=1e-9)


@pytest.mark.analytic
@pytest.mark.parametrize(("observed", "size"), [(0.11, 0.02), (0.5, 0.3)])
def test_the_fit_is_judged_by_the_nearest_structure_at_the_likeliest_size(
    observed, size
):
    two = two_structures(observed, further=(np.array([[0.3**2]]),))
    chi2, _, _ = goodness_of_fit(two)
    gap = observed - 0.1
    assert chi2 == pytest.approx(gap**2 / (0.02**2 + size**2))
