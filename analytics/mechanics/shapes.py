"""Rival shapes of joint strength by posture, everything else equal."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from analytics.errors import InputError

SHAPES = ("peaked", "flat", "inverted")  # of joint strength by posture
LEVERAGE = "leverage"  # muscle force the same at every length: moment arms alone
POWER = {"peaked": 1, LEVERAGE: 1, "flat": 0, "inverted": -1}
LEAST_NM = 1.0  # of a mirrored moment


def checked_shape(shape: str) -> str:
    """Return a shape that exists, or refuse it."""
    if shape not in POWER:
        raise InputError(f"no shape {shape!r}; there are: {', '.join(POWER)}")
    return shape


def reshaped(
    moment_nm: NDArray[Any], shape: str, *, level_nm: NDArray[Any] | float
) -> NDArray[Any]:
    """Joint moment under a rival shape.

    Parameters
    ----------
    moment_nm : ndarray, shape (...)
        Sum over muscles. [N m]
    shape : str
        ``peaked``, ``leverage``, ``flat`` or ``inverted``.
    level_nm : ndarray or float, broadcastable to ``moment_nm``
        Moment of the flat shape. [N m]

    Returns
    -------
    moment_nm : ndarray, shape (...)
        Level times (moment over level) to the power 1, 0 or -1: the published
        moment, the level at every posture, or as many times above the level as
        the published one is below it. [N m]
    """
    if POWER[shape] == 1:
        return moment_nm
    relative = (np.maximum(moment_nm, LEAST_NM) / level_nm) ** POWER[shape]
    return np.where(np.isnan(moment_nm), moment_nm, level_nm * relative)
