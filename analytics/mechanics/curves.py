"""Force-length curves of muscle and tendon, and the balance between the two.

Lengths are over optimal fibre length, forces over peak isometric force. Three
published active curves are kept apart; the tendon is the muscle sets' own.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.interpolate import PchipInterpolator

from analytics.catalogue import load_catalogue
from analytics.errors import InputError

Floats = NDArray[np.float64]

CURVES = ("thelen", "millard", "de_groote")
PLATEAU = 0.95  # share of the curve's peak from which a fibre counts as optimal


@cache
def _parameters(curve: str) -> dict[str, float]:
    if curve not in CURVES:
        raise InputError(f"no curve {curve!r}; there are: {', '.join(CURVES)}")
    table = load_catalogue().tables["curve_parameters"]
    rows = zip(
        table.columns["curve"],
        table.columns["parameter"],
        table.numbers("value"),
        strict=True,
    )
    return {name: float(value) for owner, name, value in rows if owner == curve}


@cache
def _millard(part: str) -> PchipInterpolator:
    table = load_catalogue().tables["force_length_millard"]
    return PchipInterpolator(table.numbers("length"), table.numbers(part))


def active_force(length: ArrayLike, *, curve: str) -> Floats:
    """Active force of a fully activated, isometric muscle by fibre length.

    Parameters
    ----------
    length : array_like, shape (...)
        Fibre length over optimal fibre length. [1]
    curve : str
        ``thelen``, ``millard`` or ``de_groote``.

    Returns
    -------
    force : ndarray, shape (...)
        Over peak isometric force. [1]

    Raises
    ------
    InputError
        If there is no such curve.

    Notes
    -----
    Thelen: ``exp(-(l - 1)^2 / 0.45)``. De Groote: a sum of three
    ``b1 exp(-(l - b2)^2 / (2 (b3 + b4 l)^2))``. Millard: monotone cubic through
    values of the published spline every 0.05, held beyond 0.30 and 1.80.

    References
    ----------
    thelen_2003; millard_2013; de_groote_2016.
    """
    given = _parameters(curve)
    x = np.asarray(length, dtype=float)
    if curve == "thelen":
        return np.exp(-((x - 1) ** 2) / given["active_width"])
    if curve == "millard":
        return np.asarray(_millard("active")(np.clip(x, 0.30, 1.80)))
    total = np.zeros_like(x)
    for i in (1, 2, 3):
        b1, b2, b3, b4 = (given[f"b{j}{i}"] for j in (1, 2, 3, 4))
        total += b1 * np.exp(-((x - b2) ** 2) / (2 * (b3 + b4 * x) ** 2))
    return total


def zone(fibre_length: ArrayLike, *, curve: str) -> np.ndarray:
    """Name the part of the active curve a fibre works on.

    Parameters
    ----------
    fibre_length : array_like, shape (...)
        Over optimal fibre length. [1]
    curve : str
        ``thelen``, ``millard`` or ``de_groote``.

    Returns
    -------
    zone : ndarray of str, shape (...)
        ``plateau`` where the active force is at least 0.95 of the curve's
        greatest, ``ascending`` below it, ``descending`` above; empty for NaN.
    """
    length = np.asarray(fibre_length, dtype=float)
    grid = np.linspace(0.3, 1.8, 1501)
    force = active_force(grid, curve=curve)
    plateau = grid[force >= PLATEAU * force.max()]
    return np.select(
        [np.isnan(length), length < plateau[0], length > plateau[-1]],
        ["", "ascending", "descending"],
        "plateau",
    )


def passive_force(length: ArrayLike, *, curve: str) -> Floats:
    """Force of a stretched, resting muscle by fibre length.

    Parameters
    ----------
    length : array_like, shape (...)
        Fibre length over optimal fibre length. [1]
    curve : str
        ``thelen``, ``millard`` or ``de_groote``.

    Returns
    -------
    force : ndarray, shape (...)
        Over peak isometric force; 0 below optimal length. [1]

    Raises
    ------
    InputError
        If there is no such curve.

    References
    ----------
    thelen_2003; millard_2013; de_groote_2016.
    """
    given = _parameters(curve)
    x = np.asarray(length, dtype=float)
    if curve == "millard":
        return np.asarray(_millard("passive")(np.clip(x, 0.30, 1.80)))
    k, strain = given["passive_shape"], given["passive_strain"]
    return np.asarray(np.maximum(np.expm1(k * (x - 1) / strain) / np.expm1(k), 0.0))


def tendon_strain(force: ArrayLike) -> Floats:
    """Stretch of the tendon over its slack length by the force in it.

    Parameters
    ----------
    force : array_like, shape (...)
        Over peak isometric force of the muscle, 0 or more. [1]

    Returns
    -------
    strain : ndarray, shape (...)
        Length over slack length, less one. [1]

    Notes
    -----
    Exponential toe to a third of peak force, then linear; 3.3 percent at peak
    force. One tendon for all three curves: both muscle sets were built with it,
    and their slack lengths mean nothing without it.

    References
    ----------
    thelen_2003.
    """
    given = _parameters("thelen")
    f = np.maximum(np.asarray(force, dtype=float), 0.0)
    full, toe_force = given["tendon_strain"], given["toe_force"]
    toe, shape = full * given["toe_strain_over_strain"], given["toe_shape"]
    low = np.log1p(f * np.expm1(shape) / toe_force) * toe / shape
    high = toe + (f - toe_force) * full / given["stiffness_times_strain"]
    return np.where(f < toe_force, low, high)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Equilibrium:
    """Isometric balance of fibre and tendon, tabulated by muscle-tendon length.

    Attributes
    ----------
    stretch : ndarray, shape (n,)
        (Muscle-tendon length - tendon slack length) / optimal fibre length. [1]
    fibre, active, passive : ndarray, shape (n,)
        Fibre length over optimal, and the forces along the tendon. [1]
    """

    stretch: Floats
    fibre: Floats
    active: Floats
    passive: Floats


STRETCH = np.linspace(0.0, 2.5, 12501)


@cache
def equilibrium(
    *, slack_over_optimal: float, pennation_rad: float, curve: str, rigid: bool = False
) -> Equilibrium:
    """Balance of fibre and tendon over all muscle-tendon lengths.

    Parameters
    ----------
    slack_over_optimal : float
        Tendon slack length over optimal fibre length. [1]
    pennation_rad : float
        At optimal fibre length; the muscle's thickness stays. [rad]
    curve : str
        ``thelen``, ``millard`` or ``de_groote``.
    rigid : bool
        True leaves the tendon at its slack length, to measure what that costs.

    Returns
    -------
    table : Equilibrium
        On a fixed grid of stretch.

    Notes
    -----
    The force in the tendon is known once the fibre length is, so the table is
    made from fibre length forward, ``stretch = l cos(a) + (slack / optimal) *
    strain(force)``, and read backward: no root finding.
    """
    thickness = np.sin(pennation_rad)
    fibre = np.linspace(max(thickness * 1.001, 1e-3), 2.6, 8001)
    along = np.sqrt(np.maximum(1 - (thickness / fibre) ** 2, 0.0))
    active = active_force(fibre, curve=curve) * along
    passive = passive_force(fibre, curve=curve) * along
    stretch = fibre * along
    if not rigid:
        strain = tendon_strain(active + passive)
        stretch = stretch + slack_over_optimal * strain
    if np.any(np.diff(stretch) <= 0):
        raise InputError(
            f"a tendon {slack_over_optimal:.1f} times the fibre has no single balance"
        )
    return Equilibrium(
        stretch=STRETCH,
        fibre=np.interp(STRETCH, stretch, fibre),
        active=np.interp(STRETCH, stretch, active),
        passive=np.interp(STRETCH, stretch, passive),
    )
