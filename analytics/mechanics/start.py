"""How a heavy lift is begun, and what speed costs, by the catalogue."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from analytics.catalogue import load_catalogue


@cache
def start_bounds() -> dict[str, tuple[float, float]]:
    """Least and greatest of what a heavy lift is begun with.

    Returns
    -------
    bounds : dict of str to (float, float)
        ``rise`` [s], ``greatest_velocity`` [optimal lengths/s], ``top_speed`` [m/s],
        ``between, heavy, failed`` [1], by the catalogue's table.
    """
    table = load_catalogue().tables["lift_start"]
    ends = zip(table.numbers("low"), table.numbers("high"), strict=True)
    return {
        name: (float(low), float(high))
        for name, (low, high) in zip(table.columns["parameter"], ends, strict=True)
    }


@cache
def force_velocity_parameters() -> tuple[float, ...]:
    """Return d1 to d4 of `force_velocity`."""
    table = load_catalogue().tables["rep_dynamics"]
    value = dict(zip(table.columns["parameter"], table.numbers("value"), strict=True))
    return tuple(float(value[f"d{i}"]) for i in (1, 2, 3, 4))


def force_velocity(velocity: Any) -> Any:
    r"""Force of an active fibre by its speed of lengthening.

    Parameters
    ----------
    velocity : array_like, shape (...)
        Lengthening positive, over the greatest shortening velocity. [1]

    Returns
    -------
    force : ndarray, shape (...)
        Over the isometric force, never negative, 1 at rest. [1]

    Notes
    -----
    .. math:: f = d_1 \ln(u + \sqrt{u^2 + 1}) + d_4, \quad u = d_2 v + d_3

    The printed digits give 1.002 at rest; it is divided by that, so that a lift that
    slows to rest finds the strength of a hold.

    References
    ----------
    de_groote_2016.
    """
    d1, d2, d3, d4 = force_velocity_parameters()
    at_rest = float(d1 * np.arcsinh(d3) + d4)
    u = d2 * np.asarray(velocity) + d3
    return np.maximum(d1 / at_rest * np.arcsinh(u) + d4 / at_rest, 0)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Start:
    """How a heavy lift is begun; see `start_bounds`.

    Attributes
    ----------
    rise, greatest_velocity, top_speed : ndarray, shape (n or 1,)
        [s], [optimal lengths/s], [m/s]
    between : ndarray, shape (n or 1,)
        Where a logged maximum lies, 0 held to 1 moving. [1]
    heavy, failed : ndarray, shape (n or 1,)
        Load of a heavy lift and of one that stalls, over the heaviest. [1]
    """

    rise: NDArray[Any]
    greatest_velocity: NDArray[Any]
    top_speed: NDArray[Any]
    between: NDArray[Any]
    heavy: NDArray[Any]
    failed: NDArray[Any]


def drawn_start(share: Callable[[str], NDArray[Any]]) -> Start:
    """Take a start between its bounds.

    Parameters
    ----------
    share : callable
        From the name of a parameter to its place between the bounds, 0 to 1.

    Returns
    -------
    start : Start
    """
    return Start(
        **{
            name: low + share(name) * (high - low)
            for name, (low, high) in start_bounds().items()
        }
    )
