"""Muscles of a joint from a licensed model file: lengths, moment arms, moments.

They say how a neighbouring joint changes strength, never how much there is.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import ArrayLike
from scipy.interpolate import RectBivariateSpline

from analytics.catalogue import Joint, load_catalogue
from analytics.mechanics.curves import (
    Floats,
    active_force,
    passive_force,
    tendon_strain,
)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Muscle:
    """One muscle: a length over two joints, whose slopes are its moment arms.

    Attributes
    ----------
    name : str
        As in the model file.
    peak_force_n, optimal_m, slack_m, pennation_rad, strain : float
        Published parameters; strain of the tendon at peak force.
    length : RectBivariateSpline
        Muscle-tendon length by neighbour and flexion. [m]
    acts : int
        1 where the joint's strength is flexion, -1 where it is extension.
    """

    name: str
    peak_force_n: float
    optimal_m: float
    slack_m: float
    pennation_rad: float
    strain: float
    length: RectBivariateSpline
    acts: int

    def length_m(self, flexion_deg: ArrayLike, neighbour_deg: ArrayLike) -> Floats:
        """Muscle-tendon length."""
        return np.asarray(self.length.ev(neighbour_deg, flexion_deg))

    def arm_m(self, flexion_deg: ArrayLike, neighbour_deg: ArrayLike) -> Floats:
        """Moment arm, positive where it helps the joint's strength."""
        slope = self.length.ev(neighbour_deg, flexion_deg, dy=1)
        return np.asarray(-self.acts * slope * 180 / np.pi)

    def fibre(
        self, flexion_deg: ArrayLike, neighbour_deg: ArrayLike, *, curve: str
    ) -> tuple[Floats, Floats]:
        """Fibre length over optimal, and active force along the tendon over peak."""
        stretch, fibre, active = _balance(
            self.slack_m / self.optimal_m, self.pennation_rad, self.strain, curve
        )
        at = (self.length_m(flexion_deg, neighbour_deg) - self.slack_m) / self.optimal_m
        return np.interp(at, stretch, fibre), np.interp(at, stretch, active)

    def moment_nm(
        self, flexion_deg: ArrayLike, neighbour_deg: ArrayLike, *, curve: str | None
    ) -> Floats:
        """Active moment; without a curve, of the same force at every length."""
        arm = np.maximum(self.arm_m(flexion_deg, neighbour_deg), 0.0)
        if curve is None:
            return self.peak_force_n * arm
        _, active = self.fibre(flexion_deg, neighbour_deg, curve=curve)
        return self.peak_force_n * active * arm


@cache
def _balance(
    slack_over_optimal: float, pennation_rad: float, strain: float, curve: str
) -> tuple[Floats, Floats, Floats]:
    """Tables of stretch, fibre length and active force.

    A long tendon has several balances on a falling curve: the first, with the
    shorter fibre, is taken.
    """
    thickness = np.sin(pennation_rad)
    fibre = np.linspace(max(thickness * 1.001, 1e-3), 2.2, 4001)
    along = np.sqrt(np.maximum(1 - (thickness / fibre) ** 2, 0.0))
    active = active_force(fibre, curve=curve) * along
    total = active + passive_force(fibre, curve=curve) * along
    tendon = tendon_strain(total) * strain / float(tendon_strain(1.0))
    stretch = fibre * along + slack_over_optimal * tendon
    first = stretch >= np.maximum.accumulate(stretch)
    return stretch[first], fibre[first], active[first]


@cache
def muscles_of(joint: Joint) -> tuple[Muscle, ...]:
    """Return the muscles of a joint's tables.

    Parameters
    ----------
    joint : Joint
        With tables ``muscles_<joint>`` and ``lengths_<joint>``.

    Returns
    -------
    muscles : tuple of Muscle
        In the order of the table.
    """
    tables = load_catalogue().tables
    part, grid = tables[f"muscles_{joint.joint}"], tables[f"lengths_{joint.joint}"]
    neighbour, flexion = (
        np.unique(grid.numbers(name)) for name in ("neighbour", "flexion")
    )
    shape = neighbour.size, flexion.size
    return tuple(
        Muscle(
            name=name,
            peak_force_n=float(part.numbers("peak_force")[i]),
            optimal_m=float(part.numbers("optimal_fibre")[i]),
            slack_m=float(part.numbers("tendon_slack")[i]),
            pennation_rad=float(part.numbers("pennation")[i]),
            strain=float(part.numbers("tendon_strain")[i]),
            length=RectBivariateSpline(
                neighbour, flexion, grid.numbers(name).reshape(shape)
            ),
            acts=1 if joint.straight_deg is None else -1,
        )
        for i, name in enumerate(part.columns["muscle"])
    )


def total_nm(
    joint: Joint,
    flexion_deg: ArrayLike,
    neighbour_deg: ArrayLike,
    *,
    curve: str | None,
) -> Floats:
    """Active moment of all muscles of a joint.

    Parameters
    ----------
    joint : Joint
        Whose muscles.
    flexion_deg, neighbour_deg : array_like, shape (...)
        Flexion of the joint and of its neighbour. [deg]
    curve : str or None
        Published curve; None leaves out what length does to force.

    Returns
    -------
    moment_nm : ndarray, shape (...)
        [N m]
    """
    parts = [
        muscle.moment_nm(flexion_deg, neighbour_deg, curve=curve)
        for muscle in muscles_of(joint)
    ]
    return np.asarray(np.sum(parts, axis=0))
