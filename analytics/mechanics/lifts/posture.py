"""Where joints and bar are through a multi-joint lift, on the planar chain.

x forward from the ankles and y up, in m; of a press, away from the shoulder in the
plane of the arm.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from analytics.catalogue import Body, load_catalogue
from analytics.errors import InputError
from analytics.mechanics.curves import Floats

STANDING = ("back", "low", "front", "hands", "split")
ON_BACK = ("thrust", "floor")
HEEL_FRAC = 0.25  # of the foot behind the ankle: value from memory
# Bar from the shoulder: along the trunk downward and ahead of it; common practice.
_BAR_M = {"back": (0.02, -0.04), "low": (0.09, -0.06), "front": (0.02, 0.08)}
_HALVINGS = 40


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Knots:
    """Posture of one lift by progress, as tabled.

    Attributes
    ----------
    form : str
        Where the load is and what is solved; see the table.
    progress, first, second, third : ndarray, shape (n_knots,)
        From bottom to top. [1], [deg], [deg], [1]
    """

    form: str
    progress: Floats
    first: Floats
    second: Floats
    third: Floats

    def at(self, progress: Floats) -> tuple[Floats, Floats, Floats]:
        """Numbers at places between the knots, straight lines between."""
        return (
            np.interp(progress, self.progress, self.first),
            np.interp(progress, self.progress, self.second),
            np.interp(progress, self.progress, self.third),
        )


def knots(variant: str) -> Knots:
    """Return the tabled posture of a lift, or refuse with those that have one.

    Parameters
    ----------
    variant : str
        Id in the catalogue.

    Returns
    -------
    knots : Knots

    Raises
    ------
    InputError
        If none is tabled.
    """
    table = load_catalogue().tables["lift_postures"]
    names = np.array(table.columns["variant"])
    mine = names == variant
    if not mine.any():
        known = ", ".join(dict.fromkeys(names))
        raise InputError(f"no posture of {variant!r}; there are: {known}")
    numbers = {
        name: table.numbers(name)[mine]
        for name in ("progress", "first", "second", "third")
    }
    form = np.array(table.columns["form"])[mine][0]
    return Knots(form=str(form), **numbers)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Stood:
    """A standing posture.

    Attributes
    ----------
    knee, hip, shoulder, bar : ndarray, shape (2, n)
        Places, ankle at 0. [m]
    shank_deg, thigh_deg, trunk_deg : ndarray, shape (n,)
        From vertical: shank and trunk forward, thigh backward. [deg]
    """

    knee: Floats
    hip: Floats
    shoulder: Floats
    bar: Floats
    shank_deg: Floats
    thigh_deg: Floats
    trunk_deg: Floats


def _along(length_m: float, forward_deg: Floats) -> Floats:
    turn = np.deg2rad(forward_deg)
    return length_m * np.stack([np.sin(turn), np.cos(turn)])


def mid_foot_m(body: Body) -> float:
    """Middle of the foot ahead of the ankle."""
    return body.length_m["foot"] * (0.5 - HEEL_FRAC)


def stand(form: str, shank_deg: Floats, thigh_deg: Floats, body: Body) -> Stood:
    """Stand with the bar over the middle of the foot, the trunk's lean solved.

    Parameters
    ----------
    form : str
        One of ``STANDING``.
    shank_deg, thigh_deg : ndarray, shape (n,)
        From vertical. [deg]
    body : Body
        Segment lengths.

    Returns
    -------
    stood : Stood

    Notes
    -----
    The bar moves forward with the lean, so halving finds the one that fits; where
    none does up to 100 degrees, the end stands.
    """
    knee = _along(body.length_m["shank"], shank_deg)
    hip = knee + _along(body.length_m["thigh"], -thigh_deg)
    low, high = np.full_like(shank_deg, -20.0), np.full_like(shank_deg, 100.0)
    for _ in range(_HALVINGS):
        lean = (low + high) / 2
        _, bar = _bar(form, hip, lean, body)
        ahead = bar[0] > mid_foot_m(body)
        low, high = np.where(ahead, low, lean), np.where(ahead, lean, high)
    shoulder, bar = _bar(form, hip, high, body)
    return Stood(
        knee=knee,
        hip=hip,
        shoulder=shoulder,
        bar=bar,
        shank_deg=shank_deg,
        thigh_deg=thigh_deg,
        trunk_deg=high,
    )


def _bar(form: str, hip: Floats, lean: Floats, body: Body) -> tuple[Floats, Floats]:
    """Place of the shoulder and of the bar."""
    trunk = body.length_m["trunk"]
    shoulder = hip + _along(trunk, lean)
    if form == "hands":
        down = body.length_m["upper_arm"] + body.grip_m
        return shoulder, shoulder - np.array([[0.0], [down]])
    along, ahead = _BAR_M["back" if form == "split" else form]
    return shoulder, hip + _along(trunk - along, lean) + _along(ahead, lean + 90)
