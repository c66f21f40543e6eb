"""The steps of a fit that every part of a cohort takes, and what they share.

One log is one part. Of several, each tells and weighs what it adds to the cohort, and
is then fitted with what all of them said.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from threadpoolctl import threadpool_limits

from analytics.strength.model import outliers, tables
from analytics.strength.model.contrasts import (
    Relation,
    contrasts,
    learn_relation,
    published,
    relation_sums,
)
from analytics.strength.model.observe import Observations, observe
from analytics.strength.model.outcome import (
    Outcomes,
    habit,
    outcomes,
    prior_mean,
    tiredness,
)
from analytics.strength.model.ratios import (
    Linked,
    RatioSums,
    by_repetitions,
    link_setups,
)
from analytics.strength.model.relation import exercise_class, priors
from analytics.strength.model.series import Levels, Rows, make_rows, smooth_rows
from analytics.strength.model.sides import level_sides

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Shared:
    """What all lifters of a cohort share in one movement, each step adding to it.

    Attributes
    ----------
    usual_arms : mapping of str to float
        Working arms that most sets of each setup count.
    setups : DataFrame
        Of the whole cohort.
    reference : str
        Setup the ratios refer to.
    relation : tuple of ndarray
        From :func:`.contrasts.relation_sums`.
    scales : (float, float) or None
        Noise and walk over the published ones, from the sample.
    between_sd : float or None
        Spread of ratios between lifters, from the sample.
    sums : RatioSums or None
        Of all lifters.
    """

    usual_arms: Mapping[str, float]
    setups: pd.DataFrame
    reference: str
    relation: tuple[Floats, Floats]
    scales: tuple[float, float] | None = None
    between_sd: float | None = None
    sums: RatioSums | None = None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Told:
    """What some lifters add to :class:`Shared`.

    Attributes
    ----------
    seen : Observations
        Their sets and setups.
    contrasts : tuple of ndarray
        From :func:`.contrasts.contrasts`, of each of them.
    """

    seen: Observations
    contrasts: tuple[Floats, Floats]


def tell(
    sets: pd.DataFrame,
    *,
    reference: str | None = None,
    usual_arms: Mapping[str, float] | None = None,
) -> Told | None:
    """Sort the sets of some lifters, and tell their contrasts.

    Parameters
    ----------
    sets : DataFrame
        All sets of these lifters in one movement.
    reference : str, optional
        Variant or setup the ratios refer to; default that of the movement.
    usual_arms : mapping of str to float, optional
        As in :class:`Shared`, where these are not all lifters.

    Returns
    -------
    told : Told or None
        None if no set can be used.
    """
    with threadpool_limits(1):
        seen = observe(sets, reference=reference, usual_arms=usual_arms)
        if seen is None:
            return None
        return Told(seen=seen, contrasts=_unlearned(seen).told)


def spread(sets: pd.DataFrame, shared: Shared) -> Shared:
    """Estimate the variance parameters from the sample.

    Parameters
    ----------
    sets : DataFrame
        All sets of the sampled lifters.
    shared : Shared
        Setups and relation.

    Returns
    -------
    shared : Shared
        With ``scales`` and ``between_sd``; the published ones if no set can be used.
    """
    told = tell(sets, usual_arms=shared.usual_arms)
    if told is None:
        known = priors("strength")["setup_sd"]
        return replace(shared, scales=(1.0, 1.0), between_sd=known)
    found = weigh(told, shared)
    scales = found.levels.noise_scale, found.levels.walk_scale
    between_sd = float(found.linked.prior.setup_sd[0])
    return replace(shared, scales=scales, between_sd=between_sd)


def weigh(told: Told, shared: Shared) -> "Smoothed":
    """Do for some lifters all that needs no sums over the cohort, and sum theirs.

    Parameters
    ----------
    told : Told
        From :func:`tell`.
    shared : Shared
        Without ``sums``.

    Returns
    -------
    smoothed : Smoothed
    """
    seen = replace(told.seen, setups=shared.setups, reference=shared.reference)
    with threadpool_limits(1):
        return smooth_parts(measure(replace(told, seen=seen), shared), shared)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Unlearned:
    """Sets as they stand before the relation is learned from their contrasts."""

    seen: Observations
    lifter: Ints
    setup: Ints
    setup_ln_k: Floats
    ln_k_sd: float
    base: Floats
    usual: Floats
    tired: Floats
    counted: NDArray[np.bool_]

    def at(self, relation: Relation) -> Outcomes:
        return outcomes(
            self.seen.sets,
            self.base + relation.mean[self.lifter],
            tired=self.tired,
            usual=self.usual,
        )

    @property
    def published(self) -> Relation:
        return published(len(self.seen.lifters), self.ln_k_sd)

    @property
    def told(self) -> tuple[Floats, Floats]:
        """What each lifter's contrasts tell, at the published relation."""
        kept = self.counted
        return contrasts(
            self.seen.sets[kept],
            self.at(self.published).take(kept),
            self.lifter[kept],
            self.base[kept, 0],
            n_lifters=len(self.seen.lifters),
        )


def _unlearned(seen: Observations) -> _Unlearned:
    sets = seen.sets
    movement = str(sets["movement"].iloc[0])
    classes = [exercise_class([movement, v]) for v in seen.setups["variant"]]
    by_setup = np.log([float(c["k"]) for c in classes])
    setup = pd.Index(seen.setups["setup"]).get_indexer(sets["setup"])
    return _Unlearned(
        seen=seen,
        lifter=pd.factorize(sets["lifter"])[0],
        setup=setup,
        setup_ln_k=by_setup,
        ln_k_sd=max(float(c["ln_k_sd"]) for c in classes),
        base=prior_mean(by_setup[setup]),
        usual=habit(sets),
        tired=tiredness(sets),
        counted=(sets["kind"] != "outdone").to_numpy(),
    )


def measure(told: Told, shared: Shared | None = None) -> tables.Measured:
    """Turn sets into outcomes at the relation that was learned."""
    start = _unlearned(told.seen)
    sums = shared.relation if shared else relation_sums(*told.contrasts)
    relation = learn_relation(start.published, *told.contrasts, sums=sums)
    return tables.Measured(
        seen=told.seen,
        lifter=start.lifter,
        setup=start.setup,
        counted=start.counted,
        setup_ln_k=start.setup_ln_k,
        usual=start.usual + relation.mean[start.lifter, 3],
        relation=relation,
        outcomes=start.at(relation),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Smoothed:
    """Everything but what the whole cohort says of ratios."""

    measured: tables.Measured
    rows: Rows
    levels: Levels
    off: Floats
    sides: pd.DataFrame
    linked: Linked


def smooth_parts(measured: tables.Measured, shared: Shared | None = None) -> Smoothed:
    """Do for a part all that needs no sums over the cohort."""
    seen, counted = measured.seen, measured.counted
    sets = seen.sets[counted].reset_index(drop=True)
    now, sides = level_sides(sets, measured.outcomes.take(counted))
    rows = make_rows(sets, now)
    levels = smooth_rows(rows, shared.scales if shared else None)
    linked = link_setups(
        rows,
        levels,
        measured.relation,
        setups=seen.setups,
        reference=seen.reference,
        between_sd=shared.between_sd if shared else None,
        repetitions=by_repetitions(
            measured.outcomes.repetitions[counted], measured.setup[counted]
        ),
    )
    return Smoothed(
        measured=measured,
        rows=rows,
        levels=levels,
        off=outliers.implausible(sets, now.implied),
        sides=sides,
        linked=linked,
    )
