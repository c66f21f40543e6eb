"""Censored sets alone: published frontier and censored-regression estimates."""

from pathlib import Path

import numpy as np
import pandas as pd
import pytest
import statsmodels.api as sm
from numpy.testing import assert_allclose
from scipy.integrate import simpson
from scipy.optimize import minimize
from scipy.stats import norm, truncnorm

from analytics.strength.core.censored import (
    below_component,
    normal_component,
    shortfall_component,
    tilt,
)

REFERENCE = Path(__file__).parents[1] / "reference"


def half_normal(y, sd_v, sd_u):
    return shortfall_component(
        0.0,
        y,
        noise_variance=np.full(len(y), sd_v**2),
        shortfall_mean=np.zeros(len(y)),
        shortfall_sd=sd_u,
    )


def frontier() -> tuple[np.ndarray, np.ndarray]:
    d = pd.read_csv(REFERENCE / "frontier41.csv", comment="#")
    x = np.column_stack([np.ones(len(d)), np.log(d.capital), np.log(d.labour)])
    return np.log(d.output.to_numpy()), x


@pytest.mark.published
def test_half_normal_shortfall_reproduces_the_frontier_sample():
    y, x = frontier()

    def loss(p):
        component = half_normal(y, np.exp(p[3]), np.exp(p[4]))
        return -tilt(x @ p[:3], np.zeros(len(y)), [component]).log_z.sum()

    start = [0.5, 0.3, 0.5, np.log(0.2), np.log(0.4)]
    found = minimize(loss, start, method="BFGS", options={"gtol": 1e-6})
    v2, u2 = np.exp(2 * found.x[3:])
    # Coelli 1996, CEPA working paper 96/07, section 5.1 (output of FRONTIER 4.1);
    # the digits also in the documentation of the R package `frontier`
    assert_allclose(-found.fun, -17.027229, atol=1e-5)
    assert_allclose(found.x[:3], [0.56161963, 0.28110205, 0.53647981], atol=1e-4)
    assert_allclose(u2 + v2, 0.21700046, atol=1e-4)
    assert_allclose(u2 / (u2 + v2), 0.79720730, atol=1e-4)


@pytest.mark.published
def test_expected_shortfall_of_the_frontier_sample_gives_its_mean_efficiency():
    y, x = frontier()
    s2, gamma = 0.21700046, 0.79720730
    sd_u, sd_v = np.sqrt(gamma * s2), np.sqrt((1 - gamma) * s2)
    fitted = x @ [0.56161963, 0.28110205, 0.53647981]
    component = half_normal(y, sd_v, sd_u)
    # the distribution function's argument is the posterior of the shortfall
    inner = 1 / np.hypot(1 / sd_u, 1 / sd_v)
    kappa = component.a + component.b * fitted
    mean_u = kappa * inner
    efficiency = np.exp(-mean_u + inner**2 / 2)
    efficiency *= norm.cdf(kappa - inner) / norm.cdf(kappa)
    # Coelli 1996, as above: mean 0.74056772, firms 1-3
    assert_allclose(efficiency.mean(), 0.74056772, atol=1e-6)
    assert_allclose(efficiency[:3], [0.65068880, 0.82889151, 0.72642592], atol=1e-6)


def censored_regression(y, x, start):
    """Largest likelihood of a regression that sees no values below 0."""
    seen = y > 0

    def loss(p):
        mean, sd = x @ p[:-1], np.exp(p[-1])
        here = normal_component(0.0, y[seen], np.full(seen.sum(), sd**2))
        below = below_component(y[~seen], np.full((~seen).sum(), sd))
        total = tilt(mean[seen], np.zeros(seen.sum()), [here]).log_z.sum()
        return -total - tilt(mean[~seen], np.zeros((~seen).sum()), [below]).log_z.sum()

    rough = minimize(loss, start, method="BFGS")
    return minimize(loss, rough.x, method="BFGS", options={"gtol": 1e-7})


@pytest.mark.published
def test_loads_not_lifted_reproduce_tobins_regression():
    d = pd.read_csv(REFERENCE / "tobin.csv", comment="#")
    x = np.column_stack([np.ones(len(d)), d.age, d.quant])
    found = censored_regression(
        d.durable.to_numpy(), x, np.array([15.0, -0.1, -0.05, 1.7])
    )
    # Tobin 1958 data; R survival::survreg 3.5, left-censored at 0
    assert_allclose(-found.fun, -28.9401332, atol=1e-6)
    expected = [15.14486636, -0.12905928, -0.04554166]
    assert_allclose(found.x[:3], expected, rtol=1e-4)
    assert_allclose(np.exp(found.x[3]), 5.57253976, rtol=1e-4)


@pytest.mark.published
def test_loads_not_lifted_reproduce_the_regression_of_601_answers():
    d = pd.read_csv(REFERENCE / "affairs.csv", comment="#")
    y, x = d.affairs.to_numpy(float), sm.add_constant(d.iloc[:, 1:].to_numpy())
    found = censored_regression(y, x, np.array([5.0, 0, 0, 0, 0, 0, 2.0]))
    # Fair 1978 data; R AER::tobit (survreg), left-censored at 0; the manual of AER
    # prints 8.1742, -0.1793, 0.5541, -1.6862, 0.3261, -2.2850, scale 8.247,
    # log likelihood -705.6
    assert_allclose(-found.fun, -705.5762226, atol=1e-6)
    expected = [8.17419743, -0.17933258, 0.55414181]
    expected += [-1.68622049, 0.32605325, -2.28497272]
    assert_allclose(found.x[:6], expected, rtol=1e-4)
    assert_allclose(np.exp(found.x[6]), 8.24708033, rtol=1e-4)


@pytest.mark.analytic
def test_moments_of_a_censored_set_equal_numerical_integration():
    mean, sd = 3.40, 0.08
    y, sd_v, m, sd_u = 3.45, 0.03, 0.05, 0.04
    component = shortfall_component(
        0.0,
        np.array([y]),
        noise_variance=np.array([sd_v**2]),
        shortfall_mean=np.array([m]),
        shortfall_sd=sd_u,
    )
    shortfall = truncnorm(-m / sd_u, np.inf, loc=m, scale=sd_u)
    z, u = np.linspace(3.2, 3.8, 601), np.linspace(0, 0.5, 2001)
    inner = simpson(shortfall.pdf(u) * norm.pdf(y, z[:, None] - u, sd_v), x=u)
    density = norm.pdf(z, mean, sd) * inner
    moments = [simpson(z**k * density, x=z) for k in range(3)]
    found = tilt(np.array([mean]), np.array([sd**2]), [component])
    assert_allclose(found.log_z, np.log(moments[0]), rtol=1e-6)
    assert_allclose(found.mean, moments[1] / moments[0], rtol=1e-7)
    variance = moments[2] / moments[0] - (moments[1] / moments[0]) ** 2
    assert_allclose(found.variance, variance, rtol=1e-4)


@pytest.mark.analytic
def test_a_mistyped_load_hardly_moves_the_belief():
    usual = normal_component(np.log(0.997), np.array([4.1]), np.array([0.02**2]))
    mistyped = normal_component(np.log(0.003), np.array([4.1]), np.array([0.7**2]))
    found = tilt(np.array([3.4]), np.array([0.03**2]), [usual, mistyped])
    # log 2 = 0.69 above a belief of SD 0.03: 19 standard deviations of the sum
    # of both noises, so the share of the usual component is exp(-182) to nothing
    assert found.shares[1, 0] > 1 - 1e-9
    # a normal set of SD 0.7 moves a belief by v / (v + 0.49) of the distance
    assert_allclose(found.mean - 3.4, 0.7 * 0.03**2 / (0.03**2 + 0.49), rtol=1e-6)
