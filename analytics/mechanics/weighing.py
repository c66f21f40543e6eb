"""Draws weighed by measured people.

Populations are drawn from the spreads of all parameters under every muscle set and
curve; each is as likely as it predicts the ratios measured on people. A lifter is then
a person of one of them: persons are not weighed by the mean of a study. What this says
beside the measured is in `analytics.mechanics.measured`.
"""

from __future__ import annotations

from functools import cache
from itertools import pairwise

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy import special, stats

from analytics.catalogue import Joint, Variant, load_catalogue, make_body
from analytics.mechanics.curves import Floats
from analytics.mechanics.draws import Block, Draws, Single, make_draws, spread
from analytics.mechanics.draws import structures as structures_of
from analytics.mechanics.joints import joint_model

POOL, POOL_SEED = 12_000, 20_261
# Whose means a lifter of a sex may be near; of one not told, both sexes count alike.
POPULATIONS = {"male": ("men", "trained"), "female": ("women",)}


@cache
def population_pool(joint: Joint) -> Draws:
    """Draw populations freely: persons averaged, published values uncertain."""
    share = spread("population_mean")
    return make_draws(POOL, joint=joint, seed=POOL_SEED, person_frac=share)


def held_strength_nm(
    joint: Joint, draws: Draws, *, shoulder_deg: float = 0.0, rotation_deg: float = 90.0
) -> Floats:
    """Moment by joint angle with the neighbours held, shape (n, n_grid)."""
    catalogue = load_catalogue()
    mine = (catalogue.variants[name] for name in catalogue.modelled)
    first: Variant = next(x for x in mine if x.model.joint == joint)
    path = tuple((angle, shoulder_deg) for angle in joint.grid_deg)
    posture = first.bent(path=path, rotation_deg=rotation_deg)
    limb = joint_model(joint).drawn(draws, body=make_body(), shape="peaked")
    return np.asarray(limb.capability_nm(posture), dtype=float)


@cache
def pool_strength_nm(joint: Joint) -> Floats:
    """Moment of every population by joint angle, shape (POOL, n_grid)."""
    return held_strength_nm(joint, population_pool(joint))


def targets(joint: Joint) -> pd.DataFrame:
    """Rows of the joint's table of targets, ``error`` added; empty if it has none."""
    table = load_catalogue().tables.get(f"targets_{joint.joint}")
    if table is None:
        return pd.DataFrame({"population": [], "use": [], "kind": []})
    columns = {
        name: table.numbers(name) if table.units[name] else table.columns[name]
        for name in table.columns
    }
    return pd.DataFrame(columns).assign(error=np.hypot(columns["se"], columns["tau"]))


def _weighed_by(joint: Joint, population: str, *, turned: bool) -> pd.DataFrame:
    rows = targets(joint)
    mine = rows["population"].isin([population, "all"]) & (rows["use"] == "weighed")
    return rows[mine & ((rows["kind"] == "turn") == turned)]


def log_ratio_by_angle(joint: Joint, over_deg: float, under_deg: float) -> Floats:
    """Log of each population's moment at one angle over that at another."""
    grid, moment = joint.grid(), pool_strength_nm(joint)
    over, under = (np.flatnonzero(grid == x)[0] for x in (over_deg, under_deg))
    return np.log(moment[:, over] / moment[:, under])


@cache
def turned_log_ratio(joint: Joint, rotation_deg: float) -> Floats:
    """Log of greatest strength turned over supinated, as published, by structure."""
    plain = make_draws(len(structures_of(joint)), joint=joint, seed=None)
    turned, supinated = (
        held_strength_nm(joint, plain, rotation_deg=x).max(axis=1)
        for x in (rotation_deg, 90.0)
    )
    return np.log(turned / supinated)


@cache
def _log_likelihood(joint: Joint, population: str) -> Floats:
    """Of every population of the pool, by what was measured on one kind of people.

    A grip factor moves nothing else, so it is left out of the pool and its likelihood
    integrated over its prior.
    """
    total = np.zeros(POOL)
    for one in _weighed_by(joint, population, turned=False).to_dict("records"):
        if one["kind"] == "highest":
            for other in (one["first"], one["second"], one["third"]):
                above = log_ratio_by_angle(joint, one["value"], other)
                total += stats.norm.logcdf(above / one["error"])
        elif one["kind"] == "angle":
            peak = joint.grid()[pool_strength_nm(joint).argmax(axis=1)]
            total += stats.norm.logpdf(peak, one["value"], one["error"])
        else:
            predicted = log_ratio_by_angle(joint, one["first"], one["second"])
            total += stats.norm.logpdf(predicted, np.log(one["value"]), one["error"])
    for one in _weighed_by(joint, population, turned=True).to_dict("records"):
        error = np.hypot(one["error"], spread(one["parameter"]))
        gap = np.log(one["value"]) - turned_log_ratio(joint, one["first"])
        for structure, mine in population_pool(joint).blocks:
            total[mine] += stats.norm.logpdf(gap[structure], 0, error)
    return total


def populations_of(sex: str | None) -> dict[str, float]:
    """Kinds of measured people, and how far each counts for a lifter of a sex."""
    sexes = POPULATIONS if sex is None else {sex: POPULATIONS[sex]}
    return {
        population: 1.0 / len(sexes) / len(mine)
        for mine in sexes.values()
        for population in mine
    }


@cache
def pool_weights(joint: Joint, population: str | None = None) -> Floats:
    """Weight of every population of the pool, shape (POOL,).

    Parameters
    ----------
    joint : Joint
        Whose strength.
    population : str or None
        Kind of measured people, or a sex, whose kinds are mixed; None mixes all.

    Returns
    -------
    weights : ndarray, shape (POOL,)
        They sum to 1. [1]
    """
    if population is None or population in POPULATIONS:
        parts = populations_of(population)
        return np.asarray(sum(f * pool_weights(joint, x) for x, f in parts.items()))
    return np.asarray(special.softmax(_log_likelihood(joint, population)))


def effective_draws(weights: Floats) -> float:
    """Count the equal-weight draws worth as much as the weighed ones."""
    return float(1.0 / np.sum(weights**2))


def weighed_blocks(
    n_draws: int, joint: Joint, *, sex: str | None = None
) -> tuple[Block, ...]:
    """Rows of each muscle set and curve among so many weighed draws.

    Parameters
    ----------
    n_draws : int
        Number of draws; each structure gets one at least.
    joint : Joint
        Whose muscle sets.
    sex : str or None
        ``female``, ``male`` or None for both.

    Returns
    -------
    blocks : tuple of (int, slice)
        As many draws as measured people make a structure likely.
    """
    weights = pool_weights(joint, sex)
    parts = [weights[mine].sum() for _, mine in population_pool(joint).blocks]
    shares = 1 + (n_draws - len(parts)) * np.array(parts)
    edges = np.concatenate([[0.0], np.cumsum(shares)]).round().astype(int)
    return tuple((i, slice(int(a), int(b))) for i, (a, b) in enumerate(pairwise(edges)))


def weighed_draws(
    n_draws: int,
    *,
    joint: Joint,
    seed: int | None,
    person_frac: float = 1.0,
    sex: str | None = None,
) -> Draws:
    """Draw persons of the populations that measured people make likely.

    Parameters
    ----------
    n_draws : int
        At least one per structure.
    joint : Joint
        Whose muscle sets.
    seed : int or None
        Of the random numbers; None leaves every parameter at its published value.
    person_frac : float
        Factor on the spreads between persons: 1 for one lifter, less for a mean.
    sex : str or None
        ``female``, ``male`` or None for both.

    Returns
    -------
    draws : Draws
        All count alike; blocks as in `weighed_blocks`.

    Raises
    ------
    InputError
        If there are fewer draws than structures.
    """
    free = make_draws(n_draws, joint=joint, seed=seed, person_frac=person_frac)
    if seed is None or targets(joint).empty:
        return free
    blocks = weighed_blocks(n_draws, joint, sex=sex)
    pool, weights = population_pool(joint), pool_weights(joint, sex)
    rng = np.random.default_rng([seed, POOL_SEED])
    picked = np.empty(n_draws, dtype=np.intp)
    for (_, mine), (_, theirs) in zip(blocks, pool.blocks, strict=True):
        size = mine.stop - mine.start
        upto = np.cumsum(weights[theirs])
        at = (np.arange(size) + rng.random()) / size * upto[-1]
        picked[mine] = theirs.start + rng.permutation(np.searchsorted(upto, at))
    return Draws(
        n=n_draws,
        seed=seed,
        structures=free.structures,
        blocks=blocks,
        fixed=_grips(joint, blocks, n_draws, seed),
        person_frac=person_frac,
        pool=pool,
        picked=picked,
    )


def grip_posterior(joint: Joint, one: pd.Series) -> tuple[Floats, float]:
    """Mean by structure, and deviation, of a grip factor's departure, both in log."""
    prior, error = spread(one["parameter"]), one["error"]
    gap = np.log(one["value"]) - turned_log_ratio(joint, one["first"])
    share = prior**2 / (prior**2 + error**2)
    return share * gap, prior * float(np.sqrt(1 - share))


def _grips(
    joint: Joint, blocks: tuple[Block, ...], n_draws: int, seed: int
) -> dict[str, Single]:
    """Departures of the grip factors in standard deviations, given the measured."""
    free = make_draws(n_draws, joint=joint, seed=seed)
    found = {}
    rows = targets(joint)
    for _, one in rows[rows["kind"] == "turn"].iterrows():
        name = one["parameter"]
        mean, sd = grip_posterior(joint, one)
        where: NDArray[np.float64] = np.empty(n_draws)
        for structure, mine in blocks:
            where[mine] = mean[structure]
        z = free.departure(name)[:, 0] / spread(name)
        found[name] = ((where + sd * z) / spread(name)).astype(np.float32)
    return found
