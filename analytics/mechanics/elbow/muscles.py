"""The elbow flexors of one published model: lengths, moment arms and forces.

Choices between tables are made here, once and visibly; the numbers themselves
are in the catalogue.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.interpolate import PchipInterpolator

from analytics.catalogue import Table, load_catalogue
from analytics.errors import InputError
from analytics.mechanics.curves import Equilibrium, Floats, equilibrium, tendon_strain

JOINT = load_catalogue().joints["elbow"]
GRID_DEG = JOINT.grid()
_ANCHOR_DEG = 90.0  # elbow angle at which muscle-tendon lengths are tabled
# Which printed equation serves which muscle: the one with the forearm in it first,
# then the other named paper, then the page that names none.
_EQUATION = {
    "biceps": "ramsay_2009",
    "brachialis": "ramsay_2009",
    "brachioradialis": "ramsay_2009",
    "ecrl": "pigeon_1996",
    "pronator_teres": "basbg_page",
}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Muscle:
    """One muscle of a set: a length function, whose slopes are its moment arms.

    Attributes
    ----------
    name, arm_group : str
        Name; muscles of one group share a moment arm.
    peak_force_n, optimal_m, slack_m, pennation_rad : float
        Published parameters.
    arm : PchipInterpolator
        Elbow moment arm in m by elbow angle in degrees, forearm neutral.
    turn : PchipInterpolator or None
        What pronation adds to it, in m per rad; None where the forearm does nothing.
    anchor_m : float
        Muscle-tendon length at elbow 90 and shoulder 0. [m]
    shoulder_m : PchipInterpolator or None
        Change of that length with the shoulder angle; None for one-joint muscles.

    Notes
    -----
    Turning the forearm changes arms, and no length at elbow 90: no source prints how
    much, and the spread of neutral and pronated strength stands for it.
    """

    name: str
    arm_group: str
    peak_force_n: float
    optimal_m: float
    slack_m: float
    pennation_rad: float
    arm: PchipInterpolator
    turn: PchipInterpolator | None
    anchor_m: float
    shoulder_m: PchipInterpolator | None

    def _turned(self, plain: Any, turn: Any, rotation_deg: ArrayLike) -> Floats:
        """Add what the forearm's rotation does."""
        pronated = -np.deg2rad(np.asarray(rotation_deg, dtype=float))
        return np.asarray(plain + pronated * (0.0 if turn is None else turn))

    def moment_arm_m(self, elbow_deg: ArrayLike, rotation_deg: ArrayLike) -> Floats:
        """Moment arm about the elbow, flexion positive."""
        elbow = np.asarray(elbow_deg, dtype=float)
        turn = None if self.turn is None else self.turn(elbow)
        return self._turned(self.arm(elbow), turn, rotation_deg)

    def excursion_m(self, elbow_deg: ArrayLike, rotation_deg: ArrayLike) -> Floats:
        """Shortening from elbow 90 to an elbow angle: the integral of the arm."""
        elbow = np.asarray(elbow_deg, dtype=float)
        turn = None if self.turn is None else _shortening(self.turn, elbow)
        return self._turned(_shortening(self.arm, elbow), turn, rotation_deg)

    def anchor_length_m(self, shoulder_deg: ArrayLike) -> Floats:
        """Muscle-tendon length at elbow 90."""
        shoulder = np.asarray(shoulder_deg, dtype=float)
        change = (
            0.0 * shoulder if self.shoulder_m is None else self.shoulder_m(shoulder)
        )
        return np.asarray(self.anchor_m + change)

    def stretch(
        self, elbow_deg: ArrayLike, shoulder_deg: ArrayLike, rotation_deg: ArrayLike
    ) -> Floats:
        """(Muscle-tendon length - slack length) / optimal fibre length."""
        length = self.anchor_length_m(shoulder_deg) - self.excursion_m(
            elbow_deg, rotation_deg
        )
        return (length - self.slack_m) / self.optimal_m

    def balance(self, curve: str, *, rigid: bool = False) -> Equilibrium:
        """Fibre and tendon in balance for this muscle."""
        return equilibrium(
            slack_over_optimal=self.slack_m / self.optimal_m,
            pennation_rad=self.pennation_rad,
            curve=curve,
            rigid=rigid,
        )


def _shortening(arm: PchipInterpolator, elbow: Floats) -> Floats:
    """Integral of a moment arm from elbow 90."""
    integral = arm.antiderivative()
    return np.deg2rad(integral(elbow) - integral(_ANCHOR_DEG))


def _arm(angles: Floats, values: Floats) -> PchipInterpolator:
    """Tabled moment arm, carried on in a straight line from 130 to 150 degrees."""
    step = angles[-1] - angles[-2]
    slope = (values[-1] - values[-2]) / step
    beyond = np.array([angles[-1] + step, angles[-1] + 2 * step])
    return PchipInterpolator(
        np.append(angles, beyond),
        np.append(values, values[-1] + slope * (beyond - angles[-1])),
    )


def _shoulder_length(table: Table, head: str) -> tuple[float, PchipInterpolator]:
    """Length at shoulder 0, and the change from it by shoulder angle.

    Carried on in a straight line below -45 degrees; held above the last angle,
    where the measured biceps moment is near nil (landin_2008).
    """
    angles, lengths = table.numbers("shoulder"), table.numbers(head)
    slope = (lengths[1] - lengths[0]) / (angles[1] - angles[0])
    before, after = np.array([-30.0, -15.0]), np.array([15.0, 30.0, 45.0, 60.0])
    grid = np.concatenate([angles[0] + before, angles, angles[-1] + after])
    extended = np.concatenate(
        [lengths[0] + before * slope, lengths, np.repeat(lengths[-1], 4)]
    )
    neutral = float(lengths[angles == 0][0])
    return neutral, PchipInterpolator(grid, extended - neutral)


def _arm26() -> tuple[Muscle, ...]:
    tables = load_catalogue().tables
    arms = tables["moment_arms_arm26"]
    brachialis = float(tables["brachialis_length_arm26"].numbers("brachialis")[0])
    muscles = []
    for name, part in _parameters(tables["muscles_arm26"]).items():
        group, anchor, shoulder = name.split("_")[0], brachialis, None
        if group == "biceps":
            anchor, shoulder = _shoulder_length(
                tables["biceps_length_arm26"], name.removeprefix("biceps_")
            )
        muscles.append(
            Muscle(
                name=name,
                arm_group=group,
                **part,
                arm=_arm(arms.numbers("elbow"), arms.numbers(group)),
                turn=None,
                anchor_m=anchor,
                shoulder_m=shoulder,
            )
        )
    return tuple(muscles)


def printed_arm_m(
    source: str, group: str, elbow_deg: ArrayLike, *, forearm_power: int = 0
) -> Floats:
    """Moment arm of a printed equation, or its factor on the pronated angle.

    Parameters
    ----------
    source : str
        Whose equation: the table ``moment_arms_<source>``.
    group : str
        Muscle.
    elbow_deg : array_like, shape (...)
        Elbow. [deg]
    forearm_power : int
        0 for the forearm in neutral, 1 for what a rad of pronation adds.

    Returns
    -------
    arm_m : ndarray, shape (...)
        Flexion positive. [m]
    """
    table, elbow = load_catalogue().tables[f"moment_arms_{source}"], elbow_deg
    total = np.zeros_like(np.asarray(elbow, dtype=float))
    for name, angle, power, turned, coefficient in zip(
        table.columns["muscle"],
        table.columns["angle"],
        table.numbers("elbow_power"),
        table.numbers("forearm_power"),
        table.numbers("coefficient"),
        strict=True,
    ):
        if name == group and turned == forearm_power:
            unit = np.deg2rad(elbow) if angle == "rad" else np.asarray(elbow)
            total = total + coefficient * unit**power
    return total


def _optimal_length_m(part: dict[str, float]) -> float:
    """Muscle-tendon length that holds fibres at optimal length in full activation."""
    along = np.cos(part["pennation_rad"])
    tendon_m = part["slack_m"] * (1 + float(tendon_strain(along)))
    return float(part["optimal_m"] * along + tendon_m)


def _printed() -> tuple[Muscle, ...]:
    tables, muscles = load_catalogue().tables, []
    table, over_shoulder = (
        tables["muscles_printed"],
        tables["biceps_shoulder_pigeon_1996"],
    )
    # Lengthening by a flexing shoulder is minus the integral of the flexion arm.
    degrees = np.arange(-90.0, 151.0)
    arm_m = np.interp(
        degrees, over_shoulder.numbers("shoulder"), over_shoulder.numbers("biceps")
    )
    integral = PchipInterpolator(degrees, -np.deg2rad(arm_m)).antiderivative()
    shoulder_m = PchipInterpolator(degrees, integral(degrees) - integral(0.0))
    angles = np.arange(0.0, 151.0)
    for (name, part), optimal_deg in zip(
        _parameters(table).items(), table.numbers("optimal_angle"), strict=True
    ):
        group = "biceps" if name.startswith("biceps") else name
        source = _EQUATION[group]
        turn = printed_arm_m(source, group, angles, forearm_power=1)
        arm = PchipInterpolator(angles, printed_arm_m(source, group, angles))
        muscles.append(
            Muscle(
                name=name,
                arm_group=group,
                **part,
                arm=arm,
                turn=PchipInterpolator(angles, turn) if turn.any() else None,
                anchor_m=_optimal_length_m(part) + float(_shortening(arm, optimal_deg)),
                shoulder_m=shoulder_m if group == "biceps" else None,
            )
        )
    return tuple(muscles)


def _parameters(table: Table) -> dict[str, dict[str, float]]:
    fields = {
        "peak_force_n": "peak_force",
        "optimal_m": "optimal_fibre",
        "slack_m": "tendon_slack",
        "pennation_rad": "pennation",
    }
    return {
        name: {ours: float(table.numbers(theirs)[i]) for ours, theirs in fields.items()}
        for i, name in enumerate(table.columns["muscle"])
    }


@cache
def muscle_set(muscles: str) -> tuple[Muscle, ...]:
    """Return the muscles of one published model.

    Parameters
    ----------
    muscles : str
        ``printed`` (equations of several publications, six flexors) or ``arm26``
        (three).

    Returns
    -------
    set : tuple of Muscle
        In the order of the published table.

    Raises
    ------
    InputError
        If there is no such set.
    """
    makers = {"printed": _printed, "arm26": _arm26}
    if muscles not in makers:
        raise InputError(f"no muscle set {muscles!r}; there are: {', '.join(makers)}")
    return makers[muscles]()


def within(
    value: ArrayLike, limit: tuple[float, float], name: str
) -> NDArray[np.float64]:
    """Return the angle, or refuse one no body can take."""
    angle = np.asarray(value, dtype=float)
    if np.any(angle < limit[0]) or np.any(angle > limit[1]):
        bad = angle[(angle < limit[0]) | (angle > limit[1])].flat[0]
        raise InputError(
            f"{name} must be from {limit[0]:g} to {limit[1]:g}, got {bad:g}"
        )
    return angle
