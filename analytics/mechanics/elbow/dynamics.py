"""One all-out rep run forward in time: where it slows and where it stalls.

The shoulder follows the variant's posture path; the elbow is free. Isometric
strength, posture and levers are those of the quasi-static model.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike
from scipy.interpolate import CubicSpline
from scipy.signal import find_peaks
from scipy.special import lambertw

from analytics.catalogue import Body, Variant, make_body
from analytics.errors import InputError
from analytics.mechanics.chain.rows import limit_load
from analytics.mechanics.curves import Floats
from analytics.mechanics.elbow.limb import (
    PATH_DEG,
    AngleTable,
    Limb,
    limb_motion,
    rep_parameter,
)
from analytics.mechanics.elbow.muscles import muscle_set
from analytics.mechanics.elbow.strength_curve import grip_factor
from analytics.mechanics.joints import posture_rows
from analytics.mechanics.limits import (
    Range,
    asks_nothing,
    checked_range,
)
from analytics.mechanics.rep import DynamicRep

LEAST_ACTIVATION = 0.01
LEAST_INERTIA_FRAC = 0.1  # of forearm and load; below, the elbow alone moves nothing
SMALLEST_DIP_FRAC = 0.02  # of the first peak; the solution carries no noise


def force_velocity(velocity: ArrayLike) -> Floats:
    r"""Force of an active fibre by its speed of lengthening.

    Parameters
    ----------
    velocity : array_like, shape (...)
        Lengthening positive, over the greatest shortening velocity. [1]

    Returns
    -------
    force : ndarray, shape (...)
        Over the isometric force, never negative. [1]

    Notes
    -----
    .. math:: f = d_1 \ln(u + \sqrt{u^2 + 1}) + d_4, \quad u = d_2 v + d_3

    References
    ----------
    de_groote_2016.
    """
    d1, d2, d3, d4 = (rep_parameter(f"d{i}") for i in (1, 2, 3, 4))
    return np.maximum(
        d1 * np.arcsinh(d2 * np.asarray(velocity, dtype=float) + d3) + d4, 0.0
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Drive:
    """Elbow moment of the flexors by angle, rate and activation.

    Attributes
    ----------
    limb : Limb
        What it moves.
    row : AngleTable
        By elbow angle: passive moment, active moment of each muscle, lengthening of
        each by the elbow's rate over the greatest shortening velocity.
    muscles : int
        How many.
    """

    limb: Limb
    row: AngleTable
    muscles: int

    def __call__(self, elbow_rad: float, rate: float, activation: float) -> float:
        row = self.row.at(elbow_rad)
        active = row[1 : self.muscles + 1]
        fast = force_velocity(row[self.muscles + 1 :] * rate)
        return float(row[0] + activation * (active @ fast))

    def holding(self, elbow_rad: float) -> float:
        """Activation that holds the limb still, between least and full."""
        passive = self(elbow_rad, 0.0, 0.0)
        full = self(elbow_rad, 0.0, 1.0) - passive
        need = (self.limb.demand_nm(elbow_rad) - passive) / full
        return float(np.clip(need, LEAST_ACTIVATION, 1.0))


def _drive(variant: Variant, limb: Limb, *, muscles: str, curve: str) -> _Drive:
    """Tabulate the flexors along the path, so that the integrator only looks up."""
    grid = np.deg2rad(PATH_DEG)
    shoulder = np.rad2deg(limb.row.spline(grid)[:, 0]) + variant.model.trunk_deg
    grip = grip_factor(variant.model.rotation_deg, muscles=muscles, curve=curve)
    active, lengthening, passive = [], [], np.zeros_like(grid)
    for muscle in muscle_set(muscles):
        balance = muscle.balance(curve)
        stretch = muscle.stretch(PATH_DEG, shoulder, variant.model.rotation_deg)
        arm_m = muscle.moment_arm_m(PATH_DEG, variant.model.rotation_deg)
        scale = grip * muscle.peak_force_n * arm_m
        active.append(scale * np.interp(stretch, balance.stretch, balance.active))
        passive += scale * np.interp(stretch, balance.stretch, balance.passive)
        fibre = CubicSpline(grid, stretch / rep_parameter("greatest_velocity"))
        lengthening.append(fibre(grid, 1))
    columns = np.column_stack([passive, *active, *lengthening])
    return _Drive(limb=limb, row=AngleTable(columns), muscles=len(active))


def dynamic_rep(
    chosen: Variant,
    *,
    load_ratio: float,
    range_deg: Range | None,
    body: Body | None,
    muscles: str,
    curve: str,
) -> DynamicRep:
    """Simulate one all-out rep from rest; see `analytics.mechanics.dynamic_rep`."""
    first, last = checked_range(chosen, range_deg)
    if last - first < 20:
        raise InputError(
            f"range_deg must span at least 20 degrees for a rep, got {last - first:g}"
        )
    if not (np.isfinite(load_ratio) and 0 <= load_ratio <= 2):
        raise InputError(f"load_ratio must be from 0 to 2, got {load_ratio:g}")
    size = body or make_body()
    limit_kg = _limit_kg(chosen, (first, last), size, muscles, curve)
    if not np.isfinite(limit_kg):
        raise asks_nothing(chosen, (first, last))
    load_kg = load_ratio * limit_kg
    limb = Limb(chosen, load_kg, size)
    passed = np.deg2rad(np.arange(first, last))
    if limb.inertia_kg_m2(passed).min() < LEAST_INERTIA_FRAC * limb.inertia:
        raise InputError(
            f"{chosen.variant!r}: in this posture the pull passes the joint or runs "
            "with the shoulder, so no rep can be run; move its anchor away"
        )
    drive = _drive(chosen, limb, muscles=muscles, curve=curve)
    first = _first_resisted(limb, first, last)
    at_rest = drive.holding(np.deg2rad(first))
    rising = _activation(at_rest)
    motion = limb_motion(
        limb,
        lambda t, elbow, rate: drive(elbow, rate, float(rising(t))),
        start_deg=first,
        end_deg=last,
    )
    motion.insert(3, "activation", rising(motion["time_s"].to_numpy()))
    return _described(chosen, load_kg, load_ratio, last, motion)


def _first_resisted(limb: Limb, first_deg: float, last_deg: float) -> float:
    """First angle from which holding still takes the flexors."""
    angle = np.arange(first_deg, last_deg - 20 + 0.5, 0.5)
    resisted = limb.demand_nm(np.deg2rad(angle)) >= 0
    return float(angle[np.argmax(resisted)]) if resisted.any() else first_deg


def _limit_kg(
    variant: Variant, span: Range, body: Body, muscles: str, curve: str
) -> float:
    elbow = np.linspace(*span, round(span[1] - span[0]) + 1)
    rows = posture_rows(
        elbow, model=variant.model, body=body, muscles=muscles, curve=curve
    )
    return float(limit_load(rows)[0])


def _activation(start: float) -> Callable[[Any], Any]:
    """Activation by time under full drive: the rate equation solved for it."""
    rise, spare = rep_parameter("activation_time"), 1 - start

    def active(time_s: Any) -> Any:
        left = -0.75 * spare * np.exp(-0.75 * spare - time_s / (2 * rise))
        return 1 + lambertw(left).real / 0.75

    return active


def _described(
    variant: Variant,
    load_kg: float,
    load_ratio: float,
    last: float,
    motion: pd.DataFrame,
) -> DynamicRep:
    elbow = motion["elbow_deg"].to_numpy()
    speed = motion["velocity_deg_per_s"].to_numpy()
    done = bool(elbow[-1] >= last - 1e-3)
    peak1 = low = peak2 = np.nan
    lows, found = find_peaks(-speed, prominence=SMALLEST_DIP_FRAC * speed.max())
    if lows.size:
        at = int(lows[np.argmax(found["prominences"])])
        low = float(elbow[at])
        peak1 = float(elbow[np.argmax(speed[:at])])
        peak2 = float(elbow[at + np.argmax(speed[at:])])
    return DynamicRep(
        variant=variant.variant,
        load_kg=load_kg,
        load_ratio=load_ratio,
        completed=done,
        stalled_deg=np.nan if done else float(elbow.max()),
        peak1_deg=peak1,
        low_deg=low,
        peak2_deg=peak2,
        motion=motion,
    )
