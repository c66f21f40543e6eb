"""Strength and demand of one elbow under many parameter draws, fast."""

from __future__ import annotations

from functools import cache

import numpy as np

from analytics.catalogue import Anchored, Body, Variant
from analytics.catalogue.entries import Knots
from analytics.mechanics.curves import STRETCH
from analytics.mechanics.draws import PIECE, Block, Draws, Single
from analytics.mechanics.elbow.levers import resistance_lever, shoulder_height_m
from analytics.mechanics.elbow.muscles import GRID_DEG, JOINT, Muscle, muscle_set
from analytics.mechanics.elbow.strength_curve import (
    LEVEL_NM,
    force_table,
    pronated_factor,
)
from analytics.mechanics.shapes import reshaped
from analytics.units import STANDARD_GRAVITY_M_PER_S2

# How publications differ in the moment arm of all flexors together, by angle: a
# tilt about mid-range, and the arm near the straight elbow.
_PROFILES = {
    "profile_tilt": ((GRID_DEG - 70.0) / 50.0).astype(np.float32),
    "profile_straight": np.exp(-((GRID_DEG / 20.0) ** 2)).astype(np.float32),
}
_JOINT_FRAC = ((GRID_DEG - GRID_DEG[0]) / np.ptp(GRID_DEG)).astype(np.float32)


class DrawnElbow:
    """Capability and demand of one arm under many draws, on a 1 degree grid.

    Work goes piece by piece. What variants share (all muscles that do not cross
    the shoulder) is computed once per piece and forearm rotation.

    Parameters
    ----------
    draws : Draws
        The parameters.
    body : Body
        Segment lengths and masses.
    shape : str
        As in `capability`.
    """

    def __init__(self, draws: Draws, *, body: Body, shape: str = "peaked") -> None:
        self.draws = draws
        self.body = body
        self.shape = shape
        self._piece: Block | None = None
        self._one_joint: dict[float, Single] = {}
        self._profile = np.ones((0, GRID_DEG.size), dtype=np.float32)
        size = (PIECE, GRID_DEG.size)
        self._place = np.empty(size, dtype=np.float32)
        self._index = np.empty(size, dtype=np.intp)
        self._moment = np.empty(size, dtype=np.float32)

    def capability_nm(self, variant: Variant) -> Single:
        """Moment of all flexors, shape (n, n_grid)."""
        pieces = [self.piece_nm(variant, piece) for piece in self.draws.pieces()]
        return np.concatenate(pieces)

    def piece_nm(self, variant: Variant, piece: Block) -> Single:
        """Moment of all flexors for one piece of the draws, shape (m, n_grid)."""
        if piece != self._piece:
            self._piece, self._one_joint = piece, {}
            logs = sum(
                self.draws.departure(name)[piece[1]] * form
                for name, form in _PROFILES.items()
            )
            self._profile = np.exp(logs)
        rotation = variant.model.rotation_deg
        if rotation not in self._one_joint:
            self._one_joint[rotation] = self._sum(piece, rotation, None)
        total = self._sum(piece, rotation, variant)
        total += self._one_joint[rotation]
        total *= self._profile
        level_nm = self.draws.factor("peak_force.brachialis")[piece[1]]
        level_nm = level_nm * np.float32(LEVEL_NM)
        total = reshaped(
            total,
            self.shape,
            level_nm=level_nm,
            joint_frac=_JOINT_FRAC,
            rise_factor=self.draws.factor("rival_rise")[piece[1]],
        )
        if rotation < 0:
            pronated = pronated_factor(*self.draws.structures[piece[0]], self.shape)
            factor = self.draws.factor("grip")[piece[1]] * np.float32(pronated)
            total *= 1 + np.float32(-rotation / 90.0) * (factor - 1)
        return total

    def _sum(
        self, piece: Block, rotation_deg: float, variant: Variant | None
    ) -> Single:
        """Sum over muscles that do (with a variant) or do not cross the shoulder."""
        structure, mine = piece
        muscles, curve = self.draws.structures[structure]
        total = np.zeros((mine.stop - mine.start, GRID_DEG.size), dtype=np.float32)
        lean = np.zeros((total.shape[0], 1), dtype=np.float32)
        path: Knots = ((JOINT.grid_deg[0], 0.0), (JOINT.grid_deg[1], 0.0))
        if variant is not None:
            lean = self.draws.departure(f"shoulder_deg@{variant.variant}")[mine]
            path = variant.model.path
        for index, muscle in enumerate(muscle_set(muscles)):
            if (muscle.shoulder_m is not None) == (variant is not None):
                table = force_table(muscles, curve, self.shape, index)
                parts = _length_parts(muscles, index, path, rotation_deg)
                self._add_muscle(total, mine, muscle, table, parts, lean)
        return total

    def _add_muscle(
        self,
        total: Single,
        mine: slice,
        muscle: Muscle,
        table: Single,
        parts: tuple[Single, Single],
        lean: Single,
    ) -> None:
        """Add one muscle's moment to ``total``, in place."""
        draws, size = self.draws, total.shape[0]
        arm = draws.factor(f"moment_arm.{muscle.arm_group}")[mine]
        slack = draws.factor(f"tendon_slack.{muscle.name}")[mine]
        force = draws.factor(f"peak_force.{muscle.name}")[mine]
        # stretch = (anchor - arm * excursion - slack + lean * slope) / optimal, on
        # the table's grid: a product of two thin matrices.
        left = np.hstack([np.ones_like(arm), -arm, -slack, lean])
        left /= draws.factor(f"optimal_fibre.{muscle.name}")[mine]
        place, index = self._place[:size], self._index[:size]
        np.matmul(left, parts[0], out=place)
        place += np.float32(0.5)
        np.copyto(index, place, casting="unsafe")
        moment = self._moment[:size]
        np.take(table, index, mode="clip", out=moment)
        moment *= arm * force
        moment *= parts[1]
        total += moment

    def levers(
        self, variant: Variant, mine: slice = slice(None)
    ) -> tuple[Single, Single]:
        """Lever of the load and own weight moment, each (m, n_grid)."""
        draws, body, name = self.draws, self.body, variant.variant
        model = variant.model
        off_path = draws.departure(f"posture_deg@{variant.model.path}")[mine]
        off_path = off_path + draws.departure(f"arm_deg@{name}")[mine]
        path = np.deg2rad(model.arm_deg(GRID_DEG))
        shifts = {}
        if isinstance(model.resistance, Anchored):
            shifts = {
                "forward_m": draws.departure(f"anchor_forward@{name}")[mine],
                "up_m": draws.departure(f"anchor_up@{name}")[mine],
                "slack": draws.factor(f"slack@{name}")[mine],
            }
        elbow = np.deg2rad(GRID_DEG).astype(np.float32)
        arm = path.astype(np.float32) + np.deg2rad(off_path)
        lever = resistance_lever(
            elbow,
            arm_rad=arm,
            resistance=model.resistance,
            upper_arm_m=np.float32(body.length_m["upper_arm"]),
            grip_m=np.float32(body.grip_m) * draws.factor("lever")[mine],
            shoulder_height_m=np.float32(shoulder_height_m(body, model.trunk_deg)),
            **shifts,
        )
        weight = np.float32(STANDARD_GRAVITY_M_PER_S2 * body.forearm_and_hand_kg_m)
        own = np.sin(elbow + arm)
        own *= weight * draws.factor("forearm_and_hand")[mine]
        return np.broadcast_to(lever, own.shape), own


@cache
def _length_parts(
    muscles: str, index: int, path: Knots, rotation_deg: float
) -> tuple[Single, Single]:
    """Rows that a draw mixes into a muscle's place on the force table, and its arm.

    Rows: length at elbow 90, excursion, slack length and slope by shoulder angle,
    each over optimal length and the table's step, shape (4, n_grid); then moment arm
    times peak force, shape (n_grid,).
    """
    muscle = muscle_set(muscles)[index]
    shoulder_deg = np.interp(GRID_DEG, *np.array(path).T)
    anchor = muscle.anchor_length_m(shoulder_deg, rotation_deg)
    slope = np.zeros_like(anchor)
    if muscle.shoulder_m is not None:
        slope = np.asarray(muscle.shoulder_m.derivative()(shoulder_deg))
    rows = np.stack(
        [
            anchor,
            muscle.excursion_m(GRID_DEG, rotation_deg),
            np.full_like(anchor, muscle.slack_m),
            slope,
        ]
    ) / (muscle.optimal_m * (STRETCH[1] - STRETCH[0]))
    moment = muscle.moment_arm_m(GRID_DEG, rotation_deg) * muscle.peak_force_n
    return rows.astype(np.float32), moment.astype(np.float32)
