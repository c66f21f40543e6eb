"""One setup through its range: demand, capability and what posture adds."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd

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
from analytics.mechanics.draws import N_DRAWS, SEED
from analytics.mechanics.joints import (
    Drawn,
    angle_column,
    find_variant,
    posture_rows,
)
from analytics.mechanics.limits import (
    Range,
    asks_nothing,
    checked_range,
    drawn_limb,
    window_of,
)
from analytics.mechanics.maximum import drawn_limits
from analytics.units import STANDARD_GRAVITY_M_PER_S2

# Places of the upper arm tried in what a lifter may choose, for a curve and for many
# draws; 3 of the trunk. With 3 the limit is up to 3 % below that of 21, mostly 0.
POSTURES, FEW_POSTURES = 9, 3


def _check_load(load_kg: float | None) -> None:
    if load_kg is not None and not (np.isfinite(load_kg) and load_kg >= 0):
        raise InputError(f"load_kg must be 0 or more, got {load_kg:g}")


def through_range(
    variant: str | Variant,
    *,
    load_kg: float | None = None,
    range_deg: Range | None = None,
    body_mass_kg: float = BODY_MASS_KG,
    stature_m: float = STATURE_M,
    sex: str | None = None,
    forearm_m: float | None = None,
    muscles: str | None = None,
    curve: str = "thelen",
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
    muscles, curve : str
        Published muscle set, the joint's first when None, and curve.

    Returns
    -------
    curve : DataFrame
        The joint's angle by `angle_column`, then ``demand_nm, capability_nm`` of that
        joint, ``utilisation, held_kg, limited_by, best_posture_held_kg``, one arm,
        about one row per degree.

    Raises
    ------
    InputError
        If the variant, range, load or a body size cannot be used, or no load is given
        and the resistance asks for nothing in the whole range.

    Notes
    -----
    Utilisation is demand over capability; where the resistance helps, it is 0, and it
    stays below 1 at the limit load where another joint, named by ``limited_by``, gives
    way first. Held is the load that
    each angle can hold still: on the catalogue's path, and with upper arm and trunk
    where they help most within the variant's ranges. The limit load is the median of
    all muscle sets, curves and draws, and of a lift: the muscles named here hold it or
    do not, and speed may carry it past an angle that cannot.
    """
    chosen = find_variant(variant)
    first, last = checked_range(chosen, range_deg)
    _check_load(load_kg)
    body = make_body(
        body_mass_kg=body_mass_kg, stature_m=stature_m, sex=sex, forearm_m=forearm_m
    )
    angle, model = np.linspace(first, last, round(last - first) + 1), chosen.model
    muscles = muscles or model.joint.muscle_sets[0]

    def rows_of(variant: Variant) -> Rows:
        return posture_rows(
            angle, model=variant.model, body=body, muscles=muscles, curve=curve
        )

    rows = rows_of(chosen)
    possible = rows.largest()
    load = load_kg
    if load is None:
        arm = drawn_limb(model.joint, n_draws=N_DRAWS, seed=SEED, body=body)
        loads = _loads(arm, chosen, (first, last))
        if np.isnan(loads).mean() > 0.5:
            raise asks_nothing(chosen, (first, last))
        load = float(np.nanmedian(loads))
    best = [rows_of(_placed(chosen, *way)).largest().load for way in postures(model)]
    return pd.DataFrame(
        {
            angle_column([chosen]): angle,
            "demand_nm": load * STANDARD_GRAVITY_M_PER_S2 * rows.load_arm_m[0]
            + rows.own_nm[0],
            "capability_nm": rows.most_nm[0],
            "utilisation": rows.utilisation(load),
            "held_kg": possible.load,
            "limited_by": rows.limiting(possible),
            "best_posture_held_kg": np.max(best, axis=0),
        }
    )


def postures(model: Mechanics, n_arm: int = POSTURES) -> list[tuple[float, float]]:
    """Drift of the upper arm and lean of the trunk that a lifter may choose from.

    Parameters
    ----------
    model : Mechanics
        What it leaves free.
    n_arm : int
        Places of the upper arm.

    Returns
    -------
    postures : list of (float, float)
        A grid of both ranges; the catalogue's own posture first. [deg]
    """
    drifts = np.unique([0.0, *np.linspace(*model.drift_deg, n_arm)])
    leans = np.unique([0.0, *model.lean_deg])
    every = [(float(drift), float(lean)) for drift in drifts for lean in leans]
    return sorted(every, key=lambda way: way != (0.0, 0.0))


def _placed(variant: Variant, drift_deg: float, lean_deg: float) -> Variant:
    """Return the variant with upper arm and trunk moved off the catalogue's path."""
    model, turned = variant.model, drift_deg + lean_deg
    path = tuple((angle, shoulder + turned) for angle, shoulder in model.path)
    return variant.bent(path=path, trunk_deg=model.trunk_deg + lean_deg)


def range_band(
    variant: str | Variant,
    *,
    load_kg: float | None = None,
    range_deg: Range | None = None,
    n_draws: int = N_DRAWS,
    seed: int = SEED,
    body: Body | None = None,
) -> pd.DataFrame:
    """90 % bands of capability and utilisation through a range.

    Parameters
    ----------
    variant : str or Variant
        Posture path and resistance.
    load_kg : float or None
        Load per working arm; each draw's own limit load when None. [kg]
    range_deg : tuple of float or None
        First and last joint angle; the variant's own when None. [deg]
    n_draws, seed : int
        Parameter draws over all muscle sets and curves.
    body : Body or None
        The default body when None.

    Returns
    -------
    band : DataFrame
        The joint's angle by `angle_column`, and ``_low, _mid, _high`` of
        ``capability_nm`` and ``utilisation``, one arm, one row per degree.

    Raises
    ------
    InputError
        If the variant, range or load cannot be used.
    """
    chosen = find_variant(variant)
    _check_load(load_kg)
    joint = chosen.model.joint
    span = checked_range(chosen, range_deg)
    window = window_of(joint, span)
    drawn = drawn_limb(joint, n_draws=n_draws, seed=seed, body=body)
    loads = np.full(drawn.draws.n, load_kg, dtype=float)
    if load_kg is None:
        loads = _loads(drawn, chosen, span)
    strength, used = [], []
    for piece in drawn.draws.pieces():
        rows = drawn.rows(chosen, piece).within(window)
        strength.append(rows.most_nm[0])
        used.append(rows.utilisation(loads[piece[1], None]))
    columns: dict[str, Any] = {joint.column: joint.grid()[window]}
    for name, values in (("capability_nm", strength), ("utilisation", used)):
        for end, row in zip(
            ("low", "mid", "high"), low_middle_high(np.concatenate(values)), strict=True
        ):
            columns[f"{name}_{end}"] = row
    return pd.DataFrame(columns)


def _loads(arm: Drawn, chosen: Variant, span: Range) -> Floats:
    """Limit load by draw."""
    return drawn_limits(arm, [(chosen, span)], details=False)[
        chosen.variant, span
    ].load_kg


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
    ways, gains = postures(chosen.model, FEW_POSTURES), []
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
