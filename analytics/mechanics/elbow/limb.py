"""Equation of motion of forearm and load about the elbow, muscles left out.

The upper arm follows a variant's posture path; whatever moment the elbow gets, the
limb answers. What muscles give is in `dynamics`.
"""

import math
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.integrate import solve_ivp
from scipy.interpolate import CubicSpline
from scipy.ndimage import gaussian_filter1d

from analytics.catalogue import (
    Anchored,
    Band,
    Body,
    Cable,
    Gravity,
    Resistance,
    Variant,
    load_catalogue,
)
from analytics.mechanics.curves import Floats
from analytics.mechanics.elbow.levers import hand_m, levers
from analytics.mechanics.elbow.muscles import JOINT
from analytics.units import STANDARD_GRAVITY_M_PER_S2

PATH_DEG = np.arange(JOINT.range_deg[0], JOINT.range_deg[1] + 0.5, 0.5)
LONGEST_REP_S = 8.0
STEP_S = 0.005  # of the table given back


@cache
def rep_parameter(name: str) -> float:
    """Value of the table of rep dynamics."""
    table = load_catalogue().tables["rep_dynamics"]
    return float(table.numbers("value")[table.columns["parameter"].index(name)])


class AngleTable:
    """Cubic splines over the elbow angle, quick to look up one angle at a time.

    Parameters
    ----------
    columns : array_like, shape (n_angles, n_columns)
        Values at every angle of ``PATH_DEG``.
    """

    def __init__(self, columns: NDArray[np.float64]) -> None:
        self.spline = CubicSpline(np.deg2rad(PATH_DEG), columns)
        self._pieces = np.ascontiguousarray(np.moveaxis(self.spline.c, 0, 1))
        self._step = float(np.deg2rad(PATH_DEG[1] - PATH_DEG[0]))

    def at(self, elbow_rad: float) -> NDArray[np.float64]:
        """One row: what `spline` gives, without its checks."""
        place = min(max(int(elbow_rad / self._step), 0), len(self._pieces) - 1)
        x = elbow_rad - place * self._step
        return np.dot((x * x * x, x * x, x, 1.0), self._pieces[place])


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
    its lever; a band has none. A cable is taken to stay taut.
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

    def _tabulate(self, variant: Variant, pull: Resistance, body: Body) -> AngleTable:
        """Spline of all that depends on the angle, so that one look-up serves a step.

        Columns: upper arm, its first and second derivative by the elbow; lever of what
        does not move with the hand; first and second derivative of the cable or band
        drawn out; its pull at rest in kg; energy stored over gravity in kg m.
        """
        grid = np.deg2rad(PATH_DEG)
        blur = rep_parameter("path_blur") / (PATH_DEG[1] - PATH_DEG[0])
        shoulder_deg = gaussian_filter1d(
            variant.model.shoulder_deg(PATH_DEG), blur, mode="nearest"
        )
        knots = tuple(zip(PATH_DEG.tolist(), shoulder_deg.tolist(), strict=True))
        path = CubicSpline(grid, np.deg2rad(shoulder_deg - variant.model.trunk_deg))
        arm = path(grid)

        def lever_of(resistance: Resistance) -> Floats:
            smooth = replace(variant.model, path=knots, resistance=resistance)
            return levers(PATH_DEG, model=smooth, body=body)[0]

        lever = lever_of(pull)
        drawn, tension = CubicSpline(grid, lever).antiderivative(), np.ones_like(grid)
        if isinstance(pull, Anchored):
            smooth = replace(variant.model, path=knots)
            ahead, above = hand_m(PATH_DEG, model=smooth, body=body)
            distance = np.hypot(
                pull.anchor_forward_m - ahead, pull.anchor_height_m - above
            )
            drawn = CubicSpline(grid, distance)
            if isinstance(pull, Cable):  # the stack rises by that share of it
                drawn = CubicSpline(grid, pull.pulley_ratio * distance)
            if isinstance(pull, Band):
                # A band's lever is its pull times that of a cable from the same place.
                same_place = lever_of(
                    Cable(
                        anchor_forward_m=pull.anchor_forward_m,
                        anchor_height_m=pull.anchor_height_m,
                    )
                )
                clear = np.abs(same_place) > 0.02
                tension = np.interp(grid, grid[clear], lever[clear] / same_place[clear])
        tension_kg = self.pull_kg * tension
        stored = CubicSpline(grid, tension_kg * drawn(grid, 1)).antiderivative()
        upper = [arm, path(grid, 1), path(grid, 2)]
        pulled = [self.pull_kg * lever, drawn(grid, 1), drawn(grid, 2), tension_kg]
        return AngleTable(np.column_stack([*upper, *pulled, stored(grid)]))

    def demand_nm(self, elbow_rad: Any) -> Any:
        """Moment that holds the limb still."""
        row = self.row.spline(elbow_rad)
        own = self.first * np.sin(row[..., 0] + elbow_rad)
        return STANDARD_GRAVITY_M_PER_S2 * (own + row[..., 3])

    def inertia_kg_m2(self, elbow_rad: Floats) -> Floats:
        """Elbow moment per elbow acceleration, on the path."""
        _, a1, _, lever_kg_m, s1, *_ = self.row.spline(elbow_rad).T
        moved = self.stack_kg > 0
        along = self.first * self.upper_m * a1 * np.cos(elbow_rad)
        return np.asarray(self.inertia * (1 + a1) + along + moved * lever_kg_m * s1)

    def step(
        self, elbow_rad: float, rate: float, moment_nm: float
    ) -> tuple[float, float]:
        """Acceleration under an elbow moment, and the power the shoulder then gives.

        The shoulder's power keeps the upper arm on its path: the force through the
        elbow joint times its speed, and the elbow moment's reaction on the upper arm.
        """
        g, u = STANDARD_GRAVITY_M_PER_S2, self.upper_m
        arm, a1, a2, lever_kg_m, s1, s2, tension_kg, _ = self.row.at(elbow_rad).tolist()
        c, s = math.cos(elbow_rad), math.sin(elbow_rad)
        moved = self.stack_kg > 0
        mass = (
            self.inertia * (1 + a1) + self.first * u * a1 * c + moved * lever_kg_m * s1
        )
        bias = (
            self.inertia * a2 + self.first * u * (a2 * c + a1**2 * s)
            + moved * lever_kg_m * s2
        ) * rate**2  # fmt: skip
        rest = g * (self.first * math.sin(arm + elbow_rad) + lever_kg_m)
        second = (moment_nm - rest - bias) / mass
        arm_rate, arm_second = a1 * rate, a1 * second + a2 * rate**2
        speed = arm_rate + rate
        along = self.mass_kg * (u * arm_second + g * math.sin(arm)) + self.first * (
            (arm_second + second) * c - speed**2 * s
        )
        surge = g + moved * (s1 * second + s2 * rate**2)
        pull = surge * (tension_kg * s1 * rate - lever_kg_m * speed)
        return second, along * u * arm_rate + moment_nm * arm_rate + pull

    def energy_j(self, elbow_rad: Floats, rate: Floats) -> Floats:
        """Kinetic and potential energy of all that moves or stretches."""
        arm, a1, _, _, s1, _, _, stored = self.row.spline(elbow_rad).T
        arm_rate = a1 * rate
        speed = arm_rate + rate
        kinetic = (
            0.5 * self.inertia * speed**2
            + 0.5 * self.mass_kg * (self.upper_m * arm_rate) ** 2
            + self.first * self.upper_m * arm_rate * speed * np.cos(elbow_rad)
            + 0.5 * self.stack_kg * (s1 * rate) ** 2
        )
        height = -self.mass_kg * self.upper_m * np.cos(arm)
        height = height - self.first * np.cos(arm + elbow_rad)
        return np.asarray(kinetic + STANDARD_GRAVITY_M_PER_S2 * (height + stored))


def limb_motion(
    limb: Limb,
    moment: Callable[[float, float, float], float],
    *,
    start_deg: float,
    end_deg: float,
    duration_s: float = LONGEST_REP_S,
) -> pd.DataFrame:
    """Run the limb forward from rest under any elbow moment.

    Parameters
    ----------
    limb : Limb
        What moves.
    moment : callable
        Moment in N m from time in s, elbow in rad and its rate in rad/s.
    start_deg : float
        Elbow at rest. [deg]
    end_deg : float
        Elbow angle that ends the run. [deg]
    duration_s : float
        Longest time. [s]

    Returns
    -------
    motion : DataFrame
        ``time_s, elbow_deg, velocity_deg_per_s, moment_nm, demand_nm, energy_j,
        elbow_work_j, shoulder_work_j``. Ends at ``end_deg``, at the first return to
        rest, at an end of the anatomical range or after ``duration_s``.
    """

    def slope(t: float, state: NDArray[np.float64]) -> list[float]:
        elbow, rate = float(state[0]), float(state[1])
        torque = moment(t, elbow, rate)
        second, shoulder_w = limb.step(elbow, rate, torque)
        return [rate, second, torque * rate, shoulder_w]

    def reached(t: float, state: NDArray[np.float64]) -> float:
        return float(state[0] - np.deg2rad(end_deg))

    def rested(t: float, state: NDArray[np.float64]) -> float:
        return float(state[1]) if t > 0 else 1.0

    def straight(t: float, state: NDArray[np.float64]) -> float:
        return float(state[0] + 1e-6)

    reached.terminal = rested.terminal = straight.terminal = True  # type: ignore[attr-defined]
    rested.direction = -1  # type: ignore[attr-defined]
    out = solve_ivp(
        slope,
        (0.0, duration_s),
        [np.deg2rad(start_deg), 0.0, 0.0, 0.0],
        method="LSODA",
        rtol=1e-5,
        atol=1e-7,
        max_step=0.02,
        dense_output=True,
        events=[reached, rested, straight],
    )
    end = float(out.t[-1])
    time = np.append(np.arange(0.0, end, STEP_S), end)
    elbow, rate, elbow_work, shoulder_work = out.sol(time)
    return pd.DataFrame(
        {
            "time_s": time,
            "elbow_deg": np.minimum(np.rad2deg(elbow), end_deg),  # but for rounding
            "velocity_deg_per_s": np.rad2deg(rate),
            "moment_nm": [moment(*x) for x in zip(time, elbow, rate, strict=True)],
            "demand_nm": limb.demand_nm(elbow),
            "energy_j": limb.energy_j(elbow, rate),
            "elbow_work_j": elbow_work,
            "shoulder_work_j": shoulder_work,
        }
    )
