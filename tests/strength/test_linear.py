"""The linear part of the strength model against general mixed-model libraries."""

from pathlib import Path

import numpy as np
import pandas as pd
import pytest
import statsmodels.api as sm
from numpy.testing import assert_allclose

from analytics.strength.core.linear import LinearFit, fit_linear
from analytics.strength.core.local_level import smooth
from analytics.strength.core.panel import Panel

REFERENCE = Path(__file__).parents[1] / "reference"


def read(name: str) -> pd.DataFrame:
    return pd.read_csv(REFERENCE / f"{name}.csv", comment="#")


def panel(
    person,
    *,
    weeks=None,
    setup=None,
    terms=None,
    days=False,
    **parts,
) -> Panel:
    """A panel in which every row is a cell of its own."""
    n = len(person)
    lifter = pd.factorize(np.asarray(person))[0]
    number = pd.Series(lifter).groupby(lifter).cumcount().to_numpy()
    setup = (
        np.zeros(n, dtype=int) if setup is None else pd.factorize(setup, sort=True)[0]
    )
    defaults = {
        "slope": False,
        "setups": False,
        "setup_slopes": False,
        "setup_means": False,
        "mean_slope": False,
    }
    return Panel(
        cell_of_set=np.arange(n),
        lifter_of_set=lifter,
        lifter_of_cell=lifter,
        day_of_cell=number,
        setup_of_cell=setup,
        weeks_of_cell=np.zeros(n) if weeks is None else np.asarray(weeks, dtype=float),
        cell_terms=np.zeros((n, 0))
        if terms is None
        else np.asarray(terms, dtype=float),
        set_terms=np.zeros((n, 0)),
        n_setups=int(setup.max()) + 1,
        days=days,
        **(defaults | parts),
    )


def correlated_slopes(unit, weeks, y, *, start, **how) -> LinearFit:
    """Fit a level and a slope of each unit, which go together."""
    level_sd, slope_sd, set_sd = start
    begin = {
        "level_sd": level_sd,
        "slope_sd": slope_sd,
        "level_slope_correlation": 0.1,
        "set_sd": set_sd,
    }
    whole = panel(unit, weeks=weeks, slope=True, mean_slope=True)
    return fit_linear(whole, y.to_numpy(), free=tuple(begin), start=begin, **how)


def variances(fit: LinearFit, *names: str) -> list[float]:
    return [fit.values[n] ** 2 for n in names]


@pytest.mark.published
def test_correlated_slopes_of_sleepstudy_match_the_published_reml():
    d = read("sleepstudy")
    fit = correlated_slopes(d.subject, d.days, d.reaction, start=(30, 5, 30))
    # Bates et al. 2015, J Stat Softw 67(1), section 1: REML criterion 1743.6;
    # the further digits: lme4 1.1-31
    assert_allclose(-2 * fit.log_likelihood, 1743.628272, atol=1e-4)
    assert_allclose(fit.fixed_mean, [251.4051048, 10.4672860], rtol=1e-6)
    se = np.sqrt(np.diag(fit.fixed_cov))
    assert_allclose(se, [6.8245967, 1.5457896], rtol=1e-4)
    found = variances(fit, "level_sd", "slope_sd", "set_sd")
    assert_allclose(found, [612.100158, 35.071714, 654.940008], rtol=1e-4)
    assert_allclose(fit.values["level_slope_correlation"], 0.0655512, rtol=2e-3)


@pytest.mark.published
def test_correlated_slopes_of_sleepstudy_match_the_published_ml():
    d = read("sleepstudy")
    fit = correlated_slopes(
        d.subject, d.days, d.reaction, start=(30, 5, 30), restricted=False
    )
    # Bates et al. 2015, section 1: deviance 1751.9; further digits: lme4 1.1-31
    assert_allclose(-2 * fit.log_likelihood, 1751.939344, atol=1e-4)
    found = variances(fit, "level_sd", "slope_sd", "set_sd")
    assert_allclose(found, [565.476966, 32.681785, 654.945706], rtol=1e-4)


@pytest.mark.published
def test_uncorrelated_slopes_of_sleepstudy_match_the_published_reml():
    d = read("sleepstudy")
    fit = fit_linear(
        panel(d.subject, weeks=d.days, slope=True, mean_slope=True),
        d.reaction.to_numpy(),
        free=("level_sd", "slope_sd", "set_sd"),
        start={"level_sd": 30, "slope_sd": 5, "set_sd": 30},
    )
    # Bates et al. 2015, section 3; digits: lme4 1.1-31
    assert_allclose(-2 * fit.log_likelihood, 1743.669294, atol=1e-4)
    found = variances(fit, "level_sd", "slope_sd", "set_sd")
    assert_allclose(found, [627.569051, 35.858380, 653.583501], rtol=1e-4)


@pytest.mark.published
def test_stools_match_the_published_reml():
    d = read("ergostool")
    types = pd.get_dummies(d.type).to_numpy(float)[:, 1:]
    fit = fit_linear(
        panel(d.subject, terms=types),
        d.effort.to_numpy(float),
        free=("level_sd", "set_sd"),
        start={"level_sd": 1, "set_sd": 1},
    )
    # Pinheiro and Bates 2000, section 1.2: 1.332, 1.100; digits: lme4 1.1-31
    assert_allclose(-2 * fit.log_likelihood, 121.130789, atol=1e-4)
    expected = [8.5555556, 3.8888889, 2.2222222, 0.6666667]
    assert_allclose(fit.fixed_mean, expected, atol=1e-6)
    found = [fit.values["level_sd"], fit.values["set_sd"]]
    assert_allclose(found, [1.332465, 1.100295], rtol=1e-5)


@pytest.mark.published
def test_stools_as_setups_give_the_same_means_as_stools_as_covariates():
    d = read("ergostool")
    fit = fit_linear(
        panel(d.subject, setup=d.type, setups=True, setup_means=True),
        d.effort.to_numpy(float),
        free=("level_sd", "set_sd"),
        start={"level_sd": 1, "set_sd": 1, "setup_sd": 1e-6},
    )
    # Pinheiro and Bates 2000, section 1.2, as above
    expected = [8.5555556, 3.8888889, 2.2222222, 0.6666667]
    assert_allclose(fit.fixed_mean, expected, atol=1e-5)
    assert_allclose(-2 * fit.log_likelihood, 121.130789, atol=1e-3)


@pytest.mark.published
def test_casks_within_batches_match_the_published_reml():
    d = read("pastes").sort_values(["batch", "cask"])
    fit = fit_linear(
        panel(d.batch, setup=d.cask, setups=True),
        d.strength.to_numpy(),
        free=("level_sd", "setup_sd", "set_sd"),
        start={"level_sd": 1, "setup_sd": 2, "set_sd": 1},
    )
    # Bates et al. 2015 print SD 2.904, 1.287, 0.823; digits: lme4 1.1-31
    assert_allclose(-2 * fit.log_likelihood, 246.990746, atol=1e-4)
    assert_allclose(fit.fixed_mean, [60.0533333], rtol=1e-7)
    found = variances(fit, "level_sd", "setup_sd", "set_sd")
    assert_allclose(found, [1.657308, 8.433668, 0.678000], rtol=1e-4)


@pytest.mark.published
def test_children_with_a_covariate_match_the_published_reml():
    d = read("orthodont")
    fit = fit_linear(
        panel(
            d.subject,
            weeks=d.age,
            terms=(d.sex == "Female").to_numpy()[:, None],
            mean_slope=True,
        ),
        d.distance.to_numpy(),
        free=("level_sd", "set_sd"),
        start={"level_sd": 1, "set_sd": 1},
    )
    # Pinheiro and Bates 2000, section 1.4; digits: lme4 1.1-31
    assert_allclose(-2 * fit.log_likelihood, 437.512508, atol=1e-4)
    assert_allclose(fit.fixed_mean, [17.7067130, 0.6601852, -2.3210227], rtol=1e-6)
    found = variances(fit, "level_sd", "set_sd")
    assert_allclose(found, [3.266784, 2.049456], rtol=1e-4)


@pytest.mark.external
def test_pigs_match_lme4():
    path = Path(sm.__file__).parent / "regression/tests/results/dietox.csv"
    d = pd.read_csv(path).sort_values(["Pig", "Time"])
    fit = correlated_slopes(d.Pig, d.Time, d.Weight, start=(4, 1, 2))
    # lme4 1.1-31: Weight ~ Time + (Time | Pig)
    assert_allclose(-2 * fit.log_likelihood, 4434.094918, atol=1e-4)
    assert_allclose(fit.fixed_mean, [15.7386502, 6.9390141], rtol=1e-6)
    found = variances(fit, "level_sd", "slope_sd", "set_sd")
    assert_allclose(found, [19.492939, 0.4160583, 6.0374688], rtol=1e-4)


@pytest.mark.external
@pytest.mark.filterwarnings("ignore")  # statsmodels calls an inner optimum a boundary
def test_unbalanced_lifters_and_setups_match_statsmodels():
    rng = np.random.default_rng(11)
    lifter = np.repeat(np.arange(25), 24)
    setup = rng.integers(0, 3, len(lifter))
    week = rng.uniform(-8, 8, len(lifter))
    personal = rng.normal(0, 0.08, (25, 3))
    y = 3.4 + rng.normal(0, 0.2, 25)[lifter] + personal[lifter, setup] + 0.004 * week
    y = y + np.array([0, -0.1, 0.05])[setup] + rng.normal(0, 0.05, len(y))
    keep = rng.random(len(y)) < 0.7
    d = pd.DataFrame({"y": y, "lifter": lifter, "setup": setup, "week": week})[keep]
    fit = fit_linear(
        panel(
            d.lifter,
            weeks=d.week,
            setup=d.setup,
            setups=True,
            setup_means=True,
            mean_slope=True,
        ),
        d.y.to_numpy(),
        free=("level_sd", "setup_sd", "set_sd"),
        start={"level_sd": 0.3, "setup_sd": 0.1, "set_sd": 0.1},
    )
    # statsmodels MixedLM, REML, same data; its optimiser stops early, so its
    # criterion may only be worse than ours
    other = sm.MixedLM.from_formula(
        "y ~ week + C(setup)",
        d,
        groups="lifter",
        re_formula="1",
        vc_formula={"s": "0 + C(setup)"},
    ).fit(reml=True, method="powell")
    assert fit.log_likelihood >= other.llf - 1e-4
    expected = other.fe_params[["Intercept", "week", "C(setup)[T.1]", "C(setup)[T.2]"]]
    assert_allclose(fit.fixed_mean, expected, rtol=2e-3)
    assert_allclose(variances(fit, "set_sd"), other.scale, rtol=2e-3)


NILE = sm.datasets.nile.load_pandas().data["volume"].to_numpy()


def nile(free, day_sd, walk_sd) -> tuple[LinearFit, Panel]:
    """Local level: the noise is the day effect and a set's own of variance 1."""
    design = panel(np.zeros(len(NILE)), weeks=np.arange(len(NILE)), days=True)
    start = {"level_sd": 1.0, "set_sd": 1.0, "day_sd": day_sd, "walk_sd": walk_sd}
    return fit_linear(design, NILE - NILE.mean(), free=free, start=start), design


@pytest.mark.published
def test_nile_local_level_matches_durbin_and_koopman():
    fit, _ = nile(("day_sd", "walk_sd"), 100.0, 30.0)
    # Durbin and Koopman 2012, section 2.10.3: variances 15099 and 1469.1, value
    # from memory; diffuse log likelihood -633.4645636 by statsmodels 0.15. It
    # counts the diffuse first value as an observation with a factor of 2 pi. The
    # likelihood is flat, so the variances are compared at 0.5 %.
    diffuse = fit.log_likelihood - 0.5 * np.log(2 * np.pi)
    assert_allclose(diffuse, -633.4645636, atol=1e-3)
    day, walk = variances(fit, "day_sd", "walk_sd")
    assert_allclose([day + 1, walk], [15099, 1469.1], rtol=5e-3)


def smooth_nile(noise, step):
    """One series of the smoother, its steps equal."""
    n = len(NILE)
    y = NILE[None, :, None]
    return smooth(y, noise=np.full((1, n), noise), step=np.full((1, n), step))


@pytest.mark.external
def test_smoothed_level_of_the_nile_matches_unobserved_components():
    model = sm.tsa.UnobservedComponents(NILE, "local level", use_exact_diffuse=True)
    there = model.smooth([15099.0, 1469.1])
    found = smooth_nile(15099.0, 1469.1)
    assert_allclose(found.mean[0, :, 0], there.smoothed_state[0], rtol=1e-9)
    assert_allclose(found.variance[0], there.smoothed_state_cov[0, 0], rtol=1e-9)
    # statsmodels 0.15: its diffuse first value adds no term to the likelihood
    diffuse = found.log_likelihood[0] - 0.5 * np.log(2 * np.pi)
    assert_allclose(diffuse, there.llf, atol=1e-6)


@pytest.mark.published
def test_smoothed_level_of_the_nile_matches_durbin_and_koopman():
    found = smooth_nile(15099.0, 1469.1)
    # Durbin and Koopman 2012, section 2.2 and figure 2.2 (value from memory): the
    # variance settles to the same constant in the middle; by algebra of the steady
    # state the filter's is (q + sqrt(q^2 + 4 q)) / 2 noise less q, q = step / noise
    q = 1469.1 / 15099.0
    ahead = (q + np.sqrt(q**2 + 4 * q)) / 2
    filtered = ahead / (1 + ahead)
    assert_allclose(found.variance[0, -1], 15099.0 * filtered, rtol=1e-6)
    # printed: filtered variance 4032.16 in the steady state, hence 63.5 as its root
    assert_allclose(found.variance[0, -1], 4032.16, atol=0.1)


@pytest.mark.analytic
def test_balanced_lifters_by_setups_by_weeks_equal_the_closed_form():
    rng = np.random.default_rng(3)
    n, v, w = 60, 4, 10
    lifter, setup, week = (
        a.ravel() for a in np.meshgrid(range(n), range(v), range(w), indexing="ij")
    )
    y = rng.normal(0, 0.25, n)[lifter] + rng.normal(0, 0.06, (n, v))[lifter, setup]
    y = 3.4 + y + 0.0025 * week + rng.normal(0, 0.045, len(y))
    fit = fit_linear(
        panel(
            lifter,
            weeks=week,
            setup=setup,
            setups=True,
            setup_means=True,
            mean_slope=True,
        ),
        y,
        free=("level_sd", "setup_sd", "set_sd"),
        start={"level_sd": 0.3, "setup_sd": 0.1, "set_sd": 0.1},
    )
    # balanced two-way layout: REML equals the analysis of variance
    cube = y.reshape(n, v, w)
    cell, person, kind = cube.mean(2), cube.mean((1, 2)), cube.mean((0, 2))
    x = np.arange(w) - (w - 1) / 2
    slope = (cube * x).sum() / (n * v * (x**2).sum())
    within = ((cube - cell[..., None] - slope * x) ** 2).sum() / (n * v * (w - 1) - 1)
    both = cell - person[:, None] - kind + cube.mean()
    ms_cell = w * (both**2).sum() / ((n - 1) * (v - 1))
    ms_person = v * w * ((person - cube.mean()) ** 2).sum() / (n - 1)
    expected = [(ms_person - ms_cell) / (v * w), (ms_cell - within) / w, within]
    found = variances(fit, "level_sd", "setup_sd", "set_sd")
    assert_allclose(found, expected, rtol=1e-6)
    assert_allclose(fit.fixed_mean[1], slope, rtol=1e-6)
