"""One-sided and suspect sets inside the linear part (expectation propagation).

Each set is replaced by the normal site that changes the belief about it in
the same way; the gradient of the resulting evidence is exact.
"""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, fields
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from analytics.strength.hyper import FAMILIAR_SD, HyperSpace, chain, prior_of
from analytics.strength.panel import Batch, Panel
from analytics.strength.repetitions import relative_luck
from analytics.strength.sites import (
    Component,
    Tilted,
    below_component,
    normal_component,
    normal_log_partition,
    shortfall_component,
    tilt,
)
from analytics.strength.solve import (
    Marginals,
    Solution,
    marginals,
    prior_gradient,
    solve,
)
from analytics.strength.sums import Sums, gram, sums
from analytics.strength.terms import reserve_steepness

Floats = NDArray[np.float64]

OUTLIER_FACTOR = 9.0  # a careless set: three times the usual SD
TYPING_ERROR_SD = 0.7  # a mistyped load: a factor of two either way
TYPING_ERROR_SHARE = 0.003
EASY_SD = 0.6  # warm-ups and back-off sets: far below strength
# A set that swings between error and surprise takes half the step each time it turns.
SHORTEST, LONGER = 0.02, 1.1
LEAST = 1e-7  # precision of a set that says nothing
BOUND_SD = 0.3  # sets beyond 12 reps or 4 in reserve
# Kinds of sets that are treated alike.
ALIKE = {
    "two-sided": ("failure", "rir"),
    "floor": ("floor",),
    "bound": ("bound",),
    "below": ("below",),
}


@dataclass(frozen=True, kw_only=True, eq=False)
class Sets:
    """What is needed of the sets besides the panel.

    Attributes
    ----------
    implied : ndarray, shape (n_sets,)
        Log strength implied or bounded.
    reps_error_sd : ndarray, shape (n_sets,)
    kind : ndarray of str, shape (n_sets,)
    log_load : ndarray, shape (n_sets,)
    repetitions : ndarray, shape (n_sets,)
        Done and, if called, in reserve.
    called : ndarray, shape (n_sets,)
        From :func:`analytics.strength.terms.called_reserve`. [1]
    stretch : ndarray, shape (n_sets,)
        Steepness of the relation over that of the mean one.
    """

    implied: Floats
    reps_error_sd: Floats
    kind: NDArray[np.str_]
    log_load: Floats
    repetitions: Floats
    called: Floats
    stretch: Floats

    @cached_property
    def alike(self) -> dict[str, NDArray[np.int64]]:
        """Positions of the sets of each group of ``ALIKE``."""
        return {
            group: np.flatnonzero(np.isin(self.kind, kinds))
            for group, kinds in ALIKE.items()
        }

    @cached_property
    def luck(self) -> Floats:
        """Luck of a set relative to one of 8 reps, shape (n_sets,)."""
        return relative_luck(self.repetitions)

    def noise(self, values: Mapping[str, float]) -> Floats:
        """Variance of what each set implies, as luck and a wrong call make it."""
        called = values["rir_scale"] * self.stretch * self.reps_error_sd
        return (values["set_sd"] * self.luck) ** 2 + called**2

    @cached_property
    def steep(self) -> Floats:
        """Log strength that one rep in reserve is worth, shape (n_sets,)."""
        return self.stretch * reserve_steepness(self.repetitions)

    def take(self, at: NDArray[np.int64]) -> "Sets":
        """Return some of the sets."""
        return Sets(**{f.name: getattr(self, f.name)[at] for f in fields(self)})


@dataclass(slots=True, kw_only=True, eq=False)
class State:
    """Sites of all sets and what follows from them.

    Attributes
    ----------
    precision, weighted : ndarray, shape (n_sets,)
        Natural parameters of the sites.
    """

    precision: Floats
    weighted: Floats
    solution: Solution | None = None
    marginals: Marginals | None = None
    sums: Sums | None = None
    tilted: Tilted | None = None
    cavity_mean: Floats | None = None
    cavity_variance: Floats | None = None
    change: float = np.inf


def site_tilt(
    sets: Sets,
    values: Mapping[str, float],
    mean: Floats,
    variance: Floats,
    *,
    groups: Iterable[str] = tuple(ALIKE),
) -> Tilted:
    """Belief about every set's strength after the set, by its kind.

    Parameters
    ----------
    sets : Sets
        The sets.
    values : mapping
        Parameters ``SITE_NAMES``.
    mean, variance : ndarray, shape (n_sets,)
        Belief before.
    groups : iterable of str
        Of ``ALIKE``; what others say is nothing, as of sets that a better one of
        the day outdoes.

    Returns
    -------
    tilted : Tilted
    """
    noise = sets.noise(values)
    n = len(mean)
    log_z, m, v = np.zeros(n), mean.copy(), variance.copy()
    shares = np.zeros((3, n))
    for kind in groups:
        if not len(at := sets.alike[kind]):
            continue
        components = _components(
            kind,
            values,
            sets.implied[at],
            noise=noise[at],
            steep=sets.steep[at],
        )
        t = tilt(mean[at], variance[at], components)
        log_z[at], m[at], v[at] = t.log_z, t.mean, t.variance
        shares[: len(components), at] = t.shares
    return Tilted(log_z=log_z, mean=m, variance=v, shares=shares)


def _components(
    kind: str,
    values: Mapping[str, float],
    y: Floats,
    *,
    noise: Floats,
    steep: Floats,
) -> list[Component]:
    typing = TYPING_ERROR_SHARE
    wide = normal_component(np.log(typing), y, noise + TYPING_ERROR_SD**2)
    if kind == "two-sided":
        outlier = values["outlier"]
        usual = normal_component(np.log(1 - outlier - typing), y, noise)
        careless = normal_component(np.log(outlier), y, OUTLIER_FACTOR * noise)
        return [usual, careless, wide]
    if kind == "below":
        return [below_component(y, np.sqrt(noise))]
    easy = values["easy"] if kind == "floor" else 0.0
    floor = kind == "floor"
    core = shortfall_component(
        np.log(1 - easy - typing),
        y,
        noise_variance=noise,
        shortfall_mean=values["shortfall"] * steep if floor else np.zeros(len(y)),
        shortfall_sd=values["shortfall_sd"] * steep if floor else BOUND_SD,
    )
    if not floor:
        return [core, wide]
    light = shortfall_component(
        np.log(easy),
        y,
        noise_variance=noise,
        shortfall_mean=np.zeros(len(y)),
        shortfall_sd=EASY_SD,
    )
    return [core, light, wide]


def first_state(sets: Sets, values: Mapping[str, float]) -> State:
    """Sites to start from: each set by its rough variance alone."""
    noise = sets.noise(values)
    steep = sets.steep
    extra = np.select(
        [sets.kind == "floor", sets.kind == "bound", sets.kind == "below"],
        [(values["shortfall_sd"] * steep) ** 2, BOUND_SD**2, BOUND_SD**2],
        0.0,
    )
    shift = np.select(
        [sets.kind == "floor", sets.kind == "bound", sets.kind == "below"],
        [values["shortfall"] * steep, BOUND_SD / 2, -BOUND_SD / 2],
        0.0,
    )
    precision = np.where(sets.kind == "outdone", LEAST, 1 / (noise + extra))
    return State(precision=precision, weighted=precision * (sets.implied + shift))


def cell_variances(panel: Panel, values: Mapping[str, float]) -> Floats:
    """Variance of each cell's effect; first exposures vary more."""
    return values["cell_sd"] ** 2 + FAMILIAR_SD**2 * panel.cell_terms.sum(axis=1)


def propagate(
    panel: Panel,
    groups: list[Batch],
    sets: Sets,
    values: Mapping[str, float],
    state: State,
    *,
    sweeps: int = 12,
    tolerance: float = 1e-3,
    still: float = 0.999,
    on_sweep: Callable[[], None] | None = None,
) -> State:
    """Update all sites until the beliefs stand still.

    Parameters
    ----------
    panel, groups, sets :
        The data.
    values : mapping
        Parameters on their own scale.
    state : State
        Sites to start from; not changed.
    sweeps : int
        At most so many passes. [1]
    tolerance : float
        What a set would still move its own mean, in its SD, that counts as still. [1]
    still : float
        Share of the sets that must stand still. [1]
    on_sweep : callable, optional
        Called after every pass.

    Returns
    -------
    state : State
        ``change`` tells how still it stood.
    """
    prior = prior_of(panel, values)
    variance = cell_variances(panel, values)
    now = State(precision=state.precision, weighted=state.weighted)
    step, before = np.ones(len(sets.implied)), np.zeros(len(sets.implied))
    for sweep in range(sweeps):
        now.sums = sums(
            panel,
            precision=now.precision,
            weighted_y=now.weighted,
            cell_variance=variance,
        )
        now.solution = solve(
            panel,
            groups,
            prior,
            grams=[gram(b, now.sums) for b in groups],
            constant=now.sums.constant,
        )
        now.marginals = marginals(panel, groups, now.sums, now.solution)
        if on_sweep:
            on_sweep()
        m, v = now.marginals.mean, now.marginals.variance
        left = np.maximum(1 / v - now.precision, 1e-6)
        now.cavity_variance = 1 / left
        now.cavity_mean = (m / v - now.weighted) / left
        now.tilted = site_tilt(sets, values, now.cavity_mean, now.cavity_variance)
        off = (now.tilted.mean - m) / np.sqrt(v)
        now.change = float(np.quantile(np.abs(off), still))
        if now.change < tolerance:
            break
        turned = off * before < 0
        step = np.where(turned, step / 2, np.minimum(step * LONGER, 1.0))
        step, before = np.maximum(step, SHORTEST), off
        if sweep < sweeps - 1:
            _update_sites(now, damping=step)
    return now


def _update_sites(state: State, *, damping: Floats) -> None:
    t = state.tilted
    assert t is not None
    assert state.cavity_variance is not None
    assert state.cavity_mean is not None
    precision = np.maximum(1 / t.variance - 1 / state.cavity_variance, LEAST)
    weighted = t.mean * (precision + 1 / state.cavity_variance)
    weighted -= state.cavity_mean / state.cavity_variance
    state.precision = (1 - damping) * state.precision + damping * precision
    state.weighted = (1 - damping) * state.weighted + damping * weighted


def log_evidence(state: State) -> float:
    """Log marginal likelihood of the sets, by the propagated sites."""
    s, t, m = state.solution, state.tilted, state.marginals
    assert s is not None
    assert t is not None
    assert m is not None
    assert state.cavity_mean is not None
    assert state.cavity_variance is not None
    cavity = normal_log_partition(state.cavity_mean, state.cavity_variance)
    full = normal_log_partition(m.mean, m.variance)
    return s.log_z + float((t.log_z + cavity - full).sum())


def evidence_gradient(
    panel: Panel,
    groups: list[Batch],
    sets: Sets,
    space: HyperSpace,
    theta: Floats,
    state: State,
) -> Floats:
    """Gradient of :func:`log_evidence` in the unconstrained parameters."""
    values = space.natural(theta)
    assert state.solution is not None
    assert state.marginals is not None
    by_prior = prior_gradient(panel, groups, prior_of(panel, values), state.solution)
    variance = cell_variances(panel, values)
    gain = (state.marginals.cell_square / variance - 1) / variance
    by_prior["cell_sd"] = values["cell_sd"] ** 2 * gain.sum()
    by_site = _site_gradient(sets, space, theta, state)
    return chain(panel, space, values, by_prior, by_site)


# Which sets know of a parameter.
_KNOWN_TO = {
    "set_sd": tuple(ALIKE),
    "rir_scale": ("two-sided", "bound"),
    "shortfall": ("floor",),
    "shortfall_sd": ("floor",),
}


def _site_gradient(
    sets: Sets, space: HyperSpace, theta: Floats, state: State
) -> dict[str, float]:
    assert state.tilted is not None
    assert state.cavity_mean is not None
    assert state.cavity_variance is not None
    values = space.natural(theta)
    step = 1e-5
    out = {}
    for name, groups in _KNOWN_TO.items():
        moved = theta.copy()
        moved[space.names.index(name)] += step
        t = site_tilt(
            sets,
            space.natural(moved),
            state.cavity_mean,
            state.cavity_variance,
            groups=groups,
        )
        at = np.concatenate([sets.alike[group] for group in groups])
        out[name] = float((t.log_z - state.tilted.log_z)[at].sum()) / step
    for name, group in (("outlier", "two-sided"), ("easy", "floor")):
        p = values[name]
        core, other = state.tilted.shares[:2, sets.alike[group]].sum(axis=1)
        gain = other / p - core / (1 - p - TYPING_ERROR_SHARE)
        out[name] = float(gain * p * (1 - p))
    return out
