"""Fit of the whole model: parameters, then everything they let one read off.

The variance parameters maximise the propagated evidence times their priors.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize

from analytics.strength.hyper import (
    HyperSpace,
    expected_curvature,
    hyper_space,
    prior_of,
)
from analytics.strength.observe import Observations
from analytics.strength.panel import Batch, Panel, batches, take_lifters
from analytics.strength.posterior import (
    Readings,
    read_off,
    widened_alike,
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
    CURVE_TERMS,
    RESERVE_TERMS,
    called_reserve,
    curve_terms,
    entered_repetitions,
    implied_near,
)

Floats = NDArray[np.float64]

# Steps of each climb; the repetitions to expect are renewed in between. The last is
# for parameters that lie far from where they began.
CLIMBS = (10, 10, 40, 40)
REACH = 1.5  # of a scaled parameter, in one climb
UNKNOWN_SD = 0.1  # of a log strength: four repetitions, too wide to expect any by
SETTLED = 1e-3  # change of a belief, in its own SD, that counts as none
RENEWED, MOST_RENEWALS = 0.02, 12  # the same, from one renewal of the terms to the next
VISIBLE = 0.05  # the same, beyond which a fit has not settled
STEP = 0.1  # of a scaled parameter, for curvature and sensitivity
# What unmarked sets leave in reserve shows only beside sets with known effort.
FEWEST_MARKED = 10
RESERVE = ("shortfall", "shortfall_sd", "easy")
HYPER_LIFTERS = 120  # enough to know the variances to a few per cent
FIRST_LIFTERS = 40  # of those, enough to come near them
MOST = 0.99  # of the sets of a large log must stand still, so that one lifter who is
# slow to settle does not keep the others moving
SWEEP_STEPS = 3  # what a pass over all lifters of a large log costs, in climbing steps


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
    still: float = 0.999
    best: float = -np.inf
    moved: float = np.inf

    def __call__(self, scaled: Floats) -> tuple[float, Floats]:
        theta = self.space.centre + self.space.scale * scaled
        state = propagate(
            self.panel,
            self.groups,
            self.sets,
            self.space.natural(theta),
            self.state,
            tolerance=self.tolerance,
            still=self.still,
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

    def part(self, lifters: NDArray[np.int64]) -> "_Objective":
        """Return the same for some of the lifters."""
        panel, kept = take_lifters(self.panel, lifters)
        state = State(
            precision=self.state.precision[kept], weighted=self.state.weighted[kept]
        )
        return replace(
            self,
            panel=panel,
            groups=batches(panel),
            sets=self.sets.take(kept),
            state=state,
        )

    def read(self, theta: Floats) -> Readings:
        """Posterior of everything shown, at the present sites."""
        assert self.state.solution is not None
        prior = prior_of(self.panel, self.space.natural(theta))
        return read_off(self.panel, self.groups, prior, self.state.solution)

    def begin(self, theta: Floats) -> None:
        """Start afresh from known parameters."""
        values = self.space.natural(theta)
        self.state = first_state(self.sets, values)
        self._propagate(values, sweeps=4)
        self._renew_terms(self.read(theta))

    def settle(self, theta: Floats) -> Readings:
        """Bring sites and terms to rest at the fitted parameters, and read them off."""
        now = self.read(theta)
        share, last = 1.0, np.zeros(self.panel.n_cells)
        for _ in range(MOST_RENEWALS):
            self._renew_terms(now, share)
            self._propagate(self.space.natural(theta), sweeps=60)
            before, now = now, self.read(theta)
            off = (now.cell_mean - before.cell_mean) / np.sqrt(now.cell_variance)
            self.moved = float(np.quantile(np.abs(off), self.still))
            if self.moved < RENEWED:
                break
            share, last = share / 2 if off @ last < 0 else share, off
        return now

    def climb_to(self, theta: Floats, climbs: tuple[int, ...]) -> tuple[Floats, bool]:
        """Climb with terms renewed in between; the last only where still needed."""
        done = False
        for steps in climbs:
            theta, done = self.climb(theta, steps)
            self._renew_terms(self.read(theta))
            if done and steps == CLIMBS[-1]:
                break
        return theta, done

    def _propagate(self, values: dict[str, float], sweeps: int) -> None:
        self.state = propagate(
            self.panel,
            self.groups,
            self.sets,
            values,
            self.state,
            sweeps=sweeps,
            tolerance=self.tolerance,
            still=self.still,
            on_sweep=self.on_step,
        )

    def _renew_terms(self, now: Readings, share: float = 1.0) -> None:
        """Move set terms to the repetitions that the present strength lets expect.

        Strength without the good or bad day: with it, a day on which more was done
        than the load let expect would be taken for the shape of the relation.
        """
        assert self.state.marginals is not None
        panel, sets = self.panel, self.sets
        effects = self.state.marginals.set_effects[panel.lifter_of_set]
        strength = now.cell_mean[panel.cell_of_set]
        strength = strength + (panel.set_terms * effects).sum(axis=1)
        known = now.cell_variance[panel.cell_of_set] < UNKNOWN_SD**2
        expected = np.where(known, strength, sets.implied)
        reps = entered_repetitions(
            expected - sets.log_load, kind=sets.kind, lifter=panel.lifter_of_set
        )
        n = len(CURVE_TERMS)
        gain, stretch = implied_near(sets.repetitions, reps, effects[:, :n])
        varying = curve_terms(sets.kind, sets.called, reps)
        varying[:, RESERVE_TERMS] *= stretch[:, None]
        self.sets = replace(
            sets,
            implied=sets.implied + share * (sets.log_load + gain - sets.implied),
            stretch=sets.stretch + share * (stretch - sets.stretch),
        )
        terms = panel.set_terms.copy()
        terms[:, :n] += share * (varying - terms[:, :n])
        self.panel = replace(panel, set_terms=terms)

    def climb(self, theta: Floats, steps: int) -> tuple[Floats, bool]:
        """Parameters of largest marginal posterior, and whether they were reached."""
        centre, scale = self.space.centre, self.space.scale
        start = np.where(self.held, 0.0, (theta - centre) / scale)
        # Steps in units of about the posterior's SD, so that all are alike.
        known = expected_curvature(
            self.space, self.panel, kind=self.sets.kind, called=self.sets.called
        )
        unit = 1 / np.sqrt(1 + known * scale**2)

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
            options={"maxiter": steps, "ftol": 0.005 / size, "gtol": 0.1},
        )
        at = found.x * unit
        inside = bool(np.abs(at - start).max() < REACH)
        return centre + scale * at, bool(found.success) and inside

    @property
    def settled(self) -> bool:
        """Whether neither another pass nor renewed terms would move a belief."""
        return max(self.state.change, self.moved) < VISIBLE

    @property
    def held(self) -> NDArray[np.bool_]:
        """Parameters that this log cannot tell, which stay at their prior."""
        marked = np.isin(self.sets.kind, ("failure", "rir")).sum()
        return np.isin(self.space.names, RESERVE) & (marked < FEWEST_MARKED)

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
            moved.append(self.read(there_theta))
        # The prior alone has curvature 1 in every scaled direction.
        curvature[self.held], curvature[:, self.held] = 0.0, 0.0
        curvature[self.held, self.held] = 1.0
        size, direction = np.linalg.eigh((curvature + curvature.T) / 2)
        cov = direction / np.maximum(size, 0.7) @ direction.T
        return with_parameter_uncertainty(readings, moved, STEP, cov)


def _sets(seen: Observations) -> Sets:
    return Sets(
        implied=seen.sets["implied"].to_numpy(float),
        reps_error_sd=seen.reps_error_sd,
        kind=seen.sets["kind"].to_numpy(str),
        log_load=seen.sets["log_load"].to_numpy(float),
        repetitions=seen.sets["repetitions"].to_numpy(float),
        called=called_reserve(seen.sets),
        stretch=np.ones(len(seen.sets)),
    )


def infer(
    seen: Observations,
    *,
    start: Floats | None = None,
    on_progress: Callable[[int, int], None] | None = None,
    seed: int = 20260101,
) -> Inference:
    """Fit parameters on at most ``HYPER_LIFTERS``, then all lifters with them.

    What the parameters might also be widens the intervals of all lifters as it
    widens those of the lifters they were fitted on.

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
    sets = _sets(seen)
    space = hyper_space(panel)
    theta = space.centre if start is None or len(start) != len(space.centre) else start
    large = panel.n_lifters > HYPER_LIFTERS
    steps = _Progress(on_progress, 90 + len(theta) if large else 45 + len(theta))
    whole = _Objective(
        panel=panel,
        groups=batches(panel),
        sets=sets,
        space=space,
        state=first_state(sets, space.natural(theta)),
        on_step=steps.step,
    )
    if large:
        whole.still = MOST
        order = np.random.default_rng(seed).permutation(panel.n_lifters)
        few, some = (whole.part(order[:n]) for n in (FIRST_LIFTERS, HYPER_LIFTERS))
        theta, _ = few.climb_to(theta, CLIMBS[:3])
        some.begin(theta)
        theta, success = some.climb_to(theta, CLIMBS[2:])
        seen_of_some = some.settle(theta)
        wider = some.uncertain(theta, seen_of_some)
        whole.on_step = partial(steps.step, SWEEP_STEPS)
        whole.begin(theta)
    else:
        theta, success = whole.climb_to(theta, CLIMBS)
        whole.tolerance = SETTLED
    readings = whole.settle(theta)
    state, converged = whole.state, success and whole.settled
    if large:
        readings = widened_alike(readings, seen_of_some, wider)
    else:
        readings = whole.uncertain(theta, readings)
    steps.finish()
    return Inference(
        panel=whole.panel,
        groups=whole.groups,
        sets=whole.sets,
        space=space,
        theta=theta,
        state=state,
        converged=converged,
        readings=readings,
    )


class _Progress:
    """Steps done against those expected."""

    def __init__(
        self, report: Callable[[int, int], None] | None, expected: int
    ) -> None:
        self.report, self.done, self.expected = report, 0, expected

    def step(self, steps: int = 1) -> None:
        """Count one evaluation, or what costs as much as several."""
        self.done = min(self.done + steps, self.expected - 1)
        if self.report:
            self.report(self.done, self.expected)

    def finish(self) -> None:
        """Report the end."""
        if self.report:
            self.report(self.expected, self.expected)
