"""Balance while a lift goes on: centre of pressure and lean over its progress.

Static, in the sagittal plane, with the arms on the variant's own path and the load in
the hands: x forward of the middle of the ankles, y up from the floor.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from analytics.catalogue import (
    BODY_MASS_KG,
    STATURE_M,
    Anchored,
    Band,
    Body,
    Cable,
    Gravity,
    Variant,
    load_per_arm,
    make_body,
)
from analytics.errors import InputError
from analytics.mechanics.balance import (
    STANCES,
    base_m,
    joint_heights_m,
    turned,
    upright,
)
from analytics.mechanics.chain.linkage import band_tension
from analytics.mechanics.curves import Floats
from analytics.mechanics.demand import checked_load
from analytics.mechanics.joints import find_variant
from analytics.mechanics.limits import Range, checked_range
from analytics.units import STANDARD_GRAVITY_M_PER_S2

MOST_LEAN_DEG = 40.0  # beyond, nobody stands
HALVINGS = 40


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Lift:
    """Body and pull through a lift, in natural stance.

    Attributes
    ----------
    ahead_kg_m, above_kg_m : ndarray, shape (n_angles,)
        First moments of all that turns about the ankles.
    body_kg, feet_kg_m : float
        Whole body; first moment of the feet, which stay.
    hand_m : ndarray, shape (n_angles, 2)
        Grip.
    """

    ahead_kg_m: Floats
    above_kg_m: Floats
    body_kg: float
    feet_kg_m: float
    hand_m: Floats


def lift_balance(
    variant: str | Variant,
    load_kg: float,
    *,
    range_deg: Range | None = None,
    body_mass_kg: float = BODY_MASS_KG,
    stature_m: float = STATURE_M,
    sex: str | None = None,
) -> pd.DataFrame:
    r"""Follow centre of pressure and lean over the progress of a standing lift.

    Parameters
    ----------
    variant : str or Variant
        One that is done standing, nothing holding arm or trunk.
    load_kg : float
        As it is logged: all of a bar, one of two dumbbells. [kg]
    range_deg : tuple of float or None
        First and last joint angle; the variant's own when None. [deg]
    body_mass_kg, stature_m : float
        Of the whole body. [kg], [m]
    sex : str, optional
        ``female`` or ``male``.

    Returns
    -------
    balance : DataFrame
        A row a degree for parallel and split stance: ``stance, progress``, the joint's
        angle, ``load_ahead_m, centre_of_pressure_m, base_back_m, base_front_m,
        margin_m, lean_deg``. Places before any lean; margin to the nearer end of the
        base, negative beyond it; lean backward positive, 0 where none is needed, NaN
        where none is enough.

    Raises
    ------
    InputError
        If the lift is done seated, lying, hanging or on a support, if a machine takes
        its load, or a load or size is impossible.

    Notes
    -----
    With N the floor's push, F the pull at the hand (x_h, y_h) and M the body,

    .. math:: x_p = (M g x_c - x_h F_y + y_h F_x) / N, \quad N = M g - F_y

    A cable pulls towards its pulley and does not lean with the body; a band stood upon
    is held by the lifter's own feet and moves no pressure. The body leans as one rigid
    piece about the ankles: a lower bound of the lean people show.

    References
    ----------
    winter_2009; de_leva_1996; stance table.
    """
    chosen = find_variant(variant)
    _refuse_unless_free(chosen)
    first, last = checked_range(chosen, range_deg)
    load = float(load_per_arm(float(checked_load(load_kg)), chosen.arms_share))
    body = make_body(body_mass_kg=body_mass_kg, stature_m=stature_m, sex=sex)
    angle = np.linspace(first, last, max(round(last - first), 1) + 1)
    lift = _posed(chosen, angle, body)
    parts = []
    for stance in STANCES[:2]:
        base = base_m(body, stance)
        pull_kg = 0.0 if _stood_upon(chosen, base) else load * chosen.arms
        centre = _pressure_m(lift, np.zeros_like(angle), chosen, pull_kg, body)
        parts.append(
            pd.DataFrame(
                {
                    "stance": stance,
                    "progress": np.linspace(0.0, 1.0, angle.size),
                    chosen.model.joint.column: angle,
                    "load_ahead_m": lift.hand_m[:, 0],
                    "centre_of_pressure_m": centre,
                    "base_back_m": base[0],
                    "base_front_m": base[1],
                    "margin_m": np.minimum(base[1] - centre, centre - base[0]),
                    "lean_deg": _lean_deg(lift, centre, base, chosen, pull_kg, body),
                }
            )
        )
    return pd.concat(parts, ignore_index=True)


def _refuse_unless_free(variant: Variant) -> None:
    """Refuse what does not stand on its own feet, and say why."""
    model, held = variant.model, "balance over the feet does not limit it"
    if variant.stance not in STANCES[:2]:
        raise InputError(f"{variant.variant!r} is done {variant.stance}: {held}")
    if model.support != "none":
        raise InputError(f"{variant.variant!r} rests on a {model.support}: {held}")
    if model.joint.anatomy is not None:
        raise InputError(
            f"{variant.variant!r} moves the {model.joint.title.lower()} otherwise than "
            "the lifts whose balance is worked out"
        )
    if not isinstance(model.resistance, Gravity | Anchored):
        raise InputError(
            f"{variant.variant!r} is lifted on a machine, whose frame takes the load: "
            f"{held}"
        )


def _stood_upon(variant: Variant, base: tuple[float, float]) -> bool:
    """Whether the lifter's own feet hold the band."""
    pull = variant.model.resistance
    return (
        isinstance(pull, Band)
        and pull.anchor_height_m == 0
        and base[0] <= pull.anchor_forward_m <= base[1]
    )


def _posed(variant: Variant, angle_deg: Floats, body: Body) -> _Lift:
    """Place body and hands at every angle of the path, in natural stance."""
    model, up, at = variant.model, upright(body), joint_heights_m(body)
    tilt = np.deg2rad(model.trunk_deg)
    hip = np.array([0.0, at["hip"]])

    def on_trunk(height_m: float) -> Floats:
        above = height_m - at["hip"]
        return hip + above * np.array([np.sin(tilt), np.cos(tilt)])

    points = np.array([(0.0, up.y_m[0]), (0.0, up.y_m[1]), *map(on_trunk, up.y_m[2:])])
    shoulder = turned(on_trunk(at["shoulder"])[None], up.sway_rad)[0]
    points, arm_kg = turned(points, up.sway_rad), up.mass_kg[4] / 2
    arm = np.deg2rad(model.arm_deg(angle_deg))
    tilts = (arm, arm + np.deg2rad(angle_deg))
    upper, fore = (np.column_stack([np.sin(x), -np.cos(x)]) for x in tilts)
    bend = shoulder + body.length_m["upper_arm"] * upper
    centre = body.com_frac["upper_arm"] * body.length_m["upper_arm"]
    lifting = arm_kg * (shoulder + centre * upper)
    lifting = lifting + up.forearm_kg * (bend + up.forearm_m * fore)
    hanging = arm_kg * (shoulder - (0.0, centre)) + up.forearm_kg * (
        shoulder - (0.0, body.length_m["upper_arm"] + up.forearm_m)
    )
    moments = up.mass_kg[:4] @ points[:4] + variant.arms * lifting
    moments = moments + (2 - variant.arms) * hanging
    return _Lift(
        ahead_kg_m=moments[:, 0],
        above_kg_m=moments[:, 1],
        body_kg=body.mass_kg,
        feet_kg_m=up.feet_kg * up.feet_x_m,
        hand_m=bend + body.grip_m * fore,
    )


def _pressure_m(
    lift: _Lift, lean_rad: Floats, variant: Variant, pull_kg: float, body: Body
) -> Floats:
    """Centre of pressure with the body turned back about the ankles."""
    g, pull = STANDARD_GRAVITY_M_PER_S2, variant.model.resistance
    c, s = np.cos(lean_rad), np.sin(lean_rad)
    x, y = lift.hand_m.T
    x, y = x * c - y * s, x * s + y * c
    force_x, force_y = np.zeros_like(x), np.full_like(x, -g * pull_kg)
    if isinstance(pull, Anchored):
        hip_m = np.sin(upright(body).sway_rad) * joint_heights_m(body)["hip"]
        ahead = pull.anchor_forward_m + hip_m - x
        above = pull.anchor_height_m - y
        away = np.hypot(ahead, above)
        tension = g * pull_kg
        if isinstance(pull, Cable):
            tension = tension * pull.pulley_ratio
        elif isinstance(pull, Band):
            tension = tension * band_tension(away, resistance=pull)
        force_x, force_y = tension * ahead / away, tension * above / away
    own = g * (lift.ahead_kg_m * c - lift.above_kg_m * s + lift.feet_kg_m)
    push = g * lift.body_kg - force_y
    return np.where(push > 0, (own - x * force_y + y * force_x) / push, np.nan)


def _lean_deg(
    lift: _Lift,
    centre: Floats,
    base: tuple[float, float],
    variant: Variant,
    pull_kg: float,
    body: Body,
) -> Floats:
    """Least turn that brings the centre of pressure over the base."""
    way = np.where(centre > base[1], 1.0, np.where(centre < base[0], -1.0, 0.0))
    goal = np.where(way > 0, base[1], base[0])
    low, high = np.zeros_like(centre), np.full_like(centre, np.deg2rad(MOST_LEAN_DEG))
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        at = _pressure_m(lift, way * middle, variant, pull_kg, body)
        out = way * (at - goal) > 0
        low, high = np.where(out, middle, low), np.where(out, high, middle)
    lean = np.rad2deg(high)
    lean = np.where(lean >= MOST_LEAN_DEG - 1e-6, np.nan, lean)
    return np.where(np.isnan(centre), np.nan, way * np.where(way == 0, 0.0, lean))
