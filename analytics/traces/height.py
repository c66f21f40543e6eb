"""Joint angle from the height of the bar: a variant's own path, read backwards."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analytics.catalogue import Body, load_catalogue, normalise_name
from analytics.errors import InputError
from analytics.traces.reading import JOINT

STEP_DEG = 0.05  # of the tabled path
FREE_RANGE_DEG = (0.0, 140.0)  # of an exercise the catalogue does not know
NEAR_M = 0.002  # by which heights must differ to be told apart, assumed
SLACK_FRAC = 0.05  # by which a body may be larger than its segment tables, assumed


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class HeightPath:
    """Height of the bar by elbow angle on the path of one exercise.

    Attributes
    ----------
    elbow_deg, height_m : ndarray, shape (n,)
        Through the range, height above its lowest point. [deg], [m]
    told : ndarray of bool, shape (n,)
        False where the bar passes the same height at another angle.
    """

    elbow_deg: NDArray[np.float64]
    height_m: NDArray[np.float64]
    told: NDArray[np.bool_]

    def untold(self) -> str:
        """Say which angles a height does not tell apart, empty where it tells all."""
        edge = np.diff(np.concatenate([[True], self.told, [True]]).astype(int))
        first, last = np.flatnonzero(edge < 0), np.flatnonzero(edge > 0) - 1
        return " and ".join(
            f"{self.elbow_deg[a]:.0f}° to {self.elbow_deg[b]:.0f}°"
            for a, b in zip(first, last, strict=True)
        )


def height_path(exercise: str, *, body: Body, elbow_to_grip_m: float) -> HeightPath:
    r"""Bar height through the range of an exercise.

    Parameters
    ----------
    exercise : str
        Name; one that the catalogue does not know has an arm hanging straight.
    body : Body
        Length of the upper arm.
    elbow_to_grip_m : float
        Elbow axis to the middle of the hand. [m]

    Returns
    -------
    path : HeightPath
        Over the range of the variant.

    Raises
    ------
    InputError
        If the exercise moves another joint.

    Notes
    -----
    .. math:: h(\theta) = -U \cos\alpha(\theta) - \ell \cos(\alpha(\theta) + \theta)

    with the upper arm at :math:`\alpha` from hanging, as the variant's path has it. A
    height tells the angle where the bar was lower at all angles before and is higher
    at all that follow.
    """
    catalogue = load_catalogue()
    name = catalogue.exercise_names.get(normalise_name(exercise), exercise)
    variant = catalogue.variants.get(name)
    model = variant.mechanics if variant is not None else None
    if model is not None and model.joint.joint != JOINT:
        raise InputError(
            f"height_m of {exercise!r} tells no angle of the "
            f"{model.joint.title.lower()}: only heights of lifts that bend the {JOINT} "
            "are read as angles"
        )
    first, last = model.range_deg if model else FREE_RANGE_DEG
    elbow = np.linspace(first, last, round((last - first) / STEP_DEG) + 1)
    arm_deg = model.arm_deg(elbow) if model else np.zeros_like(elbow)
    arm, fore = np.deg2rad(arm_deg), np.deg2rad(arm_deg + elbow)
    height = -body.length_m["upper_arm"] * np.cos(arm) - elbow_to_grip_m * np.cos(fore)
    before = np.concatenate([[-np.inf], np.maximum.accumulate(height)[:-1]])
    after = np.concatenate([np.minimum.accumulate(height[::-1])[::-1][1:], [np.inf]])
    told = (height > before) & (height < after)
    if not told.all():  # and what a sensor cannot tell from it
        band = height[~told].min() - NEAR_M, height[~told].max() + NEAR_M
        told &= (height < band[0]) | (height > band[1])
    return HeightPath(elbow_deg=elbow, height_m=height - height.min(), told=told)


def elbow_from_height(
    height_m: NDArray[np.float64], path: HeightPath, *, exercise: str
) -> NDArray[np.float64]:
    """Elbow angle from the height of the bar.

    Parameters
    ----------
    height_m : ndarray, shape (n,)
        Smoothed height of the bar, zero anywhere. [m]
    path : HeightPath
        From `height_path`.
    exercise : str
        For the message.

    Returns
    -------
    elbow_deg : ndarray, shape (n,)
        NaN where the path has several angles at that height. [deg]

    Raises
    ------
    InputError
        If the bar rises more than the path lifts it.

    Notes
    -----
    The lowest bar is taken as the lowest point of the path: a lift that starts above
    reads as less flexion, and a body that rises as more; an angle sensor avoids both.
    """
    low, high = np.quantile(height_m, [0.01, 0.99])
    most = float(path.height_m.max())
    if high - low > (1 + SLACK_FRAC) * most:
        raise InputError(
            f"height_m rises {high - low:.3g} m in {exercise}, more than this lift "
            f"raises a bar, {most:.3g} m for this body; heights are metres: give the "
            "lifter's stature or forearm, or elbow_deg instead"
        )
    above = np.clip(height_m - low, path.height_m[0], most)
    place = np.searchsorted(path.height_m[path.told], above)
    told = np.flatnonzero(path.told)
    if not told.size:
        return np.full_like(above, np.nan)
    right = told[np.minimum(place, told.size - 1)]
    left = told[np.maximum(place - 1, 0)]
    near = right - left <= 1  # else a part that is not told lies between
    inside = (above >= path.height_m[told[0]]) & (above <= path.height_m[told[-1]])
    elbow = np.interp(above, path.height_m[told], path.elbow_deg[told])
    return np.where(near & inside, elbow, np.nan)
