"""Draws of uncertain parameters.

A draw is one person's departure from the published parameters under one muscle
set and one curve: the departure of a population, which measured people can weigh
(`analytics.mechanics.weighing`), and that of a person from it, which they cannot.
"""

from __future__ import annotations

import math
import zlib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import cache
from itertools import pairwise, product

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from analytics.catalogue import Joint, load_catalogue
from analytics.errors import InputError
from analytics.mechanics.curves import CURVES

Single = NDArray[np.float32]

# One set of draws for every page, table and command, so that all show one interval.
N_DRAWS, SEED = 1500, 1
PIECE = 512  # draws at a time
Block = tuple[int, slice]  # index into the structures, and the draws that use it
# What differs from person to person, and so less for the mean of a cohort.
PERSONAL = (
    "peak_force",
    "optimal_fibre",
    "tendon_slack",
    "forearm_and_hand",
    "grip_distance",
    "posture_deg",
    "arm_deg",
    "shoulder_deg",
    "personal_angle",
    "torque_peak",
    "torque_width",
)
# What a curve of strength by angle depends on, and so what measured curves speak of.
STRENGTH = (
    "moment_arm",
    "profile_tilt",
    "profile_straight",
    "peak_force",
    "optimal_fibre",
    "tendon_slack",
    "optimal_angle",
    "own_angle",
    "personal_angle",
)


def structures(joint: Joint) -> tuple[tuple[str, str], ...]:
    """Every published muscle set with every curve.

    Parameters
    ----------
    joint : Joint
        Whose muscle sets.

    Returns
    -------
    structures : tuple of (str, str)
        Muscle set and curve.
    """
    return tuple(product(joint.muscle_sets, CURVES))


@cache
def spread(parameter: str) -> float:
    """One standard deviation of a parameter, by the name a draw gives it."""
    kind = parameter.split(".")[0].split("@")[0]
    if kind == "moment_arm":
        return _moment_arm_spread(parameter.split(".")[1])
    kind = {"anchor_forward": "anchor_m", "anchor_up": "anchor_m"}.get(kind, kind)
    return float(load_catalogue().spreads[kind].sd)


def _is_one_of(parameter: str, kinds: tuple[str, ...]) -> bool:
    return parameter.split(".")[0].split("@")[0] in kinds


def _moment_arm_spread(group: str) -> float:
    """Spread of the logarithm between publications at 90 degrees, or the least one."""
    table = load_catalogue().tables["moment_arm_at_90"]
    logs = np.log(table.numbers("moment_arm"))[
        np.array(table.columns["muscle"]) == group
    ]
    least = float(load_catalogue().spreads["moment_arm"].sd)
    return max(least, float(np.std(logs, ddof=1))) if len(logs) > 1 else least


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Draws:
    """Standard normal departures, each parameter on a stream of its own.

    Attributes
    ----------
    n : int
        Number of draws.
    seed : int or None
        Same seed, same draws, whatever is asked for; None means no departure.
    structures : tuple of (str, str)
        Muscle sets and curves.
    blocks : tuple of (int, slice)
        Index into ``structures`` and the draws that use it.
    fixed : mapping of str to ndarray
        Departures set by hand, shape (n,), in standard deviations.
    person_frac : float
        Factor on the spreads between persons: 1 for one lifter, less for a mean.
    pool : Draws or None
        Populations, of which ``picked`` names one per draw; None draws them freely.
    picked : ndarray of int or None, shape (n,)
        Rows of ``pool``.
    drawn : dict of str to ndarray
        Departures and factors drawn so far.
    """

    n: int
    seed: int | None
    structures: tuple[tuple[str, str], ...]
    blocks: tuple[Block, ...]
    fixed: Mapping[str, Single] = field(default_factory=dict)
    person_frac: float = 1.0
    pool: Draws | None = None
    picked: NDArray[np.intp] | None = None
    drawn: dict[str, Single] = field(default_factory=dict)

    def pieces(self) -> Iterator[Block]:
        """Blocks cut small enough for a processor's cache."""
        for structure, mine in self.blocks:
            for start in range(mine.start, mine.stop, PIECE):
                yield structure, slice(start, min(start + PIECE, mine.stop))

    def _normal(self, parameter: str) -> Single:
        """Departures in standard deviations, shape (n,)."""
        if parameter in self.fixed:
            return self.fixed[parameter]
        if self.seed is None:
            return np.zeros(self.n, dtype=np.float32)
        key = [self.seed, zlib.crc32(parameter.encode())]
        stream = np.random.default_rng(key)
        return stream.standard_normal(self.n, dtype=np.float32)

    def share(self, parameter: str) -> Single:
        """Place of a parameter between bounds, flat from 0 to 1, shape (n,)."""
        return np.asarray(ndtr(self._normal(parameter)), dtype=np.float32)

    def departure(self, parameter: str) -> Single:
        """Departure of one parameter in its own unit, shape (n, 1)."""
        if parameter not in self.drawn:
            share = self.person_frac if _is_one_of(parameter, PERSONAL) else 1.0
            z = np.float32(share) * self._normal(parameter)
            if self.pool is not None and _is_one_of(parameter, STRENGTH):
                common = 1.0
                if _is_one_of(parameter, PERSONAL):
                    common = min(share, self.pool.person_frac)
                own = math.sqrt(share**2 - common**2)
                z = np.float32(common) * self.pool._normal(parameter)[self.picked]
                z += np.float32(own) * self._normal(parameter)
            self.drawn[parameter] = z[:, None] * np.float32(spread(parameter))
        return self.drawn[parameter]

    def factor(self, parameter: str) -> Single:
        """Proportional departure of one parameter, shape (n, 1)."""
        key = f"factor of {parameter}"
        if key not in self.drawn:
            self.drawn[key] = np.exp(self.departure(parameter))
        return self.drawn[key]


def make_draws(
    n_draws: int, *, joint: Joint, seed: int | None, person_frac: float = 1.0
) -> Draws:
    """Draw parameters freely, equally over muscle sets and curves.

    Parameters
    ----------
    n_draws : int
        At least one per structure.
    joint : Joint
        Whose muscle sets.
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
    among = structures(joint)
    if n_draws < len(among):
        raise InputError(
            f"n_draws must be {len(among)} or more, one for each muscle set and "
            f"curve, got {n_draws}"
        )
    edges = np.linspace(0, n_draws, len(among) + 1).round().astype(int)
    return Draws(
        n=n_draws,
        seed=seed,
        structures=among,
        blocks=tuple(
            (i, slice(int(a), int(b))) for i, (a, b) in enumerate(pairwise(edges))
        ),
        person_frac=person_frac,
    )
