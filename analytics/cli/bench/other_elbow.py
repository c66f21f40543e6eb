"""Elbows of known truth that share no code and no muscle with the model.

Joint strength is a closed form of the elbow's angle, postures are common practice in
numbers of their own, and every log has another elbow. What the forms are is in
``other_elbow.toml``.
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
    files(__package__).joinpath("other_elbow.toml").read_text("utf-8")
)
POSTURE: dict[str, dict[str, Any]] = _TABLE["posture"]
TRUTHS: tuple[str, ...] = tuple(_TABLE["truth"])
GRAVITY_M_PER_S2 = 9.81
NO_ARM_M = 0.02


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Elbows:
    """One elbow for each simulated log.

    Attributes
    ----------
    truth : str
        One of ``TRUTHS``.
    drawn : dict of str to ndarray, shape (n_logs, 1)
        What the truth draws, by its name in the table.
    arm_deg : dict of str to ndarray, shape (n_logs, 1)
        How far the upper arm is off the usual path, per variant. [deg]
    swing : ndarray, shape (n_logs,)
        Log of what swing adds where nothing holds the body. [1]
    """

    truth: str
    drawn: dict[str, Array]
    arm_deg: dict[str, Array]
    swing: Array


def draw(truth: str, movement: str, n_logs: int, rng: np.random.Generator) -> Elbows:
    """Draw elbows of one truth.

    Parameters
    ----------
    truth : str
        One of ``TRUTHS``.
    movement : str
        The only one there is.
    n_logs : int
        How many.
    rng : Generator
        Of the random numbers.

    Returns
    -------
    elbows : Elbows
        Uniform between the ends of the table.
    """
    del movement  # as every module of truths is asked
    ends: dict[str, Any] = dict(_TABLE["truth"][truth])
    low, high = ends.pop("swing", (0.0, 0.0))
    ends.pop("form")
    return Elbows(
        truth=truth,
        drawn={name: rng.uniform(a, b, (n_logs, 1)) for name, (a, b) in ends.items()}
        | {"peak_nm": np.exp(rng.normal(np.log(60.0), 0.2, (n_logs, 1)))},
        arm_deg={
            name: rng.normal(0.0, _TABLE["off_path_deg"], (n_logs, 1))
            for name in POSTURE
        },
        swing=rng.uniform(low, high, n_logs),
    )


def log_strength(elbows: Elbows, elbow_deg: Array, shoulder_deg: Array) -> Array:
    """Log of joint strength over its usual peak.

    Parameters
    ----------
    elbows : Elbows
        Of one truth.
    elbow_deg, shoulder_deg : ndarray, shape (n_angles,)
        Posture. [deg]

    Returns
    -------
    log_strength : ndarray, shape (n_logs, n_angles)
        [1]

    Notes
    -----
    Peaked: a parabola of the logarithm on either side of the peak, through what is
    left at 30 and at 120 degrees; flexing the shoulder gives to straighter and takes
    from more bent elbows. Rising: 1 + (F - 1) x^q over 0 to 140 degrees; falling: the
    same from the other end.
    """
    drawn, form = elbows.drawn, str(_TABLE["truth"][elbows.truth]["form"])
    if form == "flat":
        return np.zeros((len(drawn["peak_nm"]), elbow_deg.size))
    if form in ("rising", "falling"):
        part = elbow_deg / 140.0 if form == "rising" else 1 - elbow_deg / 140.0
        grown = np.clip(part, 0.0, 1.0) ** drawn["bend"]
        return np.asarray(np.log1p((drawn["times"] - 1) * grown))
    peak = drawn["peak_deg"]
    low = np.log(drawn["left_at_30"]) * ((elbow_deg - peak) / (peak - 30.0)) ** 2
    high = np.log(drawn["left_at_120"]) * ((elbow_deg - peak) / (120.0 - peak)) ** 2
    neighbour = -drawn["by_shoulder"] * shoulder_deg / 45.0 * (elbow_deg - 65.0)
    peaked = np.where(elbow_deg < peak, low, high) + neighbour
    return np.asarray(-peaked if form == "inverted" else peaked)


def log_limit(elbows: Elbows, variant: str, span: Range) -> Array:
    """Log of the largest load of one arm that passes everywhere in a range.

    Parameters
    ----------
    elbows : Elbows
        Of one truth.
    variant : str
        One of ``POSTURE``.
    span : tuple of float or None
        First and last elbow angle, equal for a hold; the usual ones when None. [deg]

    Returns
    -------
    log_limit : ndarray, shape (n_logs,)
        Of the load in kg. [1]
    """
    usual = POSTURE[variant]
    first, last = span or usual["range_deg"]
    elbow = np.arange(first, last + 1.0)
    shoulder = np.interp(elbow, [60.0, 140.0], usual["shoulder_deg"])
    arm = shoulder - usual["trunk_deg"] + elbows.arm_deg[variant]
    across = np.sin(np.radians(arm + elbow))
    body = _TABLE["body"]
    moment = elbows.drawn["peak_nm"] * np.exp(log_strength(elbows, elbow, shoulder))
    own = body["forearm_kg"] * body["forearm_centre_m"] * across
    load_arm = body["grip_m"] * across
    held = np.where(
        load_arm > NO_ARM_M,
        (moment / GRAVITY_M_PER_S2 - own) / np.maximum(load_arm, NO_ARM_M),
        np.inf,
    )
    logs = np.log(np.maximum(held.min(axis=1), 0.1))
    moves = span is None or first < last
    return np.asarray(logs + elbows.swing * (moves and usual["free"]))
