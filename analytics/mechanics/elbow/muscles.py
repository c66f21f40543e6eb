"""The elbow flexors of one published model: lengths, moment arms and forces.

Choices between tables are made here, once and visibly; the numbers themselves
are in the catalogue.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.interpolate import PchipInterpolator

from analytics.catalogue import Table, load_catalogue
from analytics.errors import InputError
from analytics.mechanics.curves import Equilibrium, Floats, equilibrium

JOINT = load_catalogue().joints["elbow"]
GRID_DEG = JOINT.grid()
# Insert on the radius and follow its turn in sine and cosine; the others are nearer to
# their source model on straight lines.
_TURNING = ("biceps", "brachioradialis")
_ANCHOR_DEG = 90.0  # elbow angle at which muscle-tendon lengths are tabled


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Muscle:
    """One muscle of a set.

    Attributes
    ----------
    name, arm_group : str
        Name; muscles of one group share a moment arm.
    peak_force_n, optimal_m, slack_m, pennation_rad : float
        Published parameters.
    arm : tuple of PchipInterpolator
        Elbow moment arm in m by elbow angle in degrees, one per column of
        ``rotations``.
    rotations : ndarray, shape (n,)
        Forearm rotations of ``arm``, rising. [deg]
    anchor_m : ndarray, shape (n,)
        Muscle-tendon length at elbow 90 and shoulder 0, by rotation. [m]
    shoulder_m : PchipInterpolator or None
        Change of that length with the shoulder angle; None for one-joint muscles.
    turns : bool
        True where the insertion turns with the radius about the forearm's axis.

    Notes
    -----
    Between the tabled rotations arms and lengths are mixed in straight lines, or,
    where the insertion turns with the radius, in sine and cosine, as a point on a
    turning shaft moves. Half-way between them moments then err by up to 3.0 percent
    of the source model's, where straight lines alone err by 4.3.
    """

    name: str
    arm_group: str
    peak_force_n: float
    optimal_m: float
    slack_m: float
    pennation_rad: float
    arm: tuple[PchipInterpolator, ...]
    rotations: Floats
    anchor_m: Floats
    shoulder_m: PchipInterpolator | None
    turns: bool

    def _mix(
        self, by_rotation: Sequence[Any] | Floats, rotation_deg: ArrayLike
    ) -> Floats:
        """Mix columns given at the tabled rotations."""
        rotation = np.asarray(rotation_deg, dtype=float)
        if len(by_rotation) == 1:
            return np.asarray(by_rotation[0] + 0.0 * rotation)
        if self.turns:  # pronated, neutral, supinated
            sine, cosine = np.sin(np.deg2rad(rotation)), np.cos(np.deg2rad(rotation))
            shares = [(1 - sine - cosine) / 2, cosine, (1 + sine - cosine) / 2]
        else:
            nodes = np.eye(len(by_rotation))
            shares = [np.interp(rotation, self.rotations, node) for node in nodes]
        return np.asarray(
            sum(
                share * column
                for share, column in zip(shares, by_rotation, strict=True)
            )
        )

    def moment_arm_m(self, elbow_deg: ArrayLike, rotation_deg: ArrayLike) -> Floats:
        """Moment arm about the elbow, flexion positive."""
        elbow = np.asarray(elbow_deg, dtype=float)
        return self._mix([arm(elbow) for arm in self.arm], rotation_deg)

    def excursion_m(self, elbow_deg: ArrayLike, rotation_deg: ArrayLike) -> Floats:
        """Shortening from elbow 90 to an elbow angle: the integral of the arm."""
        elbow = np.asarray(elbow_deg, dtype=float)
        columns = []
        for arm in self.arm:
            integral = arm.antiderivative()
            columns.append(np.deg2rad(integral(elbow) - integral(_ANCHOR_DEG)))
        return self._mix(columns, rotation_deg)

    def anchor_length_m(
        self, shoulder_deg: ArrayLike, rotation_deg: ArrayLike
    ) -> Floats:
        """Muscle-tendon length at elbow 90."""
        length = self._mix(self.anchor_m, rotation_deg)
        if self.shoulder_m is None:
            return length + np.zeros_like(np.asarray(shoulder_deg, dtype=float))
        return np.asarray(length + self.shoulder_m(shoulder_deg))

    def stretch(
        self, elbow_deg: ArrayLike, shoulder_deg: ArrayLike, rotation_deg: ArrayLike
    ) -> Floats:
        """(Muscle-tendon length - slack length) / optimal fibre length."""
        length = self.anchor_length_m(shoulder_deg, rotation_deg) - self.excursion_m(
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
    parts = _parameters(tables["muscles_arm26"])
    brachialis = float(tables["brachialis_length_arm26"].numbers("brachialis")[0])
    muscles = []
    for name, group in (
        ("biceps_long", "biceps"),
        ("biceps_short", "biceps"),
        ("brachialis", "brachialis"),
    ):
        anchor, shoulder = brachialis, None
        if group == "biceps":
            anchor, shoulder = _shoulder_length(
                tables["biceps_length_arm26"], name.removeprefix("biceps_")
            )
        muscles.append(
            Muscle(
                name=name,
                arm_group=group,
                **parts[name],
                arm=(_arm(arms.numbers("elbow"), arms.numbers(group)),),
                rotations=np.array([0.0]),
                anchor_m=np.array([anchor]),
                shoulder_m=shoulder,
                turns=False,
            )
        )
    return tuple(muscles)


def _biceps_rotation_m() -> Floats:
    """Change of biceps length at elbow 90 from supinated, for -90, 0 and 90."""
    table = load_catalogue().tables["biceps_rotation_mobl_arms"]
    order = np.argsort(table.numbers("rotation"))
    rotation, arm = (
        table.numbers("rotation")[order],
        table.numbers("biceps")[order],
    )
    quadratic = np.polynomial.Polynomial.fit(rotation, arm, 2).integ()
    # Supinating shortens the muscle by arm times angle.
    return np.deg2rad(quadratic(90.0) - quadratic(rotation))


def _mobl_columns() -> dict[str, Floats]:
    """Every moment arm column of the set by name, in m."""
    tables = load_catalogue().tables
    columns = {
        name: table.numbers(name)
        for table in (
            tables["moment_arms_mobl_arms"],
            tables["moment_arms_ecrl_mobl_arms"],
        )
        for name in table.columns
    }
    columns["ecrl_neutral"] = columns["ecrl"]
    return columns


def _mobl_arms() -> tuple[Muscle, ...]:
    tables = load_catalogue().tables
    arms, fibres = _mobl_columns(), tables["fibre_length_mobl_arms"]
    parts = _parameters(tables["muscles_mobl_arms"])
    brachialis = float(tables["brachialis_length_arm26"].numbers("brachialis")[0])
    muscles = []
    for name, part in parts.items():
        group = "biceps" if name.startswith("biceps") else name
        turned = f"{group}_supinated" in arms
        columns = (
            [f"{group}_{turn}" for turn in ("pronated", "neutral", "supinated")]
            if turned
            else [group] * 3
        )
        shoulder = None
        if group == "biceps":
            length, shoulder = _shoulder_length(
                tables["biceps_length_mobl_arms"], name.removeprefix("biceps_")
            )
            anchor = length + _biceps_rotation_m()
        elif group == "brachialis":
            anchor = np.full(3, brachialis)
        else:
            order = np.argsort(fibres.numbers("rotation"))
            anchor = part["slack_m"] + part["optimal_m"] * fibres.numbers(group)[order]
        muscles.append(
            Muscle(
                name=name,
                arm_group=group,
                **part,
                arm=tuple(_arm(arms["elbow"], arms[column]) for column in columns),
                rotations=np.array([-90.0, 0.0, 90.0]),
                anchor_m=anchor,
                shoulder_m=shoulder,
                turns=group in _TURNING,
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
        ``mobl_arms`` (six flexors) or ``arm26`` (three).

    Returns
    -------
    set : tuple of Muscle
        In the order of the published table.

    Raises
    ------
    InputError
        If there is no such set.
    """
    makers = {"mobl_arms": _mobl_arms, "arm26": _arm26}
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
