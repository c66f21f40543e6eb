"""Limit load, sticking angle, utilisation and evenness of one setup over a range."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analytics.catalogue import BODY_MASS_KG, STATURE_M, Body, Joint, Variant, make_body
from analytics.errors import InputError
from analytics.intervals import low_middle_high
from analytics.mechanics.draws import make_draws
from analytics.mechanics.joints import Drawn, angle_column, find_variant, joint_model
from analytics.units import STANDARD_GRAVITY_M_PER_S2

Range = tuple[float, float]
Setup = tuple[str | Variant, Range | None]

# A 90 % interval of the sticking angle wider than this names no single angle.
WIDEST_STICKING_DEG = 40.0
# Levers shorter than this ask for nothing worth a limit. [m]
_NO_LEVER_M = 1e-3


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


def limit_load(
    lever_m: Any, own_nm: Any, capability_nm: Any
) -> tuple[Any, NDArray[np.intp]]:
    """Largest load held at every angle of the last axis, and where it binds."""
    weight = lever_m * STANDARD_GRAVITY_M_PER_S2
    possible = np.where(
        lever_m > _NO_LEVER_M,
        (capability_nm - own_nm) / np.maximum(weight, _NO_LEVER_M),
        np.inf,
    )
    where = np.argmin(possible, axis=-1)
    return np.take_along_axis(possible, where[..., None], -1)[..., 0], where


def _utilisation(load_kg: Any, lever_m: Any, own_nm: Any, capability_nm: Any) -> Any:
    asked = load_kg * STANDARD_GRAVITY_M_PER_S2 * lever_m + own_nm
    return np.maximum(asked, 0.0) / capability_nm


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
        The joint's angle by `angle_column`, then ``demand_nm, capability_nm,
        utilisation``, one arm, about one row per degree.

    Raises
    ------
    InputError
        If the variant, range, load or a body size cannot be used, or no load is given
        and the resistance asks for nothing in the whole range.

    Notes
    -----
    Utilisation is demand over capability; where the resistance helps, it is 0.
    """
    chosen = find_variant(variant)
    first, last = checked_range(chosen, range_deg)
    _check_load(load_kg)
    body = make_body(
        body_mass_kg=body_mass_kg, stature_m=stature_m, sex=sex, forearm_m=forearm_m
    )
    angle, model = np.linspace(first, last, round(last - first) + 1), chosen.model
    joint = joint_model(model.joint)
    lever, own = joint.levers(angle, model=model, body=body)
    muscles = muscles or model.joint.muscle_sets[0]
    strength = joint.strength(angle, model=model, muscles=muscles, curve=curve)
    load = limit_load(lever, own, strength)[0] if load_kg is None else load_kg
    if np.isinf(load):
        raise asks_nothing(chosen, (first, last))
    return pd.DataFrame(
        {
            angle_column([chosen]): angle,
            "demand_nm": load * STANDARD_GRAVITY_M_PER_S2 * lever + own,
            "capability_nm": strength,
            "utilisation": _utilisation(load, lever, own, strength),
        }
    )


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
    lever, own, strength = (
        part[:, window] for part in (*drawn.levers(chosen), drawn.capability_nm(chosen))
    )
    load = limit_load(lever, own, strength)[0][:, None] if load_kg is None else load_kg
    load = np.where(np.isinf(load), np.nan, load)
    columns: dict[str, Any] = {joint.column: joint.grid()[window]}
    for name, values in (
        ("capability_nm", strength),
        ("utilisation", _utilisation(load, lever, own, strength)),
    ):
        for end, row in zip(
            ("low", "mid", "high"), low_middle_high(values), strict=True
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
    draws = make_draws(n_draws, joint=joint, seed=seed, person_frac=person_frac)
    return joint_model(joint).drawn(draws, body=body or make_body(), shape=shape)


def _window(joint: Joint, range_deg: Range) -> slice:
    start = round(joint.grid_deg[0])
    return slice(round(range_deg[0]) - start, round(range_deg[1]) - start + 1)


def drawn_limits(
    arm: Drawn, setups: Sequence[tuple[Variant, Range]], *, evenness: bool
) -> dict[tuple[str, Range], tuple[Any, Any, Any]]:
    """Limit load per arm, sticking angle and evenness of each setup, by draw.

    The load is NaN where the resistance asks for nothing in the whole range.
    """
    size = arm.draws.n
    results = {
        (chosen.variant, span): (np.empty(size), np.empty(size), np.empty(size))
        for chosen, span in setups
    }
    variants = {chosen.variant: chosen for chosen, _ in setups}
    for piece in arm.draws.pieces():
        mine = piece[1]
        for name, chosen in variants.items():
            whole_range = (*arm.levers(chosen, mine), arm.piece_nm(chosen, piece))
            for (owner, span), (load, angle, even) in results.items():
                if owner != name:
                    continue
                joint = chosen.model.joint
                window = _window(joint, span)
                lever, own, strength = (part[:, window] for part in whole_range)
                most, where = limit_load(lever, own, strength)
                load[mine] = np.where(np.isinf(most), np.nan, most)
                angle[mine] = joint.grid()[window][where]
                if evenness:
                    used = _utilisation(load[mine, None], lever, own, strength)
                    even[mine] = used.mean(-1)
    return results


def resolve(setup: Setup | str) -> tuple[Variant, Range]:
    """Return variant and range of a setup, or refuse it."""
    name, span = (setup, None) if isinstance(setup, str) else setup
    chosen = find_variant(name)
    return chosen, checked_range(chosen, span)
