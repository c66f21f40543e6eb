"""Strength of a joint as measured: a regression of torque on angle.

Inside its tested angles only. What a neighbouring joint does to it comes from muscles
of a model file, as a ratio to where the regression was measured.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from analytics.catalogue import Joint, load_catalogue
from analytics.catalogue.fields import Knots
from analytics.errors import InputError
from analytics.mechanics.curves import Floats
from analytics.mechanics.shapes import LEVERAGE
from analytics.mechanics.torque_angle.muscles import total_nm

LEAST_FRAC = 0.02  # of the peak: a cosine that runs out of its angles is no strength
_TILT_DEG = 45.0  # over which the tilt's spread is stated


@dataclass(frozen=True, slots=True, kw_only=True)
class Regression:
    """Torque by angle of one group of measured people.

    Attributes
    ----------
    form : str
        ``cosine`` or ``bell``.
    peak_deg, peak_sd_deg : float
        Flexion of the peak, and its spread between people. [deg]
    width : float
        Factor on the angle of a cosine; a bell's standard deviation in deg.
    width_log_sd, tilt_log_sd, neighbour_sd : float
        Spread of the width; of the slope per 45 degrees; of how much of what muscles
        say of the neighbour is so. [1]
    neighbour_deg : float
        Where the neighbour was in the test. [deg]
    level_nm : float
        Peak. [N m]
    """

    form: str
    peak_deg: float
    peak_sd_deg: float
    width: float
    width_log_sd: float
    tilt_log_sd: float
    neighbour_sd: float
    neighbour_deg: float
    level_nm: float

    def relative(self, flexion_deg: Any, *, peak: Any = 0.0, width: Any = 0.0) -> Any:
        """Torque over its peak; departures in standard deviations."""
        off = flexion_deg - (self.peak_deg + peak * self.peak_sd_deg)
        wide = self.width * np.exp(width * self.width_log_sd)
        if self.form == "bell":
            value = np.exp(-0.5 * (off / wide) ** 2)
        else:
            value = np.cos(np.clip(wide * np.deg2rad(off), -np.pi / 2, np.pi / 2))
        return np.maximum(value, LEAST_FRAC)

    def tilt(self, joint: Joint, flexion_deg: Any) -> Any:
        """Log slope of one standard deviation by flexion, nil at mid-grid."""
        middle = float(joint.flexion_deg(joint.grid()).mean())
        return self.tilt_log_sd * (flexion_deg - middle) / _TILT_DEG


@cache
def regression(joint: Joint, muscles: str) -> Regression:
    """Return one regression of a joint.

    Parameters
    ----------
    joint : Joint
        Whose.
    muscles : str
        Group of measured people: one of the joint's muscle sets.

    Returns
    -------
    regression : Regression

    Raises
    ------
    InputError
        If there is none.
    """
    if muscles not in joint.muscle_sets:
        known = ", ".join(joint.muscle_sets)
        raise InputError(f"no muscle set {muscles!r}; there are: {known}")
    return published(joint.joint, muscles)


@cache
def published(action: str, people: str) -> Regression:
    """Return one row of the table of measured torques.

    Parameters
    ----------
    action, people : str
        Joint of the catalogue or another action of the table; who was measured.

    Returns
    -------
    regression : Regression
    """
    table = load_catalogue().tables["torque_angle"]
    rows = zip(table.columns["joint"], table.columns["people"], strict=True)
    at = list(rows).index((action, people))
    numbers = {
        name: float(table.numbers(name)[at])
        for name in table.columns
        if table.units[name]
    }
    return Regression(
        form=table.columns["form"][at],
        peak_deg=numbers["peak"],
        peak_sd_deg=numbers["peak_sd"],
        width=numbers["width"],
        width_log_sd=numbers["width_sd"],
        tilt_log_sd=numbers["tilt_sd"],
        neighbour_sd=numbers["neighbour_sd"],
        neighbour_deg=numbers["neighbour"],
        level_nm=numbers["level"],
    )


@cache
def neighbour_log(joint: Joint, muscles: str, curve: str, path: Knots) -> Floats:
    """Log of strength on a path over that where the neighbour was tested.

    Parameters
    ----------
    joint : Joint
        Whose.
    muscles, curve : str
        Regression and published curve.
    path : tuple of (float, float)
        Knots of joint angle and neighbour. [deg]

    Returns
    -------
    log_ratio : ndarray, shape (n_grid,)
        [1]
    """
    angle = joint.grid()
    flexion, beside = joint.flexion_deg(angle), np.interp(angle, *np.array(path).T)
    tested = np.full_like(beside, regression(joint, muscles).neighbour_deg)
    over, under = (
        total_nm(joint, flexion, where, curve=curve) for where in (beside, tested)
    )
    return np.log(over / under)


@cache
def leverage_nm(joint: Joint, muscles: str, path: Knots) -> Floats:
    """Moment if muscles gave the same force at every length, shape (n_grid,).

    As large at its peak as the regression where that was tested.
    """
    angle, one = joint.grid(), regression(joint, muscles)
    flexion, beside = joint.flexion_deg(angle), np.interp(angle, *np.array(path).T)
    tested = np.full_like(beside, one.neighbour_deg)
    arms, usual = (
        total_nm(joint, flexion, where, curve=None) for where in (beside, tested)
    )
    return np.asarray(arms / usual.max() * one.level_nm)


@cache
def on_path(
    joint: Joint, muscles: str, curve: str, path: Knots, shape: str = "peaked"
) -> Floats:
    """Moment on a posture path with nothing departed, shape (n_grid,)."""
    if shape == LEVERAGE:
        return leverage_nm(joint, muscles, path)
    one = regression(joint, muscles)
    relative = one.relative(joint.flexion_deg(joint.grid()))
    logs = neighbour_log(joint, muscles, curve, path)
    return np.asarray(one.level_nm * relative * np.exp(logs))


def within_grid(joint: Joint, joint_deg: ArrayLike, values: Floats) -> Floats:
    """Read values of the grid at angles; NaN where nothing was measured."""
    angle, grid = np.asarray(joint_deg, dtype=float), joint.grid()
    found = np.interp(angle, grid, values)
    return np.where((angle >= grid[0]) & (angle <= grid[-1]), found, np.nan)
