"""Rival shapes of joint strength by posture, everything else equal."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from analytics.errors import InputError

SHAPES = ("peaked", "flat", "inverted", "rising", "falling")  # joint strength by angle
LEVERAGE = "leverage"  # muscle force the same at every length: moment arms alone
MILD = "mild"  # peaked as published, half as deep
POWER = {
    **{"peaked": 1.0, LEVERAGE: 1.0, MILD: 0.5, "inverted": -1.0},
    **dict.fromkeys(("flat", "rising", "falling"), 0.0),
}
SLOPE = {"rising": 1.0, "falling": -1.0}
# From the first to the last angle of the joint's grid strength rises or falls this many
# times; draws differ by the spread `rival_rise` (both assumed).
RISE = 2.5
LEAST_NM = 1.0  # of a mirrored moment


def checked_shape(shape: str) -> str:
    """Return a shape that exists, or refuse it."""
    if shape not in POWER:
        raise InputError(f"no shape {shape!r}; there are: {', '.join(POWER)}")
    return shape


def reshaped(
    moment_nm: NDArray[Any],
    shape: str,
    *,
    level_nm: NDArray[Any] | float,
    joint_frac: NDArray[Any],
    rise_factor: NDArray[Any] | float = 1.0,
) -> NDArray[Any]:
    r"""Joint moment under a rival shape.

    Parameters
    ----------
    moment_nm : ndarray, shape (...)
        Sum over muscles. [N m]
    shape : str
        ``peaked``, ``leverage``, ``mild``, ``flat``, ``inverted``, ``rising`` or
        ``falling``.
    level_nm : ndarray or float, broadcastable to ``moment_nm``
        Moment of the flat shape. [N m]
    joint_frac : ndarray, broadcastable to ``moment_nm``
        Joint angle on its grid, first to last as 0 to 1. [1]
    rise_factor : ndarray or float, broadcastable to ``moment_nm``
        Steepness of ``rising`` and ``falling`` over the usual one. [1]

    Returns
    -------
    moment_nm : ndarray, shape (...)
        [N m]

    Notes
    -----
    .. math:: L\,(C/L)^p\,e^{k f (x - 1/2) \log 2.5}

    with the published moment C, the level L, the power p: 1 as published, 1/2 half as
    deep, 0 level, -1 as many times above the level as the published one is below it;
    and the slope k: 1 rises with the joint angle, -1 falls.
    """
    if POWER[shape] == 1:
        return moment_nm
    relative = (np.maximum(moment_nm, LEAST_NM) / level_nm) ** POWER[shape]
    slope = SLOPE.get(shape, 0.0) * np.log(RISE) * rise_factor * (joint_frac - 0.5)
    return np.where(np.isnan(moment_nm), moment_nm, level_nm * relative * np.exp(slope))
