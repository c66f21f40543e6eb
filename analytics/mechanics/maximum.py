"""The limit load: one definition, between the load held and the load lifted once.

Every page, table and command takes a limit load from `drawn_limits`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from analytics.catalogue import Body, Joint, Variant
from analytics.mechanics.chain.rows import Rows, limit_load
from analytics.mechanics.curves import Floats
from analytics.mechanics.draws import Single
from analytics.mechanics.heaviest import moving_limits_kg
from analytics.mechanics.joints import Drawn, joint_model
from analytics.mechanics.limits import Range, window_of
from analytics.mechanics.moving import Lift, run_lift
from analytics.mechanics.slowing import slowest_angle_deg, stall_angle_deg
from analytics.mechanics.start import Start, drawn_start
from analytics.units import STANDARD_GRAVITY_M_PER_S2

LEAST_SPAN_DEG = 10.0  # a shorter range is a hold, and has no way to gain speed
# A moment arm shorter than this says nothing of what the muscles can give. [m]
_SHORT_ARM_M = 0.01


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DrawnLimit:
    """Limit of one setup by draw.

    Attributes
    ----------
    load_kg : ndarray, shape (n_draws,)
        Limit load per working arm: what a logged maximum means. NaN where the
        resistance asks for nothing in the whole range.
    held_kg, moving_kg : ndarray, shape (n_draws,)
        Held at every angle; lifted once from rest. ``load_kg`` lies between, at the
        place the draw gives to all variants.
    held_deg : ndarray, shape (n_draws,)
        Where least can be held.
    stall_deg, slowest_deg : ndarray, shape (n_draws,)
        Where a slightly heavier lift stalls; where one at 95 to 100 % of the moving
        limit is slowest, NaN where it does not slow down and speed up again.
    evenness : ndarray, shape (n_draws,)
        Mean utilisation under the load held.
    joint : ndarray of int, shape (n_draws,)
        Free joint that limits the hold, 0 the lead.
    lift : Lift or None
        What was lifted; None for a hold.
    """

    load_kg: Floats
    held_kg: Floats
    moving_kg: Floats
    held_deg: Floats
    stall_deg: Floats
    slowest_deg: Floats
    evenness: Floats
    joint: NDArray[np.intp]
    lift: Lift | None


def drawn_limits(
    arm: Drawn, setups: Sequence[tuple[Variant, Range]], *, details: bool
) -> dict[tuple[str, Range], DrawnLimit]:
    """Limit load per arm, hardest angles and evenness of each setup, by draw.

    Parameters
    ----------
    arm : Drawn
        From `drawn_limb`.
    setups : sequence of (Variant, range)
        From `resolve`.
    details : bool
        False leaves angles of the moving lift and evenness NaN, to save time.

    Returns
    -------
    limits : dict of (str, range) to DrawnLimit
        By variant and range.

    Notes
    -----
    A logged maximum is at least what its lifter could hold at every angle and at most
    what one lift completes (`moving_limit_kg`). Where between is not known: each draw
    has one place, flat from 0 to 1, for all variants. A hold is no lift: its limit is
    the load held.
    """
    return joint_limits([arm], setups, details=details)


def joint_limits(
    arms: Sequence[Drawn],
    setups: Sequence[tuple[Variant, Range]],
    *,
    details: bool,
) -> dict[tuple[str, Range], DrawnLimit]:
    """Give `drawn_limits` of several arms in one go, whose draws follow each other.

    Parameters
    ----------
    arms : sequence of Drawn
        Of one body and one number of draws, such as one for each shape.
    setups : sequence of (Variant, range)
        As in `drawn_limits`.
    details : bool
        As in `drawn_limits`.

    Returns
    -------
    limits : dict of (str, range) to DrawnLimit
        As many draws as those of all arms; a lift steps over the angles once for all.
    """
    size = arms[0].draws.n
    held = {setup: _Held(size * len(arms)) for setup in _keys(setups)}
    variants = {chosen.variant: chosen for chosen, _ in setups}
    for before, arm in enumerate(arms):
        for piece in arm.draws.pieces():
            mine = slice(before * size + piece[1].start, before * size + piece[1].stop)
            for name, chosen in variants.items():
                whole_range = arm.rows(chosen, piece)
                for (owner, span), one in held.items():
                    if owner == name:
                        window = window_of(chosen.model.joint, span)
                        one.add(whole_range.within(window), mine, details=details)
    start = drawn_start(
        lambda name: np.concatenate([arm.draws.share(name) for arm in arms])
    )
    lifts = {
        (name, span): _lift(arms[0].body, variants[name], span, start, one)
        for (name, span), one in held.items()
        if span[1] - span[0] >= LEAST_SPAN_DEG
    }
    moving = moving_limits_kg(
        list(lifts.values()),
        [held[setup].load_kg for setup in lifts],
        start_kg=[_start_kg(lift, held[setup]) for setup, lift in lifts.items()],
    )
    moved = dict(zip(lifts, zip(lifts.values(), moving, strict=True), strict=True))
    return {
        (name, span): _limit(
            variants[name].model.joint,
            span,
            one,
            *moved.get((name, span), (None, one.load_kg)),
            between=start.between,
            details=details,
        )
        for (name, span), one in held.items()
    }


def _keys(setups: Sequence[tuple[Variant, Range]]) -> list[tuple[str, Range]]:
    return list(dict.fromkeys((chosen.variant, span) for chosen, span in setups))


class _Held:
    """What is held in one setup, gathered piece by piece."""

    def __init__(self, size: int) -> None:
        self.load_kg, self.evenness = np.empty(size), np.full(size, np.nan)
        self.where, self.joint = (np.empty(size, dtype=np.intp) for _ in range(2))
        self.parts: list[tuple[Single, Single, Single]] = []

    def add(self, rows: Rows, mine: slice, *, details: bool) -> None:
        found = rows.largest()
        load, where, joint = limit_load(rows, found)
        load = np.where(np.isinf(load), np.nan, load)
        self.load_kg[mine], self.where[mine], self.joint[mine] = load, where, joint
        if details:
            self.evenness[mine] = rows.utilisation(load[:, None]).mean(-1)
        load_arm, own, most = (
            np.ascontiguousarray(thinned(part).T)
            for part in (rows.load_arm_m[0], rows.own_nm[0], rows.most_nm[0])
        )
        if len(rows.joints) > 1:  # what the lead may give before another joint fails
            able = np.where(np.isfinite(found.load), found.load, np.nan)
            possible = np.ascontiguousarray(thinned(able).T)
            told = np.isfinite(possible) & (load_arm > _SHORT_ARM_M)
            gravity = np.float32(STANDARD_GRAVITY_M_PER_S2)
            allowed = own + gravity * load_arm * np.where(told, possible, 0)
            most = np.where(told, np.minimum(allowed, most), most)
        self.parts.append((load_arm, own, most))


def thinned(part: NDArray[Any]) -> NDArray[Any]:
    """Every second angle of the last axis, both ends kept; evenly between, if need be.

    Parameters
    ----------
    part : ndarray, shape (..., n)
        By degree.

    Returns
    -------
    part : ndarray, shape (..., n // 2 + 1)
        In steps of 2 degrees, or a little less where the span is odd.
    """
    size = part.shape[-1]
    if size % 2:
        return part[..., ::2]
    at = np.linspace(0, size - 1, size // 2 + 1)
    low = np.minimum(at.astype(int), size - 2)
    share = (at - low).astype(part.dtype)
    return part[..., low] * (1 - share) + part[..., low + 1] * share


def _lift(body: Body, chosen: Variant, span: Range, start: Start, held: _Held) -> Lift:
    """Limb of one setup, ready to lift."""
    joint = chosen.model.joint
    window = window_of(joint, span)
    load_arm, own, most = (
        np.concatenate(part, axis=1) for part in zip(*held.parts, strict=True)
    )
    moved = joint_model(joint).moved(chosen, body=body)
    return Lift(
        angle_rad=thinned(np.deg2rad(joint.grid()[window])),
        capability_nm=most,
        load_arm_m=load_arm,
        own_nm=own,
        moved=moved.each(lambda part: thinned(part[window])[:, None]),
        start=start,
    )


def _limit(
    joint: Joint,
    span: Range,
    held: _Held,
    lift: Lift | None,
    moving: Floats,
    *,
    between: Any,
    details: bool,
) -> DrawnLimit:
    """Put the logged limit between what is held and what is lifted."""
    held_deg = joint.grid()[window_of(joint, span)][held.where]
    stall = slowest = np.full(held.load_kg.size, np.nan)
    if details:
        stall = held_deg
    if lift is not None and details:
        most_kg, start = np.maximum(moving, 0), lift.start
        stall = stall_angle_deg(lift, run_lift(lift, most_kg * start.failed))
        stall = np.where(np.isnan(stall), held_deg, stall)
        slowest = slowest_angle_deg(lift, run_lift(lift, most_kg * start.heavy))
    return DrawnLimit(
        load_kg=held.load_kg + between * (moving - held.load_kg),
        held_kg=held.load_kg,
        moving_kg=moving,
        held_deg=held_deg,
        stall_deg=stall,
        slowest_deg=slowest,
        evenness=held.evenness,
        joint=held.joint,
        lift=lift,
    )


def _start_kg(lift: Lift, held: _Held) -> Any:
    """Load held at the first angle where it resists."""
    weight = STANDARD_GRAVITY_M_PER_S2 * lift.load_arm_m
    resists = held.load_kg * weight + lift.own_nm >= 0
    first = np.argmax(resists, axis=0), np.arange(held.load_kg.size)
    spare = lift.capability_nm[first] - lift.own_nm[first]
    reached = weight[first] > STANDARD_GRAVITY_M_PER_S2 * _SHORT_ARM_M
    return np.where(reached, spare / np.where(reached, weight[first], 1), np.inf)
