"""Strength and demand of one elbow under many parameter draws, fast."""

from __future__ import annotations

from functools import cache

import numpy as np

from analytics.catalogue import Anchored, Body, Cam, Constant, Variant, load_catalogue
from analytics.catalogue.fields import Knots
from analytics.mechanics.chain.linkage import (
    Linkage,
    Placed,
    linkage,
    own_moments,
    place,
    pull_arms,
    root_m,
)
from analytics.mechanics.chain.rows import Rows
from analytics.mechanics.chain.torques import torque_level, torques
from analytics.mechanics.curves import STRETCH
from analytics.mechanics.draws import PIECE, Block, Draws, Single
from analytics.mechanics.elbow.load_arms import (
    REFERENCE_ELBOW_DEG,
    REFERENCE_ROTATION_DEG,
    REFERENCE_SHOULDER_DEG,
    grip_force_n,
    grip_pull,
    machine_arm,
)
from analytics.mechanics.elbow.muscles import GRID_DEG, JOINT, Muscle, muscle_set
from analytics.mechanics.elbow.strength_curve import (
    LEVEL_NM,
    force_table,
    pronated_factor,
)
from analytics.mechanics.shapes import reshaped

# How publications differ in the moment arm of all flexors together, by angle: a
# tilt about mid-range, and the arm near the straight elbow.
_PROFILES = {
    "profile_tilt": ((GRID_DEG - 70.0) / 50.0).astype(np.float32),
    "profile_straight": np.exp(-((GRID_DEG / 20.0) ** 2)).astype(np.float32),
}
_JOINT_FRAC = ((GRID_DEG - GRID_DEG[0]) / np.ptp(GRID_DEG)).astype(np.float32)
# Who is measured when the shoulder's strength is set beside the elbow's.
_REFERENCE = (
    load_catalogue()
    .variants["standing_barbell_curl"]
    .bent(
        path=tuple((end, REFERENCE_SHOULDER_DEG) for end in JOINT.grid_deg),
        rotation_deg=REFERENCE_ROTATION_DEG,
    )
)
# Where a degree of the angle of optimal length is turned into length: mid-range.
_OPTIMAL_DEG = 60.0


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
        self._levelled: Block | None = None
        self._level = np.ones((0, 1), dtype=np.float32)
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

    def piece_nm(
        self,
        variant: Variant,
        piece: Block,
        *,
        posture_deg: tuple[float, float] | None = None,
    ) -> Single:
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
            self._one_joint[rotation] = self._sum(piece, rotation, None, None)
        total = self._sum(piece, rotation, variant, posture_deg)
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
        if rotation < 90:
            total *= self._grip(piece, rotation)
        return total

    def _grip(self, piece: Block, rotation_deg: float) -> Single:
        """Grip factor, straight from supinated to neutral to pronated."""
        near = self.draws.factor("neutral_grip")[piece[1]]
        if rotation_deg >= 0:
            return 1 + np.float32(1 - rotation_deg / 90.0) * (near - 1)
        pronated = pronated_factor(*self.draws.structures[piece[0]], self.shape)
        far = self.draws.factor("grip")[piece[1]] * np.float32(pronated)
        return near + np.float32(-rotation_deg / 90.0) * (far - near)

    def _sum(
        self,
        piece: Block,
        rotation_deg: float,
        variant: Variant | None,
        posture_deg: tuple[float, float] | None,
    ) -> Single:
        """Sum over muscles that do (with a variant) or do not cross the shoulder."""
        structure, mine = piece
        muscles, curve = self.draws.structures[structure]
        total = np.zeros((mine.stop - mine.start, GRID_DEG.size), dtype=np.float32)
        lean = np.zeros((total.shape[0], 1), dtype=np.float32)
        path: Knots = ((JOINT.grid_deg[0], 0.0), (JOINT.grid_deg[1], 0.0))
        if variant is not None:
            drift, lean = self._off_path(variant, mine, posture_deg)
            if posture_deg is not None:
                lean = lean + drift
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
        over = draws.factor("shoulder_arm")[mine]
        shift_deg = sum(
            draws.departure(name)[mine]
            for name in ("optimal_angle", "personal_angle", f"own_angle.{muscle.name}")
        )
        # stretch = (anchor - arm * excursion - slack + over * (change + lean * slope)
        # + arm * shift) / optimal, on the table's grid: a product of thin matrices.
        left = np.hstack(
            [np.ones_like(arm), -arm, -slack, over, over * lean, arm * shift_deg]
        )
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

    def rows(
        self,
        variant: Variant,
        piece: Block,
        *,
        posture_deg: tuple[float, float] | None = None,
    ) -> Rows:
        """Free joints for one piece of the draws, each part (m, n_grid)."""
        model, mine = variant.model, piece[1]
        drift, lean = self._off_path(variant, mine, posture_deg)
        placed, load_arm, own = self._load_arms(variant, mine, drift, lean)
        most = self.piece_nm(variant, piece, posture_deg=posture_deg)
        parts = [(load_arm[-1], own[-1], -np.inf, most)]
        for joint in model.free[1:]:
            if joint == "grip":
                force = self.draws.factor("grip_force")[mine] * grip_force_n()
                weightless = np.zeros_like(own[0])
                able = (-np.inf, force.astype(np.float32))
                parts.append((grip_pull(placed, model.resistance), weightless, *able))
                continue
            able = torques(
                joint,
                model.shoulder_deg(GRID_DEG),
                flexion_at_0_nm=self._torque_level(joint, piece),
                off_deg=drift + lean,
                slope=self.draws.departure(f"torque_slope.{joint}")[mine],
                reverse=self.draws.factor(f"torque_reverse.{joint}")[mine],
            )
            parts.append((load_arm[0], own[0], *able))
        columns = [tuple(column) for column in zip(*parts, strict=True)]
        names = ("load_arm_m", "own_nm", "least_nm", "most_nm")
        return Rows(joints=model.free, **dict(zip(names, columns, strict=True)))

    def _off_path(
        self,
        variant: Variant,
        mine: slice,
        posture_deg: tuple[float, float] | None,
    ) -> tuple[Single, Single]:
        """Upper arm off the path, and trunk leaned, each (m, 1) in degrees.

        Drawn and cut to what the variant leaves free, or the same for every draw.
        """
        model, draws = variant.model, self.draws
        if posture_deg is not None:
            one = np.ones((mine.stop - mine.start, 1), dtype=np.float32)
            return one * np.float32(posture_deg[0]), one * np.float32(posture_deg[1])
        drift = draws.departure(f"posture_deg@{model.path}")[mine]
        drift = drift + draws.departure(f"arm_deg@{variant.variant}")[mine]
        lean = draws.departure(f"shoulder_deg@{variant.variant}")[mine]
        if any(model.drift_deg):
            drift = drift.clip(*model.drift_deg)
        if any(model.lean_deg):
            lean = lean.clip(*model.lean_deg)
        return drift, lean

    def _torque_level(self, joint: str, piece: Block) -> Single:
        """Torque of a joint at 0 degrees beside the elbow's strength, (m, 1)."""
        if piece != self._levelled:
            at = round(REFERENCE_ELBOW_DEG - GRID_DEG[0])
            self._level = self.piece_nm(_REFERENCE, piece, posture_deg=(0, 0))[
                :, at : at + 1
            ]
            self._levelled = piece
        factor = self.draws.factor(f"torque_level.{joint}")[piece[1]]
        return self._level * factor * np.float32(torque_level(joint, JOINT.joint))

    def _load_arms(
        self, variant: Variant, mine: slice, drift: Single, lean: Single
    ) -> tuple[Placed, tuple[Single, ...], tuple[Single, ...]]:
        """Posture, moment arm of the load and own weight moment about both joints."""
        draws, name, model = self.draws, variant.variant, variant.model
        elbow = np.deg2rad(GRID_DEG).astype(np.float32)
        path = np.deg2rad(model.arm_deg(GRID_DEG)).astype(np.float32)
        arm = path + np.deg2rad(drift)
        links = linkage(model.chain, self.body)
        drawn = Linkage(
            signs=links.signs,
            length_m=(
                np.float32(links.length_m[0]),
                np.float32(links.length_m[1]) * draws.factor("grip_distance")[mine],
            ),
            mass_kg=tuple(np.float32(kg) for kg in links.mass_kg),
            first_kg_m=(
                np.float32(links.first_kg_m[0]),
                np.float32(links.first_kg_m[1])
                * draws.factor("forearm_and_hand")[mine],
            ),
        )
        free = any(model.lean_deg)  # what is held keeps the shoulder where it is
        root = root_m(model, self.body, lean_deg=lean if free else np.float32(0))
        placed = place((arm, arm + elbow), drawn, root=root)
        own, pull = own_moments(placed), model.resistance
        if isinstance(pull, Constant | Cam):
            load_arm = machine_arm(GRID_DEG, pull).astype(np.float32)
            return placed, (np.broadcast_to(load_arm, own[-1].shape),), own
        shifts = {}
        if isinstance(pull, Anchored):
            shifts = {
                "forward_m": draws.departure(f"anchor_forward@{name}")[mine],
                "up_m": draws.departure(f"anchor_up@{name}")[mine],
                "slack": draws.factor(f"slack@{name}")[mine],
            }
        return placed, pull_arms(placed, pull, **shifts), own


@cache
def _length_parts(
    muscles: str, index: int, path: Knots, rotation_deg: float
) -> tuple[Single, Single]:
    """Rows that a draw mixes into a muscle's place on the force table, and its arm.

    Rows: length at elbow 90, excursion, slack length, change and slope by shoulder
    angle, length per degree of optimal angle, each over optimal length and the table's
    step, shape (6, n_grid); then moment arm times peak force, shape (n_grid,).
    """
    muscle = muscle_set(muscles)[index]
    shoulder_deg = np.interp(GRID_DEG, *np.array(path).T)
    change, slope = np.zeros((2, GRID_DEG.size))
    if muscle.shoulder_m is not None:
        change = np.asarray(muscle.shoulder_m(shoulder_deg))
        slope = np.asarray(muscle.shoulder_m.derivative()(shoulder_deg))
    rows = np.stack(
        [
            np.full(GRID_DEG.size, muscle.anchor_m),
            muscle.excursion_m(GRID_DEG, rotation_deg),
            np.full(GRID_DEG.size, muscle.slack_m),
            change,
            slope,
            np.full(GRID_DEG.size, np.deg2rad(muscle.arm(_OPTIMAL_DEG))),
        ]
    ) / (muscle.optimal_m * (STRETCH[1] - STRETCH[0]))
    moment = muscle.moment_arm_m(GRID_DEG, rotation_deg) * muscle.peak_force_n
    return rows.astype(np.float32), moment.astype(np.float32)
