"""Fit of the whole model: parameters, then everything they let one read off.

The variance parameters maximise the propagated evidence times their priors.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize

from analytics.strength.hyper import HyperSpace, hyper_space, prior_of
from analytics.strength.observe import Observations
from analytics.strength.panel import Batch, Panel, batches, take_lifters
from analytics.strength.posterior import (
    Readings,
    read_off,
    with_parameter_uncertainty,
)
from analytics.strength.propagation import (
    Sets,
    State,
    evidence_gradient,
    first_state,
    log_evidence,
    propagate,
)
from analytics.strength.terms import (
    called_reserve,
    expected_repetitions,
    set_terms,
    side_contrast,
    usual_repetitions,
)

Floats = NDArray[np.float64]

CLIMBS = (10, 10, 40)  # steps; the repetitions to expect are renewed in between
REACH = 1.5  # of a scaled parameter, in one climb
STEP = 0.1  # of a scaled parameter, for curvature and sensitivity
# What unmarked sets leave in reserve shows only beside sets with known effort. Without
# those, equal straight sets would look like sets that leave nothing.
FEWEST_MARKED = 10
RESERVE = ("shortfall", "shortfall_sd", "easy")
HYPER_LIFTERS = 120  # enough to know the variances to a few per cent


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Inference:
    """A fitted model.

    Attributes
    ----------
    panel, groups, sets : the data
    space : HyperSpace
    theta : ndarray
        Fitted unconstrained parameters.
    state : State
        At the fitted parameters.
    converged : bool
    readings : Readings
        Posterior of everything shown, parameter uncertainty included.
    """

    panel: Panel
    groups: list[Batch]
    sets: Sets
    space: HyperSpace
    theta: Floats
    state: State
    converged: bool
    readings: Readings

    @property
    def suspect(self) -> NDArray[np.bool_]:
        """Sets that are more likely a typing error than not, shape (n_sets,)."""
        assert self.state.tilted is not None
        shares = self.state.tilted.shares
        last = np.where(self.sets.kind == "bound", shares[1], shares[2])
        return last > 0.5


@dataclass(slots=True, kw_only=True, eq=False)
class _Objective:
    """Negative log posterior of the parameters, with sites kept warm."""

    panel: Panel
    groups: list[Batch]
    sets: Sets
    space: HyperSpace
    state: State
    on_step: Callable[[], None]
    tolerance: float = 5e-3
    best: float = -np.inf

    def __call__(self, scaled: Floats) -> tuple[float, Floats]:
        theta = self.space.centre + self.space.scale * scaled
        state = propagate(
            self.panel,
            self.groups,
            self.sets,
            self.space.natural(theta),
            self.state,
            tolerance=self.tolerance,
        )
        gradient = evidence_gradient(
            self.panel, self.groups, self.sets, self.space, theta, state
        )
        gradient = gradient + self.space.log_prior_gradient(theta)
        value = log_evidence(state) + self.space.log_prior(theta)
        # A trial step that went too far leaves no sites behind.
        if value > self.best:
            self.best, self.state = value, state
        self.on_step()
        return -value, -gradient * self.space.scale

    def climb(self, theta: Floats, steps: int) -> tuple[Floats, bool]:
        """Parameters of largest marginal posterior, and whether they were reached."""
        centre, scale = self.space.centre, self.space.scale
        start = np.where(self.held, 0.0, (theta - centre) / scale)
        # Steps in units of about the posterior's SD, so that all are alike.
        unit = 1 / np.sqrt(1 + self._expected_curvature() * scale**2)

        def stretched(x: Floats) -> tuple[float, Floats]:
            value, slope = self(x * unit)
            return value, slope * unit

        self.best = -np.inf
        size = max(abs(self(start)[0]), 1.0)
        reach = np.where(self.held, 0.0, REACH)
        low, high = np.maximum(start - reach, -4.0), np.minimum(start + reach, 4.0)
        found = minimize(
            stretched,
            start / unit,
            jac=True,
            method="L-BFGS-B",
            bounds=np.stack([low / unit, high / unit], axis=1),
            options={"maxiter": steps, "ftol": 0.02 / size, "gtol": 0.2},
        )
        at = found.x * unit
        inside = bool(np.abs(at - start).max() < REACH)
        return centre + scale * at, bool(found.success) and inside

    @property
    def held(self) -> NDArray[np.bool_]:
        """Parameters that this log cannot tell, which stay at their prior."""
        marked = np.isin(self.sets.kind, ("failure", "rir")).sum()
        return np.isin(self.space.names, RESERVE) & (marked < FEWEST_MARKED)

    def _expected_curvature(self) -> Floats:
        """Rough information on each parameter, from how much there is to learn it."""
        kind, panel = self.sets.kind, self.panel
        marked = float(np.isin(kind, ("failure", "rir")).sum())
        called, unmarked = float(self.sets.called.sum()), float((kind == "floor").sum())
        cells, lifters = float(panel.n_cells), float(panel.n_lifters)
        known = {
            "set_sd": 2 * marked,
            "rir_scale": called / 2,
            "outlier": marked / 50,
            "easy": unmarked / 50,
            "shortfall": unmarked / 3,
            "shortfall_sd": 2 * unmarked,
            "day_sd": cells / 3,
            "cell_sd": cells / 3,
            "reserve_day_sd": cells / 3,
            "walk_sd": cells / 10,
            "level_sd": 2 * lifters,
            "setup_sd": 2 * lifters,
        }
        return np.array([known.get(n, lifters / 2) for n in self.space.names])

    def uncertain(self, theta: Floats, readings: Readings) -> Readings:
        """Widen readings by the uncertainty of the parameters (Laplace)."""
        centre, scale = self.space.centre, self.space.scale
        at = (theta - centre) / scale
        start = self.state
        _, slope = self(at)
        curvature = np.zeros((len(at), len(at)))
        moved = []
        for k in range(len(at)):
            there = at.copy()
            there[k] += STEP
            self.state, self.best = start, -np.inf
            _, other = self(there)
            curvature[k] = (other - slope) / STEP
            there_theta = centre + scale * there
            moved.append(
                _read(self.panel, self.groups, self.space, there_theta, self.state)
            )
        # The prior alone has curvature 1 in every scaled direction.
        curvature[self.held], curvature[:, self.held] = 0.0, 0.0
        curvature[self.held, self.held] = 1.0
        size, direction = np.linalg.eigh((curvature + curvature.T) / 2)
        cov = direction / np.maximum(size, 0.7) @ direction.T
        return with_parameter_uncertainty(readings, moved, STEP, cov)


def _read(
    panel: Panel,
    groups: list[Batch],
    space: HyperSpace,
    theta: Floats,
    state: State,
) -> Readings:
    assert state.solution is not None
    prior = prior_of(panel, space.natural(theta))
    return read_off(panel, groups, prior, state.solution)


def infer(
    seen: Observations,
    *,
    start: Floats | None = None,
    on_progress: Callable[[int, int], None] | None = None,
    seed: int = 20260101,
) -> Inference:
    """Fit parameters on (at most 300) lifters, then all lifters with them.

    Parameters
    ----------
    seen : Observations
        Usable sets.
    start : ndarray, optional
        Unconstrained parameters to start from.
    on_progress : callable, optional
        Called with steps done and expected.
    seed : int
        Of the choice of lifters and of the parameter draws.

    Returns
    -------
    inference : Inference
    """
    panel = seen.panel
    sets = Sets(
        implied=seen.sets["implied"].to_numpy(float),
        reps_error_sd=seen.reps_error_sd,
        kind=seen.sets["kind"].to_numpy(str),
        log_load=seen.sets["log_load"].to_numpy(float),
        side=side_contrast(seen.sets),
        repetitions=seen.sets["repetitions"].to_numpy(float),
        usual_repetitions=usual_repetitions(seen.sets),
        called=called_reserve(seen.sets),
    )
    space = hyper_space(panel)
    theta = space.centre if start is None or len(start) != len(space.centre) else start
    steps = _Progress(on_progress)
    small, small_sets = panel, sets
    if panel.n_lifters > HYPER_LIFTERS:
        rng = np.random.default_rng(seed)
        chosen = rng.choice(panel.n_lifters, HYPER_LIFTERS, replace=False)
        small, kept = take_lifters(panel, np.sort(chosen))
        small_sets = sets.take(kept)
    groups = batches(small)
    success = False
    state = first_state(small_sets, space.natural(theta))
    for steps_allowed in CLIMBS:
        objective = _Objective(
            panel=small,
            groups=groups,
            sets=small_sets,
            space=space,
            state=state,
            on_step=steps.step,
        )
        theta, success = objective.climb(theta, steps_allowed)
        state = objective.state
        small = _with_expected_terms(small, groups, small_sets, space, theta, state)
    if panel.n_lifters > HYPER_LIFTERS:
        groups = batches(panel)
        state = first_state(sets, space.natural(theta))
        state = propagate(panel, groups, sets, space.natural(theta), state, sweeps=4)
        small = _with_expected_terms(panel, groups, sets, space, theta, state)
    panel = small
    state = propagate(panel, groups, sets, space.natural(theta), state, sweeps=15)
    readings = _read(panel, groups, space, theta, state)
    if panel.n_lifters <= HYPER_LIFTERS:
        objective = replace(objective, panel=panel, state=state, tolerance=1e-3)
        readings = objective.uncertain(theta, readings)
    steps.finish()
    return Inference(
        panel=panel,
        groups=groups,
        sets=sets,
        space=space,
        theta=theta,
        state=state,
        converged=success and state.change < 0.05,
        readings=readings,
    )


def _with_expected_terms(
    panel: Panel,
    groups: list[Batch],
    sets: Sets,
    space: HyperSpace,
    theta: Floats,
    state: State,
) -> Panel:
    """Set terms at the repetitions that the present strength lets expect."""
    assert state.marginals is not None
    read = _read(panel, groups, space, theta, state)
    effects = state.marginals.set_effects[panel.lifter_of_set]
    expected = read.cell_mean[panel.cell_of_set] + (panel.set_terms * effects).sum(1)
    two_sided = np.isin(sets.kind, ["failure", "rir"])
    reps = expected_repetitions(expected - sets.log_load)
    reps = np.where(two_sided, reps, sets.usual_repetitions)
    return replace(panel, set_terms=set_terms(sets.kind, sets.called, sets.side, reps))


class _Progress:
    """Steps done against about 45 expected."""

    def __init__(self, report: Callable[[int, int], None] | None) -> None:
        self.report, self.done, self.expected = report, 0, 45

    def step(self) -> None:
        """Count one evaluation."""
        self.done = min(self.done + 1, self.expected - 1)
        if self.report:
            self.report(self.done, self.expected)

    def finish(self) -> None:
        """Report the end."""
        if self.report:
            self.report(self.expected, self.expected)
