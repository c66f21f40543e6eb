"""What every free joint is asked and can give, and the load that follows."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from analytics.mechanics.chain.dual import Largest, largest_load
from analytics.units import STANDARD_GRAVITY_M_PER_S2

# Moment arms shorter than this ask for nothing worth a limit. [m]
NO_ARM_M = 1e-3


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Rows:
    """One row a free joint, the lead first; a joint that is held has none.

    Attributes
    ----------
    joints : tuple of str
        Names.
    load_arm_m, own_nm : tuple of ndarray, shape (..., n_angles)
        Moment of the load over its weight, and of the limb.
    least_nm, most_nm : tuple of ndarray or float, shape (..., n_angles)
        What its muscles can give, the other way negative.
    """

    joints: tuple[str, ...]
    load_arm_m: tuple[Any, ...]
    own_nm: tuple[Any, ...]
    least_nm: tuple[Any, ...]
    most_nm: tuple[Any, ...]

    def within(self, window: slice) -> Rows:
        """Rows of some angles only."""

        def cut(parts: tuple[Any, ...]) -> tuple[Any, ...]:
            return tuple(
                x[..., window] if np.ndim(x) and np.shape(x)[-1] > 1 else x
                for x in parts
            )

        return Rows(
            joints=self.joints,
            load_arm_m=cut(self.load_arm_m),
            own_nm=cut(self.own_nm),
            least_nm=cut(self.least_nm),
            most_nm=cut(self.most_nm),
        )

    @property
    def per_kg_nm(self) -> tuple[Any, ...]:
        """Moment that a kilogram asks."""
        return tuple(
            np.where(
                np.abs(load_arm) > NO_ARM_M, load_arm * STANDARD_GRAVITY_M_PER_S2, 0
            )
            for load_arm in self.load_arm_m
        )

    def largest(self) -> Largest:
        """Largest load held at each angle, in kg."""
        return largest_load(
            self.own_nm, self.per_kg_nm, least_nm=self.least_nm, most_nm=self.most_nm
        )

    def limiting(self, largest: Largest) -> NDArray[np.str_]:
        """Name of the joint that limits, empty where none does."""
        names = np.array(self.joints)[largest.joint(self.per_kg_nm)]
        return np.where(np.isfinite(largest.load), names, "")

    def utilisation(self, load_kg: Any) -> Any:
        """Moment asked of the lead joint over what it can give, 0 where helped."""
        asked = (
            load_kg * STANDARD_GRAVITY_M_PER_S2 * self.load_arm_m[0] + self.own_nm[0]
        )
        return np.maximum(asked, 0.0) / self.most_nm[0]


def limit_load(rows: Rows, found: Largest) -> tuple[Any, NDArray[np.intp], Any]:
    """Largest load held at every angle of the last axis.

    Nothing is asked where the load nowhere opens the lead joint: what the others then
    hold is no limit of this movement.

    Parameters
    ----------
    rows : Rows
        Free joints.
    found : Largest
        What they hold, ``rows.largest()``.

    Returns
    -------
    load_kg : ndarray, shape (...)
        Infinite where nothing is asked anywhere. [kg]
    where : ndarray of int, shape (...)
        Angle that limits.
    joint : ndarray of int, shape (...)
        Free joint that limits there.
    """
    where = np.argmin(found.load, axis=-1)
    at = where[..., None]
    load = np.take_along_axis(found.load, at, -1)[..., 0]
    # Joint torques alone: a vertex is the one joint that limits.
    asked = np.any(rows.load_arm_m[0] > NO_ARM_M, axis=-1)
    vertex = np.take_along_axis(found.vertex, at, -1)[..., 0]
    return np.where(asked, load, np.inf), where, vertex
