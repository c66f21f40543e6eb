"""Limit load, sticking angle, utilisation and evenness of one setup over a range."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analytics.catalogue import (
    BODY_MASS_KG,
    STATURE_M,
    Body,
    Joint,
    Mechanics,
    Variant,
    make_body,
)
from analytics.errors import InputError
from analytics.intervals import low_middle_high
from analytics.mechanics.chain.rows import Rows, limit_load
from analytics.mechanics.joints import (
    Drawn,
    angle_column,
    find_variant,
    joint_model,
    posture_rows,
)
from analytics.mechanics.weighing import weighed_draws
from analytics.units import STANDARD_GRAVITY_M_PER_S2

Range = tuple[float, float]
Setup = tuple[str | Variant, Range | None]

# A 90 % interval of the sticking angle wider than this names no single angle.
WIDEST_STICKING_DEG = 40.0
# Places of the upper arm tried in what a lifter may choose, for a curve and for many
# draws; 3 of the trunk. With 3 the limit is up to 3 % below that of 21, mostly 0.
POSTURES, FEW_POSTURES = 9, 3


def checked_range(variant: Variant, range_deg: Range | None) -> Range:
    """Return the range asked for or the variant's own, or refuse it.

    Parameters
    ----------
    variant : Variant
        Whose default range stands in for None.
    range_deg : tuple of float or None
        First and last joint angle. [deg]

    Returns
    -------
    range_deg : tuple of float
        First and last joint angle. [deg]

    Raises
    ------
    InputError
        If it is reversed or outside the joint's grid.

    Notes
    -----
    Equal ends mean a hold at that angle.
    """
    if range_deg is None:
        return variant.model.range_deg
    first, last = (float(angle) for angle in range_deg)
    joint = variant.model.joint
    low, high = joint.grid_deg
    if not (low <= first <= high and low <= last <= high):
        raise InputError(
            f"range_deg must lie within {low:g} to {high:g}, got {first:g} to {last:g}"
        )
    if last < first:
        raise InputError(
            f"range_deg is reversed: {first:g} to {last:g}; 0 is the {joint.zero} "
            f"{joint.title.lower()}, so a lift rises from the smaller angle"
        )
    return first, last


def _check_load(load_kg: float | None) -> None:
    if load_kg is not None and not (np.isfinite(load_kg) and load_kg >= 0):
        raise InputError(f"load_kg must be 0 or more, got {load_kg:g}")


def asks_nothing(variant: Variant, range_deg: Range) -> InputError:
    """Return the refusal of a range that no load makes hard."""
    return InputError(
        f"{variant.variant!r} asks for nothing from {range_deg[0]:g} to "
        f"{range_deg[1]:g} degrees; take a wider range_deg"
    )


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
        Load per working arm; the limit load when None. [kg]
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
        joint, ``utilisation, limit_load_kg, limited_by, best_posture_limit_load_kg``,
        one arm, about one row per degree.

    Raises
    ------
    InputError
        If the variant, range, load or a body size cannot be used, or no load is given
        and the resistance asks for nothing in the whole range.

    Notes
    -----
    Utilisation is demand over capability; where the resistance helps, it is 0, and it
    stays below 1 at the limit load where another joint, named by ``limited_by``, gives
    way first. The limit loads are those of each angle: on the catalogue's path, and
    with upper arm and trunk where they help most within the variant's ranges. The
    least of a column is the limit of the whole range.
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
    load = limit_load(rows)[0] if load_kg is None else load_kg
    if np.isinf(load):
        raise asks_nothing(chosen, (first, last))
    best = [rows_of(_placed(chosen, *way)).largest().load for way in postures(model)]
    return pd.DataFrame(
        {
            angle_column([chosen]): angle,
            "demand_nm": load * STANDARD_GRAVITY_M_PER_S2 * rows.lever_m[0]
            + rows.own_nm[0],
            "capability_nm": rows.most_nm[0],
            "utilisation": rows.utilisation(load),
            "limit_load_kg": possible.load,
            "limited_by": rows.limiting(possible),
            "best_posture_limit_load_kg": np.max(best, axis=0),
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
    n_draws: int = 600,
    seed: int = 1,
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
    window = _window(joint, checked_range(chosen, range_deg))
    drawn = drawn_limb(joint, n_draws=n_draws, seed=seed, body=body)
    strength, used = [], []
    for piece in drawn.draws.pieces():
        rows = drawn.rows(chosen, piece).within(window)
        load = limit_load(rows)[0][:, None] if load_kg is None else load_kg
        strength.append(rows.most_nm[0])
        used.append(rows.utilisation(np.where(np.isinf(load), np.nan, load)))
    columns: dict[str, Any] = {joint.column: joint.grid()[window]}
    for name, values in (("capability_nm", strength), ("utilisation", used)):
        for end, row in zip(
            ("low", "mid", "high"), low_middle_high(np.concatenate(values)), strict=True
        ):
            columns[f"{name}_{end}"] = row
    return pd.DataFrame(columns)


def drawn_limb(
    joint: Joint,
    *,
    n_draws: int,
    seed: int | None,
    person_frac: float = 1.0,
    body: Body | None = None,
    shape: str = "peaked",
) -> Drawn:
    """Strength and demand of one joint under many draws."""
    body = body or make_body()
    draws = weighed_draws(
        n_draws, joint=joint, seed=seed, person_frac=person_frac, sex=body.sex
    )
    return joint_model(joint).drawn(draws, body=body, shape=shape)


def _window(joint: Joint, range_deg: Range) -> slice:
    start = round(joint.grid_deg[0])
    return slice(round(range_deg[0]) - start, round(range_deg[1]) - start + 1)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DrawnLimit:
    """Limit of one setup by draw.

    Attributes
    ----------
    load_kg : ndarray, shape (n_draws,)
        Per working arm; NaN where the resistance asks for nothing in the whole range.
    angle_deg, evenness : ndarray, shape (n_draws,)
        Sticking angle; mean utilisation of the lead joint at the limit.
    joint : ndarray of int, shape (n_draws,)
        Free joint that limits, 0 the lead.
    """

    load_kg: NDArray[np.float64]
    angle_deg: NDArray[np.float64]
    evenness: NDArray[np.float64]
    joint: NDArray[np.intp]


def drawn_limits(
    arm: Drawn, setups: Sequence[tuple[Variant, Range]], *, evenness: bool
) -> dict[tuple[str, Range], DrawnLimit]:
    """Limit load per arm, sticking angle and evenness of each setup, by draw.

    Parameters
    ----------
    arm : Drawn
        From `drawn_limb`.
    setups : sequence of (Variant, range)
        From `resolve`.
    evenness : bool
        False leaves evenness at 0, to save time.

    Returns
    -------
    limits : dict of (str, range) to DrawnLimit
        By variant and range.
    """
    size = arm.draws.n
    results = {
        (chosen.variant, span): DrawnLimit(
            load_kg=np.empty(size),
            angle_deg=np.empty(size),
            evenness=np.zeros(size),
            joint=np.empty(size, dtype=np.intp),
        )
        for chosen, span in setups
    }
    variants = {chosen.variant: chosen for chosen, _ in setups}
    for piece in arm.draws.pieces():
        mine = piece[1]
        for name, chosen in variants.items():
            whole_range = arm.rows(chosen, piece)
            for (owner, span), limit in results.items():
                if owner != name:
                    continue
                joint = chosen.model.joint
                window = _window(joint, span)
                rows = whole_range.within(window)
                most, where, limit.joint[mine] = limit_load(rows)
                most = np.where(np.isinf(most), np.nan, most)
                limit.load_kg[mine] = most
                limit.angle_deg[mine] = joint.grid()[window][where]
                if evenness:
                    limit.evenness[mine] = rows.utilisation(most[:, None]).mean(-1)
    return results


def posture_gain(arm: Drawn, chosen: Variant, span: Range) -> float:
    """Median of the limit load on the best posture path over the catalogue's.

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
    gain : float
        1 where the variant leaves nothing free. [1]

    Notes
    -----
    At every angle upper arm and trunk are where they help that draw most, which one
    path can follow, since the best place moves gradually with the angle.
    """
    ways, gains = postures(chosen.model, FEW_POSTURES), []
    if len(ways) == 1:
        return 1.0
    window = _window(chosen.model.joint, span)
    for piece in arm.draws.pieces():
        loads = [
            arm.rows(chosen, piece, posture_deg=way).within(window).largest().load
            for way in ways
        ]
        gains.append(np.max(loads, axis=0).min(-1) / loads[0].min(-1))
    return float(np.nanmedian(np.concatenate(gains)))


def resolve(setup: Setup | str) -> tuple[Variant, Range]:
    """Return variant and range of a setup, or refuse it."""
    name, span = (setup, None) if isinstance(setup, str) else setup
    chosen = find_variant(name)
    return chosen, checked_range(chosen, span)
