"""Strength and demand of one joint with a measured strength, under many draws."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from analytics.catalogue import Anchored, Body, Joint, Variant
from analytics.mechanics.chain.linkage import linkage
from analytics.mechanics.chain.rows import Rows
from analytics.mechanics.draws import Block, Draws, Single
from analytics.mechanics.shapes import LEVERAGE, reshaped
from analytics.mechanics.torque_angle.limb import load_arms, placed
from analytics.mechanics.torque_angle.strength import (
    leverage_nm,
    neighbour_log,
    regression,
)


class DrawnTorque:
    """Capability and demand of one limb under many draws, on the joint's grid.

    Parameters
    ----------
    joint : Joint
        Whose strength.
    draws : Draws
        The parameters.
    body : Body
        Segment lengths and masses.
    shape : str
        ``peaked`` or a rival, as in `reshaped`.
    """

    def __init__(
        self, joint: Joint, draws: Draws, *, body: Body, shape: str = "peaked"
    ) -> None:
        self.joint, self.draws, self.body, self.shape = joint, draws, body, shape
        self._grid = joint.grid()
        self._flexion = joint.flexion_deg(self._grid)
        self._frac = (self._grid - self._grid[0]) / np.ptp(self._grid)

    def capability_nm(self, variant: Variant) -> Single:
        """Moment of all muscles, shape (n, n_grid)."""
        return np.concatenate(
            [self._piece_nm(variant, piece) for piece in self.draws.pieces()]
        )

    def _departure(self, kind: str, mine: slice) -> Single:
        """Draw standard deviations, shape (m, 1)."""
        return self.draws.departure(f"{kind}.{self.joint.joint}")[mine]

    def _piece_nm(self, variant: Variant, piece: Block) -> Single:
        muscles, curve = self.draws.structures[piece[0]]
        mine, path, one = piece[1], variant.model.path, regression(self.joint, muscles)
        tilt = self._departure("torque_tilt", mine) * one.tilt(
            self.joint, self._flexion
        )
        if self.shape == LEVERAGE:
            moment = leverage_nm(self.joint, muscles, path) * np.exp(tilt)
            return moment.astype(np.float32)
        relative = one.relative(
            self._flexion,
            peak=self._departure("torque_peak", mine),
            width=self._departure("torque_width", mine),
        )
        share = 1 + self._departure("torque_neighbour", mine) * one.neighbour_sd
        beside = share * neighbour_log(self.joint, muscles, curve, path)
        total = one.level_nm * relative * np.exp(tilt + beside)
        total = reshaped(
            total,
            self.shape,
            level_nm=one.level_nm,
            joint_frac=self._frac,
            rise_factor=self.draws.factor("rival_rise")[mine],
        )
        return total.astype(np.float32)

    def rows(
        self,
        variant: Variant,
        piece: Block,
        *,
        posture_deg: tuple[float, float] | None = None,
    ) -> Rows:
        """Give the lead joint for one piece of the draws, each part (m, n_grid)."""
        model, draws, mine, name = variant.model, self.draws, piece[1], variant.variant
        if posture_deg is None:
            off = draws.departure(f"posture_deg@{model.path}")[mine]
            off = off + draws.departure(f"arm_deg@{name}")[mine]
        else:
            off = np.full((mine.stop - mine.start, 1), sum(posture_deg), np.float32)
        links = linkage(model.chain, self.body)
        reach = links.length_m[-1] * draws.factor("grip_distance")[mine]
        first = links.first_kg_m[-1] * draws.factor("forearm_and_hand")[mine]
        links = replace(
            links,
            length_m=(*links.length_m[:-1], reach),
            first_kg_m=(*links.first_kg_m[:-1], first),
        )
        shifts: dict[str, Any] = {}
        if isinstance(model.resistance, Anchored):
            shifts = {
                "forward_m": draws.departure(f"anchor_forward@{name}")[mine],
                "up_m": draws.departure(f"anchor_up@{name}")[mine],
                "slack": draws.factor(f"slack@{name}")[mine],
            }
        where = placed(
            self._grid, model=model, body=self.body, links=links, off_deg=off
        )
        load_arm, own = load_arms(self._grid, where, model, **shifts)
        return Rows(
            joints=model.free,
            load_arm_m=(np.asarray(load_arm, dtype=np.float32),),
            own_nm=(np.asarray(own, dtype=np.float32),),
            least_nm=(-np.inf,),
            most_nm=(self._piece_nm(variant, piece),),
        )
