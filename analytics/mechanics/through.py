"""One setup through its range: demand, capability and what posture adds."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analytics.catalogue import (
    BODY_MASS_KG,
    STATURE_M,
    Body,
    Mechanics,
    Variant,
    make_body,
)
from analytics.errors import InputError
from analytics.intervals import low_middle_high
from analytics.mechanics.chain.rows import Rows
from analytics.mechanics.curves import Floats
from analytics.mechanics.demand import demand
from analytics.mechanics.draws import N_DRAWS, SEED
from analytics.mechanics.joints import Drawn, find_variant
from analytics.mechanics.limits import (
    Range,
    asks_nothing,
    checked_range,
    drawn_limb,
    window_of,
)
from analytics.mechanics.maximum import drawn_limits

# Places of the upper arm tried in what a lifter may choose; 3 of the trunk. The limit
# is up to 3 % below that of 21, mostly 0.
POSTURES = 3
NEAR_LIMIT = 0.9  # of utilisation
NO_LIMIT_KG = 1e6  # stands for no limit among draws, and is told as none


def through_range(
    variant: str | Variant,
    *,
    load_kg: float | None = None,
    range_deg: Range | None = None,
    body_mass_kg: float = BODY_MASS_KG,
    stature_m: float = STATURE_M,
    sex: str | None = None,
    forearm_m: float | None = None,
) -> pd.DataFrame:
    """Demand, capability and utilisation at every degree of a range.

    Parameters
    ----------
    variant : str or Variant
        Posture path and resistance.
    load_kg : float or None
        Load per working arm; the limit load of `hardest` when None. [kg]
    range_deg : tuple of float or None
        First and last joint angle; the variant's own when None. [deg]
    body_mass_kg, stature_m : float
        Of the whole body. [kg], [m]
    sex : str or None
        ``female``, ``male`` or None for the pooled segment table.
    forearm_m : float or None
        Measured forearm; from stature when None. [m]

    Returns
    -------
    curve : DataFrame
        The joint's angle by `angle_column`, then ``demand_nm, capability_nm`` of that
        joint, ``utilisation``, the last two with ``_low`` and ``_high`` (90 %), and
        ``held_kg, held_low_kg, held_high_kg, limited_by``, one arm, one row per degree.

    Raises
    ------
    InputError
        If the variant, range, load or a body size cannot be used, or no load is given
        and the resistance asks for nothing in the whole range.

    Notes
    -----
    Medians and intervals are those of the draws behind every limit load, which
    measured people weigh. Demand is that of the catalogue's path. Utilisation is demand
    over capability; where the resistance helps, it is 0, and it stays below 1 at the
    limit load where another joint gives way first. Held is the load that each angle can
    hold still, infinite where nothing is asked, and ``limited_by`` the joint that
    limits it most often. The limit load is that of a lift: speed may carry it past an
    angle that cannot hold it.
    """
    chosen = find_variant(variant)
    span = checked_range(chosen, range_deg)
    if load_kg is not None and not (np.isfinite(load_kg) and load_kg >= 0):
        raise InputError(f"load_kg must be 0 or more, got {load_kg:g}")
    body = make_body(
        body_mass_kg=body_mass_kg, stature_m=stature_m, sex=sex, forearm_m=forearm_m
    )
    joint = chosen.model.joint
    drawn = drawn_limb(joint, n_draws=N_DRAWS, seed=SEED, body=body)
    load = _limit_load(drawn, chosen, span) if load_kg is None else load_kg
    window = window_of(joint, span)
    angle = joint.grid()[window]
    asked = demand(angle, variant=chosen, load_kg=load, body=body)
    columns = {joint.column: angle, "demand_nm": asked}
    values = _by_draw(drawn, chosen, window, load)
    can, used, held = (low_middle_high(each) for each in values[:3])
    columns |= {"capability_nm": can[1], "utilisation": asked.clip(min=0) / can[1]}
    columns |= {"capability_low_nm": can[0], "capability_high_nm": can[2]}
    columns |= {"utilisation_low": used[0], "utilisation_high": used[2]}
    held[held >= NO_LIMIT_KG / 2] = np.inf
    columns |= {"held_kg": held[1], "held_low_kg": held[0], "held_high_kg": held[2]}
    names = np.array(chosen.model.free)
    often = np.stack([(values[3] == name).sum(axis=0) for name in names])
    columns["limited_by"] = np.where(np.isfinite(held[1]), names[often.argmax(0)], "")
    return pd.DataFrame(columns)


def _limit_load(drawn: Drawn, chosen: Variant, span: Range) -> float:
    """Limit load as everywhere, or refuse a range in which nothing is asked."""
    limits = drawn_limits(drawn, [(chosen, span)], details=False)
    loads = limits[chosen.variant, span].load_kg
    if np.isnan(loads).mean() > 0.5:
        raise asks_nothing(chosen, span)
    return float(np.nanmedian(loads))


def _by_draw(
    drawn: Drawn, chosen: Variant, window: slice, load_kg: float
) -> tuple[NDArray[Any], ...]:
    """Capability, utilisation, load held and joint that limits, by draw and angle."""
    parts = []
    for piece in drawn.draws.pieces():
        rows = drawn.rows(chosen, piece).within(window)
        largest = rows.largest()
        held = np.minimum(largest.load, NO_LIMIT_KG)
        who = rows.limiting(largest)
        parts.append((rows.most_nm[0], rows.utilisation(load_kg), held, who))
    return tuple(np.concatenate(column) for column in zip(*parts, strict=True))


def used_fully_once(
    variant: str | Variant,
    *,
    range_deg: Range | None = None,
    body: Body | None = None,
    beyond_deg: float,
) -> dict[str, float]:
    """How strength is used under the load that the lead joint holds at every angle.

    Parameters
    ----------
    variant : str or Variant
        Posture path and resistance.
    range_deg : tuple of float or None
        First and last joint angle; the variant's own when None. [deg]
    body : Body or None
        The default body when None.
    beyond_deg : float
        How far from the hardest angle strength is in hand. [deg]

    Returns
    -------
    used : dict of str to float
        ``near_limit_frac`` of the range where 90 % or more is used,
        ``sticking_margin_frac`` in hand beyond the hardest part,
        ``strength_where_asked_frac``, mean strength over the greatest, weighed by what
        is asked; medians of the draws. [1]

    Raises
    ------
    InputError
        If the variant or range cannot be used, or asks for nothing.
    """
    chosen = find_variant(variant)
    span = checked_range(chosen, range_deg)
    joint = chosen.model.joint
    window = window_of(joint, span)
    angle = joint.grid()[window]
    drawn = drawn_limb(joint, n_draws=N_DRAWS, seed=SEED, body=body)
    parts = [
        _used(drawn.rows(chosen, piece).within(window), angle, beyond_deg)
        for piece in drawn.draws.pieces()
    ]
    names = ("near_limit_frac", "sticking_margin_frac", "strength_where_asked_frac")
    values = [np.concatenate(column) for column in zip(*parts, strict=True)]
    if np.isnan(values[2]).mean() > 0.5:
        raise asks_nothing(chosen, span)
    return {k: float(np.nanmedian(x)) for k, x in zip(names, values, strict=True)}


def _used(rows: Rows, angle_deg: Floats, beyond_deg: float) -> tuple[Any, ...]:
    """Values of `used_fully_once` by draw; NaN where nothing is asked."""
    per_kg, own, most = rows.per_kg_nm[0], rows.own_nm[0], rows.most_nm[0]
    asks = per_kg > 0
    held = np.where(asks, (most - own) / np.where(asks, per_kg, 1), np.inf)
    load = held.min(axis=-1, keepdims=True)
    used = rows.utilisation(np.where(np.isinf(load), np.nan, load))
    hardest_deg = angle_deg[np.argmax(used, axis=-1)]
    away = np.abs(angle_deg - hardest_deg[:, None]) >= beyond_deg
    asked = used * most
    return (
        (used >= NEAR_LIMIT).mean(axis=-1),
        1 - np.where(away, used, 0).max(axis=-1),
        (most * asked).sum(axis=-1) / asked.sum(axis=-1) / most.max(axis=-1),
    )


def postures(model: Mechanics) -> list[tuple[float, float]]:
    """Drift of the upper arm and lean of the trunk that a lifter may choose from.

    Parameters
    ----------
    model : Mechanics
        What it leaves free.

    Returns
    -------
    postures : list of (float, float)
        A grid of both ranges; the catalogue's own posture first. [deg]
    """
    drifts = np.unique([0.0, *np.linspace(*model.drift_deg, POSTURES)])
    leans = np.unique([0.0, *model.lean_deg])
    every = [(float(drift), float(lean)) for drift in drifts for lean in leans]
    return sorted(every, key=lambda way: way != (0.0, 0.0))


def posture_gain(arm: Drawn, chosen: Variant, span: Range) -> Floats:
    """Limit load held on the best posture path over that on the catalogue's.

    Parameters
    ----------
    arm : Drawn
        From `drawn_limb`.
    chosen : Variant
        With ranges of posture.
    span : tuple of float
        First and last joint angle. [deg]

    Returns
    -------
    gain : ndarray, shape (n_draws,)
        By draw; 1 where the variant leaves nothing free. [1]

    Notes
    -----
    At every angle upper arm and trunk are where they help that draw most, which one
    path can follow, since the best place moves gradually with the angle.
    """
    ways, gains = postures(chosen.model), []
    if len(ways) == 1:
        return np.ones(arm.draws.n)
    window = window_of(chosen.model.joint, span)
    for piece in arm.draws.pieces():
        loads = [
            arm.rows(chosen, piece, posture_deg=way).within(window).largest().load
            for way in ways
        ]
        gains.append(np.max(loads, axis=0).min(-1) / loads[0].min(-1))
    return np.concatenate(gains)
