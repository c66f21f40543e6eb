"""Draws of uncertain parameters, and fast limit loads from them.

A draw is one person's departure from the published parameters under one muscle
set and one curve. Sets and curves share the draws equally: they are structure no
study has settled.
"""

from __future__ import annotations

import zlib
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from itertools import pairwise, product

import numpy as np
from numpy.typing import NDArray

from analytics.catalogue import Variant, load_catalogue
from analytics.errors import InputError
from analytics.mechanics.body import Body
from analytics.mechanics.curves import CURVES, STRETCH
from analytics.mechanics.demand import resistance_lever, shoulder_height_m
from analytics.mechanics.muscles import MUSCLE_SETS, Muscle, muscle_set
from analytics.mechanics.strength_curve import force_table, pronated_factor
from analytics.units import STANDARD_GRAVITY_M_PER_S2

Single = NDArray[np.float32]

STRUCTURES = tuple(product(MUSCLE_SETS, CURVES))
GRID_DEG = np.arange(0.0, 141.0)
# What differs from person to person, and so less for the mean of a cohort.
PERSONAL = (
    "peak_force",
    "optimal_fibre",
    "tendon_slack",
    "forearm_and_hand",
    "lever",
    "posture_deg",
    "arm_deg",
    "shoulder_deg",
)
# How publications differ in the moment arm of all flexors together, by angle: a
# tilt about mid-range, and the arm near the straight elbow.
_PROFILES = {
    "profile_tilt": (GRID_DEG - 70.0) / 50.0,
    "profile_straight": np.exp(-((GRID_DEG / 20.0) ** 2)),
}


@cache
def spread(parameter: str) -> float:
    """One standard deviation of a parameter, by the name a draw gives it."""
    kind = parameter.split(".")[0].split("@")[0]
    if kind == "moment_arm":
        return _moment_arm_spread(parameter.split(".")[1])
    kind = {"anchor_forward": "anchor_m", "anchor_up": "anchor_m"}.get(kind, kind)
    return float(load_catalogue().spreads[kind].sd)


def _is_personal(parameter: str) -> bool:
    return parameter.split(".")[0].split("@")[0] in PERSONAL


def _moment_arm_spread(group: str) -> float:
    """Spread of the logarithm between publications, at elbow 90."""
    table = load_catalogue().tables["moment_arm_at_90"]
    mine = np.array(table.columns["muscle"]) == group
    return float(np.std(np.log(table.numbers("moment_arm")[mine]), ddof=1))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Draws:
    """Standard normal departures, each parameter on a stream of its own.

    Attributes
    ----------
    n : int
        Number of draws.
    seed : int or None
        Same seed, same draws, whatever is asked for; None means no departure.
    blocks : tuple of (int, slice)
        Index into ``STRUCTURES`` and the draws that use it.
    fixed : mapping of str to ndarray
        Departures set by hand, shape (n,), in standard deviations.
    person_frac : float
        Factor on the spreads between persons: 1 for one lifter, less for a mean.
    """

    n: int
    seed: int | None
    blocks: tuple[tuple[int, slice], ...]
    fixed: Mapping[str, Single] = field(default_factory=dict)
    person_frac: float = 1.0

    def departure(self, parameter: str) -> Single:
        """Departure of one parameter in its own unit, shape (n, 1)."""
        if parameter in self.fixed:
            z = self.fixed[parameter]
        elif self.seed is None:
            z = np.zeros(self.n, dtype=np.float32)
        else:
            stream = np.random.default_rng([self.seed, zlib.crc32(parameter.encode())])
            z = stream.standard_normal(self.n, dtype=np.float32)
        sd = spread(parameter) * (self.person_frac if _is_personal(parameter) else 1)
        return np.asarray(z[:, None] * np.float32(sd))

    def factor(self, parameter: str) -> Single:
        """Proportional departure of one parameter, shape (n, 1)."""
        return np.exp(self.departure(parameter))


def make_draws(n_draws: int, *, seed: int | None, person_frac: float = 1.0) -> Draws:
    """Draw parameters, equally over muscle sets and curves.

    Parameters
    ----------
    n_draws : int
        At least one per structure, six.
    seed : int or None
        Of the random numbers; None leaves every parameter at its published value.
    person_frac : float
        Factor on the spreads between persons: 1 for one lifter, less for a mean.

    Returns
    -------
    draws : Draws
        Lazy: a parameter is drawn when it is asked for.

    Raises
    ------
    InputError
        If there are fewer draws than structures.
    """
    if n_draws < len(STRUCTURES):
        raise InputError(
            f"n_draws must be {len(STRUCTURES)} or more, one for each muscle set and "
            f"curve, got {n_draws}"
        )
    edges = np.linspace(0, n_draws, len(STRUCTURES) + 1).round().astype(int)
    blocks = tuple(
        (i, slice(int(a), int(b))) for i, (a, b) in enumerate(pairwise(edges))
    )
    return Draws(n=n_draws, seed=seed, blocks=blocks, person_frac=person_frac)


class DrawnArm:
    """Capability and demand of one arm under many draws, on a 1 degree grid.

    What variants share (all muscles that do not cross the shoulder) is computed
    once per forearm rotation.

    Parameters
    ----------
    draws : Draws
        The parameters.
    body : Body
        Segment lengths and masses.
    shape : str
        ``peaked``, ``flat`` or ``inverted``.
    """

    def __init__(self, draws: Draws, *, body: Body, shape: str = "peaked") -> None:
        self.draws = draws
        self.body = body
        self.shape = shape
        self._one_joint: dict[float, Single] = {}

    def _add_muscle(
        self,
        total: Single,
        block: tuple[int, slice],
        index: int,
        *,
        shoulder_deg: NDArray[np.float64],
        rotation_deg: float,
        lean: Single | None,
    ) -> None:
        """Add one muscle's moment to a block of draws, in place."""
        muscles, curve = STRUCTURES[block[0]]
        mine = block[1]
        muscle = muscle_set(muscles)[index]
        draws = self.draws
        arm = draws.factor(f"moment_arm.{muscle.arm_group}")[mine]
        optimal = draws.factor(f"optimal_fibre.{muscle.name}")[mine]
        slack = draws.factor(f"tendon_slack.{muscle.name}")[mine]
        force = draws.factor(f"peak_force.{muscle.name}")[mine]
        # stretch = (anchor + lean * slope - arm * excursion - slack) / optimal,
        # a product of two thin matrices.
        step = STRETCH[1] - STRETCH[0]
        left = np.hstack(
            [
                np.ones_like(arm),
                -arm,
                -slack,
                np.zeros_like(arm) if lean is None else lean[mine],
            ]
        ) / (optimal * np.float32(muscle.optimal_m * step))
        right = _length_parts(muscle, shoulder_deg, rotation_deg)
        place = left @ right
        np.rint(place, out=place)
        table = force_table(muscles, curve, self.shape, index).astype(np.float32)
        moment = np.take(table, place.astype(np.int32), mode="clip")
        moment *= arm * force * np.float32(muscle.peak_force_n)
        moment *= muscle.moment_arm_m(GRID_DEG, rotation_deg).astype(np.float32)
        total[mine] += moment

    def capability_nm(self, variant: Variant) -> Single:
        """Moment of all flexors, shape (n, 141)."""
        rotation = variant.rotation_deg
        if rotation not in self._one_joint:
            self._one_joint[rotation] = self._sum(rotation, None)
        total = self._one_joint[rotation] + self._sum(rotation, variant)
        if rotation < 0:
            total *= self._grip(rotation)
        return total * self._profile()

    def _profile(self) -> Single:
        """Departure of the moment arm's dependence on elbow angle, (n, 141)."""
        logs = sum(
            self.draws.departure(name) * form.astype(np.float32)
            for name, form in _PROFILES.items()
        )
        return np.exp(logs)

    def _sum(self, rotation_deg: float, variant: Variant | None) -> Single:
        """Sum over muscles that do (with a variant) or do not cross the shoulder."""
        total = np.zeros((self.draws.n, GRID_DEG.size), dtype=np.float32)
        lean, shoulder = None, np.zeros_like(GRID_DEG)
        if variant is not None:
            lean = self.draws.departure(f"shoulder_deg@{variant.variant}")
            shoulder = variant.shoulder_deg(GRID_DEG)
        for block in self.draws.blocks:
            for i, muscle in enumerate(muscle_set(STRUCTURES[block[0]][0])):
                if (muscle.shoulder_m is not None) == (variant is not None):
                    self._add_muscle(
                        total,
                        block,
                        i,
                        shoulder_deg=shoulder,
                        rotation_deg=rotation_deg,
                        lean=lean,
                    )
        return total

    def _grip(self, rotation_deg: float) -> Single:
        factor = np.empty((self.draws.n, 1), dtype=np.float32)
        for index, mine in self.draws.blocks:
            factor[mine] = pronated_factor(*STRUCTURES[index], self.shape)
        factor *= self.draws.factor("grip")
        share = np.float32(-rotation_deg / 90.0)
        return 1 + share * (factor - 1)

    def levers(self, variant: Variant) -> tuple[Single, Single]:
        """Lever of the load and own weight moment, each (n, 141)."""
        assert variant.resistance is not None
        draws, body, name = self.draws, self.body, variant.variant
        elbow = np.deg2rad(GRID_DEG).astype(np.float32)
        path = np.deg2rad(variant.shoulder_deg(GRID_DEG) - variant.trunk_deg)
        off_path = draws.departure(f"posture_deg@{variant.path}")
        off_path = off_path + draws.departure(f"arm_deg@{name}")
        arm = path.astype(np.float32) + np.deg2rad(off_path)
        size = draws.factor("lever")
        anchored = variant.resistance.kind in {"cable", "band"}
        lever = resistance_lever(
            elbow,
            arm_rad=arm,
            resistance=variant.resistance,
            upper_arm_m=np.float32(body.length_m["upper_arm"]),
            grip_m=np.float32(body.grip_m) * size,
            shoulder_height_m=np.float32(shoulder_height_m(body, variant.trunk_deg)),
            forward_m=draws.departure(f"anchor_forward@{name}") if anchored else 0.0,
            up_m=draws.departure(f"anchor_up@{name}") if anchored else 0.0,
            slack=draws.factor(f"slack@{name}") if anchored else 1.0,
        )
        own = np.sin(elbow + arm)
        own *= np.float32(
            STANDARD_GRAVITY_M_PER_S2 * body.forearm_and_hand_kg_m
        ) * draws.factor("forearm_and_hand")
        return np.broadcast_to(lever, own.shape), own


def _length_parts(
    muscle: Muscle, shoulder_deg: NDArray[np.float64], rotation_deg: float
) -> Single:
    """Rows that a draw mixes into a muscle's stretch: (4, 141), in m."""
    anchor = muscle.anchor_length_m(shoulder_deg, rotation_deg)
    slope = np.zeros_like(anchor)
    if muscle.shoulder_m is not None:
        slope = np.asarray(muscle.shoulder_m.derivative()(shoulder_deg))
    return np.stack(
        [
            anchor,
            muscle.excursion_m(GRID_DEG, rotation_deg),
            np.full_like(anchor, muscle.slack_m),
            slope,
        ]
    ).astype(np.float32)
