"""Strength of a joint that is known as a torque only, beside that of the lead joint."""

from __future__ import annotations

from functools import cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from analytics.catalogue import load_catalogue

_STEP_DEG = 45.0  # over which the slope's spread is stated


@cache
def torque_level(joint: str, lead: str) -> float:
    """Torque of a joint at 0 degrees over the lead's, as measured.

    Parameters
    ----------
    joint, lead : str
        With tables ``<joint>_torque`` and ``<joint>_over_<lead>``.

    Returns
    -------
    level : float
        Geometric mean of the sources. [1]
    """
    tables = load_catalogue().tables
    ratios = tables[f"{joint}_over_{lead}"]
    mean = np.exp(np.mean(np.log(ratios.numbers(joint) / ratios.numbers(lead))))
    return float(mean / np.exp(log_torque(joint, 45.0)[0]))


def log_torque(joint: str, angle_deg: Any) -> tuple[Any, Any]:
    """Logarithm of its torque by angle, flexion and extension, over flexion at 0.

    Parameters
    ----------
    joint : str
        With a table ``<joint>_torque``.
    angle_deg : array_like, shape (...)
        Its angle; held outside the table. [deg]

    Returns
    -------
    flexion, extension : ndarray, shape (...)
        [1]
    """
    table = load_catalogue().tables[f"{joint}_torque"]
    at = table.numbers("angle")
    return tuple(
        np.interp(angle_deg, at, np.log(table.numbers(way)))
        for way in ("flexion", "extension")
    )


def torques(
    joint: str,
    angle_deg: NDArray[np.float64],
    *,
    flexion_at_0_nm: Any,
    off_deg: Any = 0.0,
    slope: Any = 0.0,
    reverse: Any = 1.0,
) -> tuple[Any, Any]:
    """Largest torque the other way, negative, and of flexion.

    Parameters
    ----------
    joint : str
        With a table ``<joint>_torque``.
    angle_deg : ndarray, shape (n_angles,)
        Its path. [deg]
    flexion_at_0_nm : array_like, shape (..., 1) or ()
        Its level. [N m]
    off_deg : array_like, shape (..., 1)
        Departure from the path; followed along the curve's slope. [deg]
    slope : array_like, shape (..., 1)
        Departure of the log torque per 45 degrees. [1]
    reverse : array_like, shape (..., 1)
        Factor on extension over flexion. [1]

    Returns
    -------
    least_nm, most_nm : ndarray, shape (..., n_angles)
        [N m]
    """
    flexion, extension = log_torque(joint, angle_deg)
    beside = [log_torque(joint, angle_deg + x)[0] for x in (-1.0, 1.0)]
    kind = np.asarray(flexion_at_0_nm).dtype
    steep = ((beside[1] - beside[0]) / 2).astype(kind)
    turned = (np.clip(angle_deg, 0.0, None) / _STEP_DEG).astype(kind)
    most = np.exp(flexion.astype(kind) + off_deg * steep + slope * turned)
    least = np.exp(extension.astype(kind)) * (-flexion_at_0_nm * reverse)
    return least, most * flexion_at_0_nm
