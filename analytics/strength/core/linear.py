"""A general linear mixed model, or local-level model, by (restricted) likelihood.

Ratios between setups are estimated with it; published fits and general libraries
give the same numbers on their own data.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize

from analytics.strength.core.panel import Batch, Panel, Prior, batches
from analytics.strength.core.solve import Solution, prior_gradient, solve
from analytics.strength.core.sums import gram, sums

Floats = NDArray[np.float64]

PARAMETERS = (
    "level_sd",
    "slope_sd",
    "level_slope_correlation",
    "walk_sd",
    "day_sd",
    "setup_sd",
    "setup_slope_sd",
    "set_sd",
)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LinearFit:
    """Estimates of a linear mixed model.

    Attributes
    ----------
    log_likelihood : float
        Restricted, or full if so asked; with all constants.
    values : dict
        Standard deviations and the correlation, by name.
    fixed_mean, fixed_cov : ndarray
        Cohort means in the panel's order.
    converged : bool
    groups, prior, solution : the solved system, for reading off smoothed values.
    """

    log_likelihood: float
    values: dict[str, float]
    fixed_mean: Floats
    fixed_cov: Floats
    converged: bool
    groups: list[Batch]
    prior: Prior
    solution: Solution


def fit_linear(
    panel: Panel,
    y: Floats,
    *,
    free: Sequence[str],
    start: Mapping[str, float],
    restricted: bool = True,
    noise_variance: Floats | None = None,
    priors: Mapping[str, tuple[float, float]] | None = None,
) -> LinearFit:
    """Estimate variances by (restricted) maximum likelihood.

    Parameters
    ----------
    panel : Panel
        Design; sets sorted by cell.
    y : ndarray, shape (n_sets,)
        What was measured.
    free : sequence of str
        Parameters to estimate, from ``PARAMETERS``.
    start : mapping
        Values of all parameters the panel uses; those not free stay.
    restricted : bool
        REML; False for ML.
    noise_variance : ndarray, shape (n_sets,), optional
        Where the noise of each set is known; there is no ``set_sd`` then.
    priors : mapping, optional
        Median and SD of the log of a free standard deviation, log-normal.

    Returns
    -------
    fit : LinearFit

    Notes
    -----
    Quasi-Newton with the exact gradient, then Newton steps with a Hessian by
    differences of that gradient.
    """
    problem = _Linear.of(
        panel,
        y,
        start=start,
        free=free,
        restricted=restricted,
        noise_variance=noise_variance,
        priors=priors or {},
    )
    theta = problem.theta_of(start)
    n = len(y)

    def objective(x: Floats) -> tuple[float, Floats]:
        value, slope, _ = problem.value(x)
        return -value / n, -slope / n

    if len(theta):
        theta = minimize(objective, theta, jac=True, method="BFGS").x
    for _ in range(4 if len(theta) else 0):
        slope = problem.value(theta)[1]
        move = np.linalg.solve(problem.hessian(theta, slope), -slope)
        theta = theta + np.clip(move, -0.5, 0.5)
        if np.abs(move).max() < 1e-8:
            break
    value, slope, solution = problem.value(theta)
    return LinearFit(
        log_likelihood=value,
        values=problem.natural(theta),
        fixed_mean=solution.fixed_mean,
        fixed_cov=solution.fixed_cov,
        converged=bool(np.abs(slope).max(initial=0.0) < 1e-5 * n),
        groups=problem.groups,
        prior=problem.prior(theta),
        solution=solution,
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Linear:
    """Likelihood of one data set, from sums made once."""

    panel: Panel
    groups: list[Batch]
    grams: list[tuple[Floats, Floats]]
    y_square: float
    log_noise: float
    n_obs: int
    free: tuple[str, ...]
    fixed_values: dict[str, float]
    restricted: bool
    priors: Mapping[str, tuple[float, float]]

    @classmethod
    def of(
        cls,
        panel: Panel,
        y: Floats,
        *,
        start: Mapping[str, float],
        free: Sequence[str],
        restricted: bool,
        noise_variance: Floats | None,
        priors: Mapping[str, tuple[float, float]],
    ) -> "_Linear":
        groups = batches(panel)
        noise = np.ones(len(y)) if noise_variance is None else noise_variance
        unit = sums(
            panel,
            precision=1 / noise,
            weighted_y=y / noise,
            cell_variance=np.zeros(panel.n_cells),
        )
        known = {} if noise_variance is None else {"set_sd": 1.0}
        return cls(
            panel=panel,
            groups=groups,
            grams=[gram(b, unit) for b in groups],
            y_square=float(y @ (y / noise)),
            log_noise=float(np.log(noise).sum()),
            n_obs=len(y),
            free=tuple(free),
            fixed_values=dict(start) | known,
            restricted=restricted,
            priors=priors,
        )

    def theta_of(self, values: Mapping[str, float]) -> Floats:
        """Unconstrained free parameters."""
        return np.array(
            [
                np.arctanh(values[k])
                if k.endswith("correlation")
                else np.log(values[k])
                for k in self.free
            ]
        )

    def natural(self, theta: Floats) -> dict[str, float]:
        """All parameters on their own scale."""
        out = dict(self.fixed_values)
        for name, value in zip(self.free, theta, strict=True):
            squash = np.tanh if name.endswith("correlation") else np.exp
            out[name] = float(squash(value))
        return out

    def prior(self, theta: Floats) -> Prior:
        """Prior with flat cohort means."""
        v = self.natural(theta)
        p = self.panel.n_fixed
        return Prior(
            level_sd=v["level_sd"],
            slope_sd=v.get("slope_sd", 1.0),
            level_slope_correlation=v.get("level_slope_correlation", 0.0),
            walk_sd=v.get("walk_sd", 0.0),
            day_sd=v.get("day_sd", 1.0),
            cell_sd=0.0,
            setup_sd=np.full(self.panel.n_setups, v.get("setup_sd", 1.0)),
            setup_slope_sd=v.get("setup_slope_sd", 1.0),
            set_term_sd=np.ones(len(self.panel.local_set_terms)),
            fixed_mean=np.zeros(p),
            fixed_precision=np.zeros(p),
        )

    def value(self, theta: Floats) -> tuple[float, Floats, Solution]:
        """Log likelihood (times the priors), its gradient and the solution."""
        v = self.natural(theta)
        precision = v["set_sd"] ** -2
        grams = [(g * precision, b * precision) for g, b in self.grams]
        prior = self.prior(theta)
        solution = solve(
            self.panel, self.groups, prior, grams=grams, restricted=self.restricted
        )
        constant = -0.5 * self.n_obs * np.log(2 * np.pi * v["set_sd"] ** 2)
        constant -= 0.5 * self.log_noise
        log_l = solution.log_z + constant - 0.5 * precision * self.y_square
        slope = prior_gradient(self.panel, self.groups, prior, solution)
        slope["setup_sd"] = slope["setup_sd"].sum()
        slope["set_sd"] = np.array(self._squares(solution) * precision - self.n_obs)
        slope["level_slope_correlation"] = slope["level_slope_correlation"] * (
            1 - v.get("level_slope_correlation", 0.0) ** 2
        )
        for name, (median, log_sd) in self.priors.items():
            off = np.log(v[name] / median) / log_sd
            log_l -= 0.5 * off**2
            slope[name] = slope[name] - off / log_sd
        return float(log_l), np.array([float(slope[k]) for k in self.free]), solution

    def _squares(self, solution: Solution) -> float:
        """Return the expected residual sum of squares under the posterior."""
        total = self.y_square
        for (g, b), part in zip(self.grams, solution.parts, strict=True):
            total -= 2 * float((part.mean * b).sum())
            total += float((g * part.cov).sum())
            total += float(np.einsum("bc,bcd,bd->", part.mean, g, part.mean))
        return total

    def hessian(self, theta: Floats, slope: Floats) -> Floats:
        """Differences of the gradient."""
        step = 1e-5
        rows = []
        for k in range(len(theta)):
            there = theta.copy()
            there[k] += step
            rows.append((self.value(there)[1] - slope) / step)
        h = np.array(rows)
        return (h + h.T) / 2
