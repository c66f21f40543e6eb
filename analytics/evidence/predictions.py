"""What the model predicts for setups, and the spread it cannot explain."""

import math
from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import partial
from itertools import chain, product
from typing import Any

import numpy as np
from numpy.typing import NDArray

from analytics.catalogue import Setup, load_catalogue
from analytics.evidence.comparison import Comparison
from analytics.evidence.observe import Observed
from analytics.evidence.spread import (
    log_sd,
    model_sds,
    number,
    setup_cov,
)
from analytics.evidence.verdict import IDEAS
from analytics.mechanics import log_ratio_draws
from analytics.mechanics.weighing import weighed_blocks
from analytics.ratios import LogRatios

Array = NDArray[np.float64]
READING_DRAWS = 60


def structures_of(n_draws: int, variant: str) -> tuple[slice, ...]:
    """Rows of each muscle set and curve among so many draws.

    Parameters
    ----------
    n_draws : int
        Number of draws.
    variant : str
        Whose joint is drawn.

    Returns
    -------
    structures : tuple of slice
        One per published muscle set and curve.
    """
    joint = load_catalogue().variants[variant].model.joint
    return tuple(rows for _, rows in weighed_blocks(n_draws, joint))


def person_frac(lifter: str | None) -> float:
    """Factor on the spread between persons, for a lifter or a cohort's mean.

    Parameters
    ----------
    lifter : str or None
        None for the cohort.

    Returns
    -------
    factor : float
        1 for a lifter; for a cohort the standard error of the published mean. [1]
    """
    count = number("specimens", "count")
    return 1.0 if lifter is not None else count**-0.5


# The same setups come back with every lifter and in every plan, and a moving limit is
# slow to draw: what one setup gives under one shape is kept, 4 to 16 kB.
_KNOWN: dict[tuple[Any, ...], Array] = {}
_MOST_KNOWN = 7000


def _each_once(
    setups: Sequence[Setup],
    shapes: Sequence[str],
    key: tuple[Any, ...],
    make: Callable[[list[Setup], list[str]], Array],
) -> Array:
    """Give what ``make`` gives by setup and shape, made once, (n, n_shapes, ...)."""
    every = [(s, shape) for s in dict.fromkeys(setups) for shape in shapes]
    known = {one: _KNOWN[*one, *key] for one in every if (*one, *key) in _KNOWN}
    missing = [one for one in every if one not in known]
    if missing:
        new, of = (list(dict.fromkeys(x)) for x in zip(*missing, strict=True))
        made = dict(zip(product(new, of), chain(*make(new, of)), strict=True))
        known |= made
        if len(_KNOWN) > _MOST_KNOWN:
            _KNOWN.clear()
        _KNOWN.update({(*one, *key): value for one, value in made.items()})
    return np.array([[known[s, shape] for shape in shapes] for s in setups])


def _logs(
    setups: list[Setup], shapes: list[str], *, n_draws: int, seed: int, person: float
) -> Array:
    """Log limits over that of the movement's reference, (n, n_shapes, n_draws)."""
    catalogue = load_catalogue()
    movement = catalogue.variants[setups[0].variant].movement
    made = log_ratio_draws(
        [(setup.variant, setup.span) for setup in setups],
        reference=str(catalogue.movements[movement].reference),
        shape=shapes,
        n_draws=n_draws,
        seed=seed,
        person_frac=person,
    )
    return np.moveaxis(made, 2, 0)


def paired_draws(
    setups: list[Setup],
    against: list[Setup],
    *,
    lifter: str | None,
    n_draws: int,
    seed: int,
    shapes: Sequence[str] = IDEAS,
) -> dict[str, Array]:
    """Predicted log ratios under each shape from the same parameter draws.

    Parameters
    ----------
    setups : list of Setup
        What is predicted.
    against : list of Setup
        What each is set against, one per setup.
    lifter : str or None
        None predicts a cohort's mean, else one person.
    n_draws, seed : int
        Number and seed of the parameter draws.
    shapes : sequence of str
        Shapes and causes.

    Returns
    -------
    draws : dict of str to ndarray, shape (n_draws, n)
        By shape and cause; NaN where the resistance asks for nothing. [1]
    """
    drawn: dict[str, Any] = {
        "n_draws": n_draws,
        "seed": seed,
        "person": person_frac(lifter),
    }
    both = _each_once(
        [*setups, *against],
        shapes,
        ("logs", *drawn.values()),
        partial(_logs, **drawn),
    )
    ratios = both[: len(setups)] - both[len(setups) :]
    return dict(zip(shapes, np.moveaxis(ratios, 0, 2), strict=True))


def reading_sd(setups: list[Setup], *, seed: int) -> Array:
    """Spread of log ratios because angles are read or assumed, not measured.

    Parameters
    ----------
    setups : list of Setup
        What is compared.
    seed : int
        Of the parameter draws.

    Returns
    -------
    sd : ndarray, shape (n,)
        Mean change of the predicted log ratio when the first angle (a hold's one
        angle) moves down or up by the reading error; where a free upper arm has
        drifted forward, its uncertain drift counts as more of that error. [1]
    """
    made = partial(_read, seed=seed)
    return _each_once(setups, ["peaked"], ("reading", seed), made)[:, 0]


def _read(setups: list[Setup], shapes: list[str], *, seed: int) -> Array:
    variants = load_catalogue().variants
    moved: list[tuple[str, tuple[float, float]]] = []
    for setup in setups:
        own = variants[setup.variant].model
        first, last = setup.span or own.range_deg
        drift = float(own.shoulder_deg(first) - own.shoulder_deg(0.0))
        read = number("reading", "logged_deg" if setup.span else "own_range_deg")
        step = math.hypot(read, number("reading", "drift_frac") * drift)
        low, high = own.joint.grid_deg
        for at in (max(first - step, low), first, min(first + step, high - 1)):
            end = at if first == last else max(last, at + 1.0)
            moved.append((setup.variant, (at, end)))
    logs = log_ratio_draws(
        moved,
        reference=moved[1],
        shape=shapes[0],
        n_draws=READING_DRAWS,
        seed=seed,
        person_frac=0.0,
    )
    change = np.abs(np.stack([logs[:, ::3], logs[:, 2::3]]) - logs[:, 1::3])
    # Upwards the load may come over the joint and ask for nothing: then down alone.
    asks = np.isfinite(change)
    total = np.where(asks, change, 0.0).sum(axis=(0, 1))
    return np.asarray(total / np.maximum(asks.sum(axis=(0, 1)), 1))[:, None]


def spreads_of(
    setups: list[Setup],
    against: list[Setup],
    share: Array,
    *,
    lifter: str | None,
    seed: int,
) -> tuple[Array, ...]:
    r"""Unexplained covariance of log ratios, for each size of the model term.

    Parameters
    ----------
    setups : list of Setup
        What is compared.
    against : list of Setup
        What each is set against.
    share : ndarray, shape (n,)
        Share of all sets less that of what it is set against; 0 for holds. [1]
    lifter : str or None
        None for a cohort's mean.
    seed : int
        Of the draws behind the reading error.

    Returns
    -------
    covs : tuple of ndarray, shape (n, n)
        The least first. [1]

    Notes
    -----
    .. math:: D = A C A^T + \sigma_s^2 s s^T

    with C from `setup_cov` and a row of A for each ratio: 1 at its setup, -1 at
    what it is set against. Training one setup more than another favours it: the
    last term, shared because the same habit is behind all of a log.
    """
    bases = list(dict.fromkeys(against))
    every = [*setups, *bases]
    variants = load_catalogue().variants
    difference = np.hstack(
        [np.eye(len(setups)), [[-float(a == b) for b in bases] for a in against]]
    )
    kinds, read = [variants[s.variant] for s in every], reading_sd(every, seed=seed)
    specific = log_sd("specificity") ** 2 * np.outer(share, share)
    return tuple(
        difference @ setup_cov(kinds, read, model_sd=size, lifter=lifter) @ difference.T
        + specific
        for size in model_sds()
    )


def predict(
    seen: Observed, *, n_draws: int, seed: int
) -> tuple[Observed, Comparison | None]:
    """Set what was observed beside what every rival shape predicts.

    Parameters
    ----------
    seen : Observed
        Result of `observe`.
    n_draws, seed : int
        Number and seed of the parameter draws.

    Returns
    -------
    seen, comparison : Observed, Comparison or None
        Without setups whose resistance asks for nothing; None where nothing is left.
    """
    if not seen.setups:
        return seen, None
    share = seen.table["share"].fillna(0.0).to_numpy(dtype=float)
    (spread, *further), draws = told_of(
        seen.setups, seen.against, share, lifter=seen.lifter, n_draws=n_draws, seed=seed
    )
    asks = np.all([np.isfinite(x).all(axis=0) for x in draws.values()], axis=0)
    comparison = Comparison(
        labels=seen.ratios.labels,
        observed=seen.ratios.mean,
        cov=seen.ratios.cov,
        spread=spread,
        draws=draws,
        structures=structures_of(n_draws, seen.setups[0].variant),
        further=tuple(further),
    ).subset(asks)
    rows = seen.table[asks]
    kept = replace(
        seen,
        ratios=LogRatios(
            labels=comparison.labels, mean=comparison.observed, cov=comparison.cov
        ),
        setups=tuple(s for s, asked in zip(seen.setups, asks, strict=True) if asked),
        against=tuple(s for s, asked in zip(seen.against, asks, strict=True) if asked),
        table=rows,
        n_ratios=int(rows["share"].notna().sum()),
    )
    return kept, comparison if asks.any() else None


def told_of(
    setups: Sequence[Setup],
    against: Sequence[Setup],
    share: Array,
    *,
    lifter: str | None,
    n_draws: int,
    seed: int,
    shapes: Sequence[str] = IDEAS,
) -> tuple[tuple[Array, ...], dict[str, Array]]:
    """Give `spreads_of` and `paired_draws` of the same setups.

    Parameters
    ----------
    setups, against : sequence of Setup
        What is compared, and what each is set against.
    share : ndarray, shape (n,)
        Share of all sets less that of what it is set against. [1]
    lifter : str or None
        None predicts a cohort's mean.
    n_draws, seed : int
        Of the predictions.
    shapes : sequence of str
        Shapes and causes.

    Returns
    -------
    spreads, draws : tuple of ndarray, dict of str to ndarray
        See there.
    """
    mine, base = list(setups), list(against)
    return (
        spreads_of(mine, base, share, lifter=lifter, seed=seed),
        paired_draws(
            mine, base, lifter=lifter, n_draws=n_draws, seed=seed, shapes=shapes
        ),
    )
