"""Capability: the largest elbow moment the flexors can hold at a posture.

Also which muscle gives it and where on its curve each fibre works.
"""

from __future__ import annotations

from functools import cache

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from analytics.catalogue import Mechanics, load_catalogue
from analytics.mechanics.curves import Floats, active_force, zone
from analytics.mechanics.elbow.muscles import JOINT, Muscle, muscle_set, within
from analytics.mechanics.shapes import LEVERAGE, POWER, checked_shape, reshaped

# Moment of the flat shape, about which the inverted one mirrors; ratios feel it only
# through the forearm's own weight. [N m]
LEVEL_NM = 60.0
POSSIBLE_ELBOW_DEG = (-20.0, 180.0)  # beyond, no elbow bends: value from memory


@cache
def force_table(
    muscles: str, curve: str, shape: str, muscle: int
) -> NDArray[np.float32]:
    """Force over peak force on the grid ``curves.STRETCH``, one shape, one muscle.

    Notes
    -----
    Leverage: 1 at every stretch. Else the active factor in balance with the tendon
    plus the passive one.
    """
    checked_shape(shape)
    balance = muscle_set(muscles)[muscle].balance(curve)
    force = balance.active + balance.passive
    return np.where(shape == LEVERAGE, 1.0, force).astype(np.float32)


def _moments(
    elbow: Floats,
    shoulder: Floats,
    rotation: Floats,
    *,
    muscles: str,
    curve: str,
    shape: str,
    rigid: bool = False,
) -> list[Floats]:
    """Moment of each muscle, before the grip factor."""
    moments = []
    for i, muscle in enumerate(muscle_set(muscles)):
        balance = muscle.balance(curve, rigid=rigid)
        table = (
            balance.active + balance.passive
            if rigid
            else force_table(muscles, curve, shape, i)
        )
        force = np.interp(
            muscle.stretch(elbow, shoulder, rotation), balance.stretch, table
        )
        moments.append(
            muscle.peak_force_n * muscle.moment_arm_m(elbow, rotation) * force
        )
    return moments


@cache
def pronated_factor(muscles: str, curve: str, shape: str) -> float:
    """Empirical factor that brings pronated strength down towards the measured one.

    Notes
    -----
    Pronated over supinated strength, divided by the shape's ratio of moments at elbow
    90, shoulder 0. Muscle length does not explain grip. Measured strength fell further
    than drive did; how much of the drop a lifter has is not known, so the middle
    between both is taken, and its spread reaches either.

    References
    ----------
    kohn_2018.
    """
    table = load_catalogue().tables["grip_strength"]
    pronated_row = table.numbers("rotation") == -90.0
    supinated_row = table.numbers("rotation") == 90.0
    force, drive = (
        float(table.numbers(x)[pronated_row][0] / table.numbers(x)[supinated_row][0])
        for x in ("force", "activation")
    )
    pronated, supinated = (
        sum(
            _moments(
                np.array(90.0),
                np.array(0.0),
                np.array(turn),
                muscles=muscles,
                curve=curve,
                shape=shape,
            )
        )
        for turn in (-90.0, 90.0)
    )
    modelled = float(pronated / supinated) ** POWER[shape]
    return float(np.sqrt(force * drive) / modelled)


def grip_factor(
    rotation_deg: ArrayLike, *, muscles: str, curve: str, shape: str = "peaked"
) -> Floats:
    """Empirical grip factor: 1 from supinated to neutral, straight to pronated.

    Parameters
    ----------
    rotation_deg : array_like, shape (...)
        Forearm, +90 supinated, -90 pronated. [deg]
    muscles, curve, shape : str
        The model it corrects.

    Returns
    -------
    factor : ndarray, shape (...)
        To multiply capability with. [1]

    Notes
    -----
    Only the pronated end is measured; the straight line from neutral is assumed.

    References
    ----------
    kohn_2018.
    """
    pronated = pronated_factor(muscles, curve, shape)
    return np.interp(
        np.asarray(rotation_deg, dtype=float), [-90.0, 0.0], [pronated, 1.0]
    )


def _posture(
    elbow_deg: ArrayLike, shoulder_deg: ArrayLike, rotation_deg: ArrayLike
) -> tuple[Floats, Floats, Floats]:
    elbow = within(elbow_deg, POSSIBLE_ELBOW_DEG, "elbow_deg")
    low, high = JOINT.range_deg
    elbow = np.where((elbow >= low) & (elbow <= high), elbow, np.nan)
    shoulder = within(shoulder_deg, JOINT.shoulder_deg, "shoulder_deg")
    rotation = within(rotation_deg, JOINT.rotation_deg, "rotation_deg")
    elbow, shoulder, rotation = np.broadcast_arrays(elbow, shoulder, rotation)
    return elbow, shoulder, rotation


def capability(
    elbow_deg: ArrayLike,
    *,
    shoulder_deg: ArrayLike,
    rotation_deg: ArrayLike,
    muscles: str = "printed",
    curve: str = "thelen",
    shape: str = "peaked",
    rigid_tendon: bool = False,
) -> Floats:
    """Largest elbow flexion moment the muscles can hold, by posture.

    Parameters
    ----------
    elbow_deg : array_like, shape (...)
        Elbow, 0 straight. [deg]
    shoulder_deg, rotation_deg : array_like, broadcastable to ``elbow_deg``
        Upper arm to trunk, flexion positive; forearm, +90 supinated. [deg]
    muscles : str
        ``printed`` (six flexors) or ``arm26`` (three).
    curve : str
        ``thelen``, ``millard`` or ``de_groote``.
    shape : str
        ``peaked`` (published) or a rival, see Notes.
    rigid_tendon : bool
        True ignores tendon stretch, to measure what that costs.

    Returns
    -------
    moment_nm : ndarray, shape (...)
        One arm, all flexors fully active and isometric, active and passive force,
        no antagonist, with the empirical grip factor. [N m]

    Raises
    ------
    InputError
        If an angle is one no body can take, or a model, curve or shape does not
        exist.

    Notes
    -----
    Sum over muscles of peak force times moment arm times force factor. Muscle
    length follows from the tabled length at elbow 90 less the integral of the
    moment arm. Elbow tables end at 130 degrees: moment arms go on in a straight
    line to 146, beyond which, or below 0, the result is NaN (an error outside -20 to
    180). Rival shapes: :func:`reshaped`; leverage has no passive force and the
    active factor 1. NaN in any input gives NaN at that place.

    References
    ----------
    ramsay_2009; pigeon_1996; basbg_page; arm26; thelen_2003; millard_2013;
    de_groote_2016; kohn_2018.
    """
    elbow, shoulder, rotation = _posture(elbow_deg, shoulder_deg, rotation_deg)
    total = sum(
        _moments(
            elbow,
            shoulder,
            rotation,
            muscles=muscles,
            curve=curve,
            shape=shape,
            rigid=rigid_tendon,
        )
    )
    first, last = JOINT.grid_deg
    total = reshaped(
        np.asarray(total),
        shape,
        level_nm=LEVEL_NM,
        joint_frac=(elbow - first) / (last - first),
    )
    return total * grip_factor(rotation, muscles=muscles, curve=curve, shape=shape)


def strength(
    elbow_deg: ArrayLike, *, model: Mechanics, muscles: str, curve: str
) -> Floats:
    """Capability on a posture path, in N m."""
    return capability(
        elbow_deg,
        shoulder_deg=model.shoulder_deg(elbow_deg),
        rotation_deg=model.rotation_deg,
        muscles=muscles,
        curve=curve,
    )


def muscle_work(
    elbow_deg: ArrayLike,
    *,
    shoulder_deg: ArrayLike,
    rotation_deg: ArrayLike,
    muscles: str = "printed",
    curve: str = "thelen",
) -> pd.DataFrame:
    """Which muscle gives how much, and how long its fibres are, by posture.

    Parameters
    ----------
    elbow_deg : array_like, shape (...)
        Elbow, 0 straight. [deg]
    shoulder_deg, rotation_deg : array_like, broadcastable to ``elbow_deg``
        Upper arm to trunk; forearm, +90 supinated. [deg]
    muscles, curve : str
        Published set and curve, as in `capability`.

    Returns
    -------
    work : DataFrame
        One row per posture and muscle: ``elbow_deg, shoulder_deg, rotation_deg,
        muscle, moment_nm, share_frac, fibre_length, active, zone``.

    Raises
    ------
    InputError
        As `capability`.
    """
    elbow, shoulder, rotation = (
        np.ravel(x) for x in _posture(elbow_deg, shoulder_deg, rotation_deg)
    )
    moments = _moments(
        elbow, shoulder, rotation, muscles=muscles, curve=curve, shape="peaked"
    )
    grip = grip_factor(rotation, muscles=muscles, curve=curve)
    total = sum(moments)
    parts = []
    for muscle, moment in zip(muscle_set(muscles), moments, strict=True):
        length = fibre_length(
            muscle, elbow, shoulder_deg=shoulder, rotation_deg=rotation, curve=curve
        )
        parts.append(
            pd.DataFrame(
                {
                    "elbow_deg": elbow,
                    "shoulder_deg": shoulder,
                    "rotation_deg": rotation,
                    "muscle": muscle.name,
                    "moment_nm": moment * grip,
                    "share_frac": moment / total,
                    "fibre_length": length,
                    "active": active_force(length, curve=curve),
                    "zone": zone(length, curve=curve),
                }
            )
        )
    return pd.concat(parts, ignore_index=True)


def fibre_length(
    muscle: Muscle,
    elbow_deg: ArrayLike,
    *,
    shoulder_deg: ArrayLike,
    rotation_deg: ArrayLike,
    curve: str,
) -> Floats:
    """Fibre length over optimal length, in balance with the tendon.

    Parameters
    ----------
    muscle : Muscle
        One of a set.
    elbow_deg : array_like, shape (...)
        Elbow. [deg]
    shoulder_deg, rotation_deg : array_like, broadcastable to ``elbow_deg``
        Posture. [deg]
    curve : str
        ``thelen``, ``millard`` or ``de_groote``.

    Returns
    -------
    length : ndarray, shape (...)
        [1]
    """
    balance = muscle.balance(curve)
    return np.interp(
        muscle.stretch(elbow_deg, shoulder_deg, rotation_deg),
        balance.stretch,
        balance.fibre,
    )
