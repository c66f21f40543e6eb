"""Strength by the speed of the joint, as measured on people: no model of a muscle."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from analytics.catalogue import Joint, Table, load_catalogue
from analytics.intervals import Z90
from analytics.mechanics.curves import Floats

# Speeds at which lengthening was measured, in deg/s; strength did not change between.
FASTEST_DOWN, SLOWEST_DOWN = -210.0, -30.0


def _concentric(table: Table) -> tuple[Floats, Floats, Floats]:
    """Speeds, and log of strength over isometric with its deviation, from 0 on."""
    mine = _is_lifted(table)
    speed, log = table.numbers("speed")[mine], np.log(table.numbers("ratio")[mine])
    error, speeds = table.numbers("se")[mine], np.unique(speed)
    mean = np.array([log[speed == x].mean() for x in speeds])
    # Supports differ by more than sampling: both are carried.
    sd = np.array(
        [
            np.hypot(
                log[speed == x].std(ddof=1), np.sqrt(np.mean(error[speed == x] ** 2))
            )
            for x in speeds
        ]
    )
    return np.append(0.0, speeds), np.append(0.0, mean), np.append(0.0, sd)


def speed_factor(joint_speed_deg_per_s: ArrayLike, *, joint: Joint) -> Floats:
    r"""Strength at a joint speed over isometric strength, with a 90 % interval.

    Parameters
    ----------
    joint_speed_deg_per_s : array_like, shape (...)
        Shortening positive, lengthening negative. [deg/s]
    joint : Joint
        One whose strength was measured by speed.

    Returns
    -------
    factor : ndarray, shape (3, ...)
        Low, middle and high; 1 at rest; NaN beyond the measured speeds. [1]

    Notes
    -----
    Shortening: the log of the measured ratios at 150 and 240 degrees a second,
    supported and standing together, straight lines between and from 1 at rest
    (assumed); no hyperbola passes through both. Lengthening: measured eccentric over
    concentric, times the concentric factor at the speed it is put at; flat from 30 to
    210, as measured, and a straight line to 1 at rest. Never below 1, since a
    lengthening muscle is not weaker. All of it is the greatest moment of one movement,
    which tells nothing of how many follow: for that, `analytics.strength.model.tempo`.

    References
    ----------
    supported_unsupported_torque; nuzzo_2023; eccentric_flat.
    """
    speed = np.asarray(joint_speed_deg_per_s, dtype=float)
    table = load_catalogue().tables[f"speed_ratios_{joint.joint}"]
    speeds, logs, sds = _concentric(table)
    row = table.columns["over"].index("concentric")
    at = table.numbers("speed")[row]
    log_eccentric = np.log(table.numbers("ratio")[row]) + np.interp(at, speeds, logs)
    sd_eccentric = np.hypot(table.numbers("se")[row], np.interp(at, speeds, sds))
    middle = np.where(
        speed >= 0,
        np.interp(speed, speeds, logs),
        np.interp(speed, [SLOWEST_DOWN, 0.0], [log_eccentric, 0.0]),
    )
    sd = np.where(
        speed >= 0,
        np.interp(speed, speeds, sds),
        np.interp(speed, [SLOWEST_DOWN, 0.0], [sd_eccentric, 0.0]),
    )
    low, high = middle - Z90 * sd, middle + Z90 * sd
    low = np.where(speed < 0, np.maximum(low, 0.0), low)
    known = (speed >= FASTEST_DOWN) & (speed <= speeds[-1])
    return np.where(known, np.exp(np.stack([low, middle, high])), np.nan)


def speed_sentence(joint: Joint) -> str:
    """Say what was measured of lowering, holding and lifting with all force.

    Parameters
    ----------
    joint : Joint
        Of the catalogue.

    Returns
    -------
    sentence : str
        Empty where nothing was measured.
    """
    table = load_catalogue().tables.get(f"speed_ratios_{joint.joint}")
    if table is None:
        return ""
    lifted = float(table.numbers("speed").min(where=_is_lifted(table), initial=np.inf))
    down, up = speed_factor([SLOWEST_DOWN, lifted], joint=joint).T
    low, middle, high = (f"{x:.2f}" for x in down)
    slow, usual, fast = (f"{x:.2f}" for x in up)
    return (
        f"Measured on people, not modelled: lowered at {-SLOWEST_DOWN:.0f} to "
        f"{-FASTEST_DOWN:.0f}° a second the {joint.muscles} resist {middle} times "
        f"({low} to {high}) what they hold still, and lifting at {lifted:.0f}° a "
        f"second they give {usual} times ({slow} to {fast}) of it."
    )


def _is_lifted(table: Table) -> NDArray[np.bool_]:
    return np.array(table.columns["over"]) == "isometric"
