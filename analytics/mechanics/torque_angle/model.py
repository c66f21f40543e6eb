"""A joint with a measured strength, under the names that mechanics asks for."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike

from analytics.catalogue import Body, Joint, Mechanics, Variant
from analytics.mechanics.curves import CURVES, Floats, zone
from analytics.mechanics.draws import Draws
from analytics.mechanics.moving import Moved
from analytics.mechanics.torque_angle.drawn import DrawnTorque
from analytics.mechanics.torque_angle.limb import inertia, load_arms, placed
from analytics.mechanics.torque_angle.muscles import muscles_of
from analytics.mechanics.torque_angle.strength import on_path, within_grid


@dataclass(frozen=True, slots=True)
class TorqueAngle:
    """One joint; its methods are those of `JointModel`.

    Attributes
    ----------
    joint : Joint
        Of the catalogue.
    """

    joint: Joint

    def asked(
        self, joint_deg: ArrayLike, *, model: Mechanics, body: Body
    ) -> tuple[tuple[Floats, ...], tuple[Floats, ...]]:
        """Moment arm of the load and moment of the limb about the lead joint."""
        where = placed(joint_deg, model=model, body=body)
        load_arm, own = load_arms(joint_deg, where, model)
        return (load_arm,), (own,)

    def able(
        self, joint_deg: ArrayLike, *, model: Mechanics, muscles: str, curve: str
    ) -> tuple[tuple[Any, ...], tuple[Any, ...]]:
        """Least and largest moment; what pulls the other way meets no limit."""
        most = self.strength(joint_deg, model=model, muscles=muscles, curve=curve)
        return (-np.inf,), (most,)

    def strength(
        self, joint_deg: ArrayLike, *, model: Mechanics, muscles: str, curve: str
    ) -> Floats:
        """Moment on a posture path, NaN where it was not measured."""
        values = on_path(self.joint, muscles, curve, model.path)
        return within_grid(self.joint, joint_deg, values)

    def hand_m(
        self, joint_deg: ArrayLike, *, model: Mechanics, body: Body
    ) -> tuple[Floats, Floats]:
        """Where the load acts: ahead of the hips and above the floor."""
        return placed(joint_deg, model=model, body=body).grip_m()

    def moved(self, variant: Variant, *, body: Body) -> Moved:
        """Give what a lift sets in motion, on the joint's grid."""
        model, grid = variant.model, self.joint.grid()
        own, per_kg, bias = inertia(grid, model=model, body=body)
        where = placed(grid, model=model, body=body)
        load_arm, _ = load_arms(grid, where, model)
        return Moved(
            inertia=own,
            inertia_per_kg=per_kg,
            bias=np.zeros_like(own),
            bias_per_kg=bias,
            shortening=self._shortening(model),
            hand_m=np.maximum(np.abs(load_arm), 0.1 * where.links.length_m[-1]),
        )

    def _shortening(self, model: Mechanics) -> Floats:
        """Of the muscles in optimal lengths per rad, weighted by what each gives."""
        grid = self.joint.grid()
        flexion, beside = self.joint.flexion_deg(grid), model.shoulder_deg(grid)
        given, shortened = np.zeros_like(grid), np.zeros_like(grid)
        for muscle in muscles_of(self.joint):
            moment = muscle.moment_nm(flexion, beside, curve=CURVES[0])
            fibre, _ = muscle.fibre(flexion, beside, curve=CURVES[0])
            given += moment
            shortened -= moment * np.gradient(fibre, np.deg2rad(grid))
        return shortened / given

    def muscle_work(
        self,
        joint_deg: ArrayLike,
        *,
        shoulder_deg: ArrayLike,
        rotation_deg: ArrayLike,
    ) -> pd.DataFrame:
        """Which muscle gives how much, and how long its fibres are, by posture."""
        curve = CURVES[0]
        angle, beside, turned = (
            np.ravel(x)
            for x in np.broadcast_arrays(joint_deg, shoulder_deg, rotation_deg)
        )
        flexion = self.joint.flexion_deg(angle)
        muscles = muscles_of(self.joint)
        moments = [x.moment_nm(flexion, beside, curve=curve) for x in muscles]
        parts = []
        for muscle, moment in zip(muscles, moments, strict=True):
            length, active = muscle.fibre(flexion, beside, curve=curve)
            parts.append(
                pd.DataFrame(
                    {
                        self.joint.column: angle,
                        "shoulder_deg": beside,
                        "rotation_deg": turned,
                        "muscle": muscle.name,
                        "moment_nm": moment,
                        "share_frac": moment / sum(moments),
                        "fibre_length": length,
                        "active": active,
                        "zone": zone(length, curve=curve),
                    }
                )
            )
        return pd.concat(parts, ignore_index=True)

    def muscle_arms_m(
        self, joint_deg: Floats, *, model: Mechanics
    ) -> dict[str, Floats]:
        """Give the moment arm of each muscle that charts name."""
        flexion, beside = (
            self.joint.flexion_deg(joint_deg),
            model.shoulder_deg(joint_deg),
        )
        return {
            muscle.name: muscle.arm_m(flexion, beside)
            for muscle in muscles_of(self.joint)
            if muscle.name in self.joint.named_muscles
        }

    def drawn(self, draws: Draws, *, body: Body, shape: str) -> DrawnTorque:
        """Strength and demand under many draws."""
        return DrawnTorque(self.joint, draws, body=body, shape=shape)

    def parameters_of(self, model: Mechanics) -> Sequence[str]:
        """Name the parameters of strength and limb that are drawn."""
        kinds = ("torque_peak", "torque_width", "torque_tilt", "torque_neighbour")
        own = [f"{kind}.{model.joint.joint}" for kind in kinds]
        return [*own, "grip_distance", "forearm_and_hand"]


@cache
def of_joint(joint: Joint) -> TorqueAngle:
    """Return the model of a joint.

    Parameters
    ----------
    joint : Joint
        With ``torque_angle`` as its anatomy.

    Returns
    -------
    model : TorqueAngle
        What mechanics asks for.
    """
    return TorqueAngle(joint)
