"""Joints with a measured torque, of known truth and apart from the model.

Strength is a closed form of the joint's angle, postures are numbers of their own in
``other_joints.toml``, and every log has another joint.
"""

import tomllib
from dataclasses import dataclass
from importlib.resources import files
from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Range = tuple[float, float] | None

_TABLE: dict[str, Any] = tomllib.loads(
    files(__package__).joinpath("other_joints.toml").read_text("utf-8")
)
POSTURE: dict[str, dict[str, Any]] = _TABLE["posture"]
MOVEMENTS: tuple[str, ...] = tuple(_TABLE["joint"])
TRUTHS = ("peaked", "flat", "inverted", "rising", "falling")
GRAVITY_M_PER_S2 = 9.81
WHEEL_M = 0.3  # moment arm of an even load
SLOPE = 0.7  # of a sled's weight along its rails
NO_ARM_FRAC = 0.06  # of the reach


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Joints:
    """One joint for each simulated log.

    Attributes
    ----------
    truth : str
        One of ``TRUTHS``.
    joint : str
        One of the table.
    drawn : dict of str to ndarray, shape (n_logs, 1)
        What is drawn, by its name in the table.
    off_deg : dict of str to ndarray, shape (n_logs, 1)
        How far the near segment is off its usual path, per variant. [deg]
    """

    truth: str
    joint: str
    drawn: dict[str, Array]
    off_deg: dict[str, Array]


def draw(truth: str, movement: str, n_logs: int, rng: np.random.Generator) -> Joints:
    """Draw joints of one truth.

    Parameters
    ----------
    truth : str
        One of ``TRUTHS``.
    movement : str
        One of ``MOVEMENTS``, named as its joint.
    n_logs : int
        How many.
    rng : Generator
        Of the random numbers.

    Returns
    -------
    joints : Joints
        Uniform between the ends of the table.
    """
    table = _TABLE["joint"][movement]
    ends = {name: table[name] for name in ("peak_deg", "width_deg", "by_neighbour")}
    ends |= {name: _TABLE[name] for name in ("times", "bend")}
    level = np.log(table["peak_nm"])
    return Joints(
        truth=truth,
        joint=movement,
        drawn={name: rng.uniform(a, b, (n_logs, 1)) for name, (a, b) in ends.items()}
        | {"peak_nm": np.exp(rng.normal(level, 0.2, (n_logs, 1)))},
        off_deg={
            name: rng.normal(0.0, _TABLE["off_path_deg"], (n_logs, 1))
            for name, row in POSTURE.items()
            if row["joint"] == movement
        },
    )


def log_strength(joints: Joints, joint_deg: Array, neighbour_deg: float) -> Array:
    """Log of joint strength over its usual peak.

    Parameters
    ----------
    joints : Joints
        Of one truth.
    joint_deg : ndarray, shape (n_angles,)
        The joint's own angle. [deg]
    neighbour_deg : float
        Of the joint beside it. [deg]

    Returns
    -------
    log_strength : ndarray, shape (n_logs, n_angles)
        [1]

    Notes
    -----
    Peaked: a bell over flexion; inverted its mirror; rising 1 + (F - 1) x^q over the
    joint's own angle, falling the same from the other end. What the neighbour does is
    added to each.
    """
    drawn, table = joints.drawn, _TABLE["joint"][joints.joint]
    beside = drawn["by_neighbour"] * neighbour_deg / 90.0
    if joints.truth in ("rising", "falling"):
        first, last = table["grid_deg"]
        part = (joint_deg - first) / (last - first)
        part = part if joints.truth == "rising" else 1 - part
        grown = np.clip(part, 0.0, 1.0) ** drawn["bend"]
        return np.asarray(np.log1p((drawn["times"] - 1) * grown) + beside)
    flexion = table["zero_deg"] + table["sign"] * joint_deg
    depth = -0.5 * ((flexion - drawn["peak_deg"]) / drawn["width_deg"]) ** 2
    times = {"peaked": 1.0, "flat": 0.0, "inverted": -1.0}[joints.truth]
    return np.asarray(times * depth + beside)


def _asked(joints: Joints, variant: str, joint_deg: Array) -> tuple[Array, Array]:
    """Moment arm of the load [m], and what hangs beyond the joint asks [N m]."""
    row, table = POSTURE[variant], _TABLE["joint"][joints.joint]
    flexion = table["zero_deg"] + table["sign"] * joint_deg
    near = row["near_deg"] + joints.off_deg[variant]
    across = np.sin(np.radians(near + table["turns"] * flexion))
    opposed = table["pulls"] * across  # a weight against the action
    own = GRAVITY_M_PER_S2 * table["segment_kg"] * table["centre_m"] * opposed
    foot = np.cos(np.radians(joint_deg - 90 + joints.off_deg[variant]))
    reach = table.get("reach_m", 0.0)
    arms = {
        "even": np.full(opposed.shape, WHEEL_M),
        "down": reach * opposed,
        "up": -reach * opposed,
        "foot": reach * foot,
        "sled": reach * SLOPE * foot,
    }
    return np.asarray(arms[row["load"]]), np.asarray(own)


def log_limit(joints: Joints, variant: str, span: Range) -> Array:
    """Log of the largest load of one limb that passes everywhere in a range.

    Parameters
    ----------
    joints : Joints
        Of one truth.
    variant : str
        One of ``POSTURE`` of the joint.
    span : tuple of float or None
        First and last joint angle, equal for a hold; the usual ones when None. [deg]

    Returns
    -------
    log_limit : ndarray, shape (n_logs,)
        Of the load in kg. [1]
    """
    first, last = span or POSTURE[variant]["range_deg"]
    angle = np.arange(first, last + 1.0)
    beside = float(POSTURE[variant]["neighbour_deg"])
    moment = joints.drawn["peak_nm"] * np.exp(log_strength(joints, angle, beside))
    arm, own = _asked(joints, variant, angle)
    least = NO_ARM_FRAC * max(_TABLE["joint"][joints.joint].get("reach_m", 0.0), 0.1)
    held = np.where(
        arm > least,
        (moment - own) / (GRAVITY_M_PER_S2 * np.maximum(arm, least)),
        np.inf,
    )
    return np.asarray(np.log(np.maximum(held.min(axis=1), 0.1)))
