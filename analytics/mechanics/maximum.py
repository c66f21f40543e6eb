"""The limit load: one definition, between the load held and the load lifted once.

Every page, table and command takes a limit load from `drawn_limits`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from analytics.catalogue import Body, Variant
from analytics.mechanics.chain.rows import Rows, limit_load
from analytics.mechanics.curves import Floats
from analytics.mechanics.draws import Single
from analytics.mechanics.joints import Drawn, joint_model
from analytics.mechanics.limits import Range, window_of
from analytics.mechanics.moving import (
    Lift,
    moving_limit_kg,
    run_lift,
)
from analytics.mechanics.slowing import slowest_angle_deg, stall_angle_deg
from analytics.mechanics.start import Start, drawn_start
from analytics.units import STANDARD_GRAVITY_M_PER_S2

LEAST_SPAN_DEG = 10.0  # a shorter range is a hold, and has no way to gain speed
# A lever shorter than this says nothing of what the muscles can give. [m]
_SHORT_LEVER_M = 0.01


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
    return {
        (name, span): _limit(
            arms[0].body, variants[name], span, start, one, details=details
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
        load, where, joint = limit_load(rows)
        load = np.where(np.isinf(load), np.nan, load)
        self.load_kg[mine], self.where[mine], self.joint[mine] = load, where, joint
        if details:
            self.evenness[mine] = rows.utilisation(load[:, None]).mean(-1)
        step = _step(rows.lever_m[0].shape[-1])
        lever, own, most = (
            np.ascontiguousarray(part[:, ::step].T)
            for part in (rows.lever_m[0], rows.own_nm[0], rows.most_nm[0])
        )
        if len(rows.joints) > 1:  # what the lead may give before another joint fails
            possible = np.ascontiguousarray(rows.largest().load[:, ::step].T)
            told = np.isfinite(possible) & (lever > _SHORT_LEVER_M)
            gravity = np.float32(STANDARD_GRAVITY_M_PER_S2)
            allowed = own + gravity * lever * np.where(told, possible, 0)
            most = np.where(told, np.minimum(allowed, most), most)
        self.parts.append((lever, own, most))


def _step(angles: int) -> int:
    """Degrees between the angles of a moving lift; its ends stay."""
    return 2 if angles % 2 else 1


def _limit(
    body: Body,
    chosen: Variant,
    span: Range,
    start: Start,
    held: _Held,
    *,
    details: bool,
) -> DrawnLimit:
    """Put the moving limit above what is held, and the logged one between."""
    joint = chosen.model.joint
    window = window_of(joint, span)
    angle = joint.grid()[window]
    nothing = np.full(held.load_kg.size, np.nan)
    moving, stall, slowest, lift = held.load_kg, nothing, nothing, None
    if span[1] - span[0] >= LEAST_SPAN_DEG:
        step = _step(angle.size)
        lever, own, most = (
            np.concatenate(part, axis=1) for part in zip(*held.parts, strict=True)
        )
        lift = Lift(
            angle_rad=np.deg2rad(angle[::step]),
            capability_nm=most,
            lever_m=lever,
            own_nm=own,
            moved=joint_model(joint)
            .moved(chosen, body=body)
            .at(slice(window.start, window.stop, step)),
            start=start,
        )
        moving = moving_limit_kg(lift, held.load_kg, start_kg=_start_kg(lift, held))
        if details:
            most_kg = np.maximum(moving, 0)
            stall = stall_angle_deg(lift, run_lift(lift, most_kg * start.failed))
            slowest = slowest_angle_deg(lift, run_lift(lift, most_kg * start.heavy))
    held_deg = angle[held.where]
    return DrawnLimit(
        load_kg=held.load_kg + start.between * (moving - held.load_kg),
        held_kg=held.load_kg,
        moving_kg=moving,
        held_deg=held_deg,
        stall_deg=np.where(np.isnan(stall), held_deg, stall) if details else stall,
        slowest_deg=slowest,
        evenness=held.evenness,
        joint=held.joint,
        lift=lift,
    )


def _start_kg(lift: Lift, held: _Held) -> Any:
    """Load held at the first angle where it resists."""
    weight = STANDARD_GRAVITY_M_PER_S2 * lift.lever_m
    resists = held.load_kg * weight + lift.own_nm >= 0
    first = np.argmax(resists, axis=0), np.arange(held.load_kg.size)
    spare = lift.capability_nm[first] - lift.own_nm[first]
    levered = weight[first] > STANDARD_GRAVITY_M_PER_S2 * _SHORT_LEVER_M
    return np.where(levered, spare / np.where(levered, weight[first], 1), np.inf)
