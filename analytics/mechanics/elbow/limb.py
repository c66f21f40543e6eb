"""Equation of motion of forearm and load about the elbow, muscles left out.

The upper arm follows a variant's posture path; whatever moment the elbow gets, the
limb answers. What muscles give is in `moved`.
"""

from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np
from scipy.interpolate import CubicSpline
from scipy.ndimage import gaussian_filter1d

from analytics.catalogue import (
    Band,
    Body,
    Cable,
    Gravity,
    Resistance,
    Variant,
    load_catalogue,
)
from analytics.mechanics.curves import Floats
from analytics.mechanics.elbow.load_arms import hand_m, load_arms
from analytics.mechanics.elbow.muscles import JOINT
from analytics.units import STANDARD_GRAVITY_M_PER_S2

PATH_DEG = np.arange(JOINT.range_deg[0], JOINT.range_deg[1] + 0.5, 0.5)


@cache
def rep_parameter(name: str) -> float:
    """Value of the table of rep dynamics."""
    table = load_catalogue().tables["rep_dynamics"]
    return float(table.numbers("value")[table.columns["parameter"].index(name)])


class Limb:
    r"""Forearm, hand and load on a posture path, as functions of the elbow angle.

    Parameters
    ----------
    variant : Variant
        Path and resistance.
    load_kg : float
        Per working arm. [kg]
    body : Body
        Segment sizes.

    Notes
    -----
    With :math:`\theta` the elbow, :math:`\alpha(\theta)` the upper arm from hanging,
    :math:`\varphi = \alpha + \theta`, I the inertia and S the first moment about the
    elbow, U the upper arm, the moment at the elbow is

    .. math:: \tau = I\ddot\varphi + S U(\ddot\alpha\cos\theta + \dot\alpha^2\sin\theta)
              + \tau_{rest}(\theta) + \tau_{stack}

    A load in the hand adds to I and S. A cable's stack of plates rises by the cable
    drawn out, and its inertia adds :math:`m \ell \ddot s`; a machine's likewise through
    its moment arm; a band has none. A cable is taken to stay taut.
    """

    def __init__(self, variant: Variant, load_kg: float, body: Body) -> None:
        pull = variant.model.resistance
        forearm_kg = body.segment_kg["forearm"] + body.segment_kg["hand"]
        first = body.forearm_and_hand_kg_m
        length = body.length_m["forearm"]
        gyration = rep_parameter("forearm_and_hand_gyration") * length
        held_kg = load_kg if isinstance(pull, Gravity) else 0.0
        self.mass_kg = forearm_kg + held_kg
        self.first = first + held_kg * body.grip_m
        self.inertia = (
            forearm_kg * ((first / forearm_kg) ** 2 + gyration**2)
            + held_kg * body.grip_m**2
        )
        self.upper_m = body.length_m["upper_arm"]
        self.pull_kg = load_kg - held_kg  # what does not move with the hand
        self.stack_kg = 0.0 if isinstance(pull, Band) else self.pull_kg
        self.row = self._tabulate(variant, pull, body)

    def _tabulate(self, variant: Variant, pull: Resistance, body: Body) -> CubicSpline:
        """Spline of all that depends on the angle.

        Columns: upper arm, its first and second derivative by the elbow; moment arm of
        what does not move with the hand, times its load; first and second derivative of
        the cable drawn out.
        """
        grid = np.deg2rad(PATH_DEG)
        blur = rep_parameter("path_blur") / (PATH_DEG[1] - PATH_DEG[0])
        shoulder_deg = gaussian_filter1d(
            variant.model.shoulder_deg(PATH_DEG), blur, mode="nearest"
        )
        knots = tuple(zip(PATH_DEG.tolist(), shoulder_deg.tolist(), strict=True))
        path = CubicSpline(grid, np.deg2rad(shoulder_deg - variant.model.trunk_deg))
        arm = path(grid)

        def arm_of(resistance: Resistance) -> Floats:
            smooth = replace(variant.model, path=knots, resistance=resistance)
            return load_arms(PATH_DEG, model=smooth, body=body)[0]

        load_arm = arm_of(pull)
        drawn = CubicSpline(grid, load_arm).antiderivative()
        if isinstance(pull, Cable):  # the stack rises by the pulley's share of it
            smooth = replace(variant.model, path=knots)
            ahead, above = hand_m(PATH_DEG, model=smooth, body=body)
            distance = np.hypot(
                pull.anchor_forward_m - ahead, pull.anchor_height_m - above
            )
            drawn = CubicSpline(grid, pull.pulley_ratio * distance)
        columns = [arm, path(grid, 1), path(grid, 2)]
        columns += [self.pull_kg * load_arm, drawn(grid, 1), drawn(grid, 2)]
        return CubicSpline(grid, np.column_stack(columns))

    def demand_nm(self, elbow_rad: Any) -> Any:
        """Moment that holds the limb still."""
        row = self.row(elbow_rad)
        own = self.first * np.sin(row[..., 0] + elbow_rad)
        return STANDARD_GRAVITY_M_PER_S2 * (own + row[..., 3])

    def inertia_kg_m2(self, elbow_rad: Floats) -> Floats:
        """Elbow moment per elbow acceleration, on the path."""
        _, a1, _, arm_kg_m, s1, _ = self.row(elbow_rad).T
        moved = self.stack_kg > 0
        along = self.first * self.upper_m * a1 * np.cos(elbow_rad)
        return np.asarray(self.inertia * (1 + a1) + along + moved * arm_kg_m * s1)

    def bias_kg_m2(self, elbow_rad: Floats) -> Floats:
        """Elbow moment per squared elbow rate, on the path."""
        _, a1, a2, arm_kg_m, _, s2 = self.row(elbow_rad).T
        turned = a2 * np.cos(elbow_rad) + a1**2 * np.sin(elbow_rad)
        along = self.first * self.upper_m * turned
        moved = self.stack_kg > 0
        return np.asarray(self.inertia * a2 + along + moved * arm_kg_m * s2)
