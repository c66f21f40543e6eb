"""One all-out rep run forward in time: where it slows and where it stalls."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from analytics.catalogue import Body, Variant
from analytics.errors import InputError
from analytics.mechanics.draws import N_DRAWS, SEED
from analytics.mechanics.limits import Range, asks_nothing, drawn_limb, resolve
from analytics.mechanics.maximum import DrawnLimit, drawn_limits
from analytics.mechanics.moving import (
    Lift,
    run_lift,
)
from analytics.mechanics.slowing import peaks_deg, slowest_angle_deg, stall_angle_deg
from analytics.units import STANDARD_GRAVITY_M_PER_S2

LEAST_REP_DEG = 20.0
STEP_DEG = 0.25
NEAREST = 15  # draws


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DynamicRep:
    """One simulated rep.

    Attributes
    ----------
    variant : str
        Id.
    load_kg, load_ratio : float
        Per working arm; over the limit load of the same range. [kg], [1]
    completed : bool
        False where it stalled.
    stalled_deg : float
        Highest joint angle reached, NaN where completed. [deg]
    peak1_deg, low_deg, peak2_deg : float
        Joint angle at the velocity maxima around the minimum; NaN where the velocity
        has no minimum between two maxima. [deg]
    motion : DataFrame
        ``time_s``, the joint's angle, ``velocity_deg_per_s, activation, moment_nm,
        demand_nm``; demand as at rest. A stalled rep ends where it stalls.
    """

    variant: str
    load_kg: float
    load_ratio: float
    completed: bool
    stalled_deg: float
    peak1_deg: float
    low_deg: float
    peak2_deg: float
    motion: pd.DataFrame


def dynamic_rep(
    variant: str | Variant,
    *,
    load_ratio: float = 0.95,
    range_deg: Range | None = None,
    body: Body | None = None,
) -> DynamicRep:
    """Simulate one all-out rep from rest.

    Parameters
    ----------
    variant : str or Variant
        Posture path and resistance.
    load_ratio : float
        Load over the limit load of the same range. [1]
    range_deg : tuple of float or None
        First and last joint angle; the variant's own when None. [deg]
    body : Body or None
        From `make_body`; the default body when None.

    Returns
    -------
    rep : DynamicRep
        Motion, and where it slows or stalls.

    Raises
    ------
    InputError
        If the variant, range or load cannot be used.

    Notes
    -----
    Of the draws behind the limit load the one in the middle is run (`middle_draw`), so
    that load, stall and limit are those of one person. How it is lifted: `run_lift`.
    The rep starts where the resistance begins to resist: a cable that first helps is
    followed, not lifted.
    """
    chosen, (first, last) = resolve((variant, range_deg))
    if last - first < LEAST_REP_DEG:
        raise InputError(
            f"range_deg must span at least 20 degrees for a rep, got {last - first:g}"
        )
    if not (np.isfinite(load_ratio) and 0 <= load_ratio <= 2):
        raise InputError(f"load_ratio must be from 0 to 2, got {load_ratio:g}")
    joint = chosen.model.joint
    arm = drawn_limb(joint, n_draws=N_DRAWS, seed=SEED, body=body)
    limit = drawn_limits(arm, [(chosen, (first, last))], details=True)[
        chosen.variant, (first, last)
    ]
    if limit.lift is None or np.isnan(limit.load_kg).mean() > 0.5:
        raise asks_nothing(chosen, (first, last))
    draw = middle_draw(limit)
    lift = limit.lift.alone(draw, step_deg=STEP_DEG)
    load_kg = load_ratio * float(limit.load_kg[draw])
    return _described(chosen, lift, load_kg, load_ratio)


def middle_draw(limit: DrawnLimit) -> int:
    """Find the draw of the median stall angle among those of the median limit load.

    Parameters
    ----------
    limit : DrawnLimit
        With details.

    Returns
    -------
    draw : int
        Of `NEAREST` draws whose limit load is nearest the one told everywhere, within
        some tenths of a per cent, the one nearest the median stall angle.
    """
    away = np.abs(limit.load_kg - np.nanmedian(limit.load_kg))
    near = np.argsort(np.where(np.isnan(away), np.inf, away))[:NEAREST]
    stall = np.abs(limit.stall_deg[near] - np.nanmedian(limit.stall_deg))
    return int(near[np.argmin(stall)])


def _described(
    variant: Variant, lift: Lift, load_kg: float, load_ratio: float
) -> DynamicRep:
    run = run_lift(lift, np.array([load_kg]))
    stalled = int(run.stalled[0])
    done = stalled < 0
    begun = max(int(np.argmax(run.time_s[:, 0] > 0)) - 1, 0)
    shown = slice(begun, None if done else stalled + 1)
    demand = load_kg * STANDARD_GRAVITY_M_PER_S2 * lift.load_arm_m + lift.own_nm
    motion = pd.DataFrame(
        {
            "time_s": run.time_s[shown, 0],
            variant.model.joint.column: np.rad2deg(lift.angle_rad[shown]),
            "velocity_deg_per_s": np.rad2deg(run.rate_rad_per_s[shown, 0]),
            "activation": run.activation[shown, 0],
            "moment_nm": run.moment_nm[shown, 0],
            "demand_nm": demand[shown, 0],
        }
    )
    low = float(slowest_angle_deg(lift, run)[0]) if done else np.nan
    peak1, peak2 = peaks_deg(lift, run, low)
    return DynamicRep(
        variant=variant.variant,
        load_kg=load_kg,
        load_ratio=load_ratio,
        completed=done,
        stalled_deg=float(stall_angle_deg(lift, run)[0]),
        peak1_deg=peak1,
        low_deg=low,
        peak2_deg=peak2,
        motion=motion,
    )
