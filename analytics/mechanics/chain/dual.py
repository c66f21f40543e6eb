r"""Largest load a posture can hold, exact, by the vertices of the dual programme.

Maximise w so that every free joint is balanced: what muscles and joint torques give
equals :math:`Q_0 + w Q_1`. The dual has one unknown a joint, so that its vertices can
be listed and all postures and draws be worked out at once.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Any

import numpy as np
from numpy.typing import NDArray

from analytics.errors import InputError

_NOTHING = 1e-12  # a price of the load smaller than this is none
_SHORT = 1e-9  # of the moments involved; a lack smaller than this is rounding

Vector = tuple[Any, ...]  # one number or array a joint; the float 0.0 where none


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Largest:
    """Largest load and what stops a larger one.

    Attributes
    ----------
    load : ndarray, shape (...)
        In the unit ``per_load_nm`` counts; infinite where nothing limits it, minus
        infinity where no load at all can be held.
    vertex : ndarray of int, shape (...)
        Which of ``prices`` limits.
    prices : tuple of tuple
        What one more newton metre at each joint would add to the load, by vertex.
    """

    load: NDArray[Any]
    vertex: NDArray[np.intp]
    prices: tuple[Vector, ...]

    def price(self) -> NDArray[np.float64]:
        """Price by joint, shape (n_joints, ...)."""
        every = np.array(
            [[np.broadcast_to(u, self.load.shape) for u in p] for p in self.prices]
        )
        return np.take_along_axis(every, self.vertex[None, None], 0)[0]

    def joint(self, per_load_nm: Sequence[Any]) -> NDArray[np.intp]:
        """Joint that limits: the one with the largest share of the load's price."""
        asked = np.stack(np.broadcast_arrays(*per_load_nm))
        share = np.abs(np.where(asked == 0, 0.0, self.price()) * asked)
        return np.asarray(np.argmax(share, axis=0))

    def full(self, arms_m: Sequence[Sequence[Any]]) -> NDArray[np.bool_]:
        """Muscles driven fully, shape (n_muscles, ...)."""
        price = self.price()
        driven = [_dot(tuple(price), tuple(arm)) > 0 for arm in arms_m]
        return np.array(driven, dtype=bool)


def largest_load(
    own_nm: Sequence[Any],
    per_load_nm: Sequence[Any],
    *,
    least_nm: Sequence[Any],
    most_nm: Sequence[Any],
    arms_m: Sequence[Sequence[Any]] = (),
    forces_n: Sequence[Any] = (),
) -> Largest:
    r"""Largest load that joint torques and muscles hold at every free joint.

    Parameters
    ----------
    own_nm : sequence of array_like, one a joint, shapes (...)
        Moment asked without the load, less what stretched muscles give. [N m]
    per_load_nm : sequence of array_like, one a joint, shapes (...)
        Moment asked by one unit of load. [N m]
    least_nm, most_nm : sequence of array_like, one a joint, shapes (...)
        What muscles of that joint alone can give, the other way negative; infinite
        only as a float. [N m]
    arms_m : sequence of sequences of array_like, by muscle and joint
        Moment arms of muscles that cross several joints. [m]
    forces_n : sequence of array_like, one a muscle, shapes (...)
        Largest active force of each. [N]

    Returns
    -------
    largest : Largest
        Load and limiting prices.

    Raises
    ------
    InputError
        If there are no joints or more than three.

    Notes
    -----
    .. math:: w^* = \min_{u \cdot Q_1 = 1} \sum_j \max(u_j T_j^+, u_j T_j^-)
              + \sum_i F_i \max(0, u \cdot R_i) - u \cdot Q_0

    The function is convex and straight between the planes where a component of u, or
    its product with a muscle's arms, changes sign; so its least value lies where as
    many of them meet as there are joints less one. If it falls for ever along one of
    their lines, no load can be held.
    """
    n = len(own_nm)
    if not 1 <= n <= 3:
        raise InputError(f"own_nm must speak of one to three joints, got {n}")
    if not len(arms_m):
        with np.errstate(divide="ignore", invalid="ignore"):
            return _one_by_one(own_nm, per_load_nm, least_nm, most_nm)
    asked = (tuple(own_nm), tuple(per_load_nm))
    given = (tuple(least_nm), tuple(most_nm), tuple(map(tuple, arms_m)), forces_n)
    axes = [tuple(1.0 if j == k else 0.0 for j in range(n)) for k in range(n)]
    planes = [*axes, *given[2]]
    parts = (*own_nm, *per_load_nm, *least_nm, *most_nm, *forces_n)
    shape = np.broadcast_shapes(
        *map(np.shape, parts), *(np.shape(r) for arm in arms_m for r in arm)
    )
    kind = np.result_type(np.float32, *(np.asarray(p).dtype for p in per_load_nm))
    load = np.full(shape, np.inf, dtype=kind)
    vertex, prices = np.zeros(shape, dtype=np.intp), []
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        for place, way in enumerate(_meetings(planes, n)):
            value, price = _at_vertex(way, asked, given)
            prices.append(price)
            better = value < load
            load = np.where(better, value, load)
            if place:
                vertex = np.where(better, place, vertex)
        for way in _rays(tuple(per_load_nm), planes, n):
            load = np.where(_falls(way, asked[0], given), -np.inf, load)
    return Largest(load=load.astype(kind), vertex=vertex, prices=tuple(prices))


def _one_by_one(
    own_nm: Sequence[Any],
    per_load_nm: Sequence[Any],
    least_nm: Sequence[Any],
    most_nm: Sequence[Any],
) -> Largest:
    """No muscle joins two joints: each allows loads from a lowest to a highest."""
    n = len(own_nm)
    prices, highs, low = [], [], None
    for j in range(n):
        price = 1.0 / (np.asarray(per_load_nm[j]) + 0.0)  # no minus zero
        ends = (most_nm[j] - own_nm[j]) * price, (least_nm[j] - own_nm[j]) * price
        highs.append(np.maximum(*ends))
        if n > 1 and not _unlimited(least_nm[j]):
            mine = np.minimum(*ends)
            low = mine if low is None else np.maximum(low, mine)
        prices.append(tuple(price if k == j else 0.0 for k in range(n)))
    load, vertex = highs[0], np.zeros(np.shape(highs[0]), dtype=np.intp)
    for j in range(1, n):
        vertex = np.where(highs[j] < load, j, vertex)
        load = np.minimum(load, highs[j])
    if low is not None:
        load = np.where(low > load, -np.inf, load)
    return Largest(load=np.asarray(load), vertex=vertex, prices=tuple(prices))


def _meetings(planes: Sequence[Vector], n: int) -> Iterator[Vector]:
    """Directions along which ``n`` - 1 of the planes meet."""
    for some in combinations(planes, n - 1):
        yield _across(some, n)


def _rays(per_load: Vector, planes: Sequence[Vector], n: int) -> Iterator[Vector]:
    """Directions of no price for the load, along which ``n`` - 2 planes meet."""
    if n == 1:
        none = np.where(np.abs(per_load[0]) <= _NOTHING, 1.0, 0.0)
        ways: list[Vector] = [(none,)] if np.any(none) else []
    else:
        ways = [_across((per_load, *some), n) for some in combinations(planes, n - 2)]
    for way in ways:
        yield way
        yield tuple(-part for part in way)


def _across(some: Sequence[Vector], n: int) -> Vector:
    """Direction at right angles to ``n`` - 1 vectors."""
    if n == 1:
        return (1.0,)
    if n == 2:
        ((a, b),) = some
        return (_product(-1.0, b), a)
    (a, b, c), (d, e, f) = some
    return (
        _less(_product(b, f), _product(c, e)),
        _less(_product(c, d), _product(a, f)),
        _less(_product(a, e), _product(b, d)),
    )


def _unlimited(x: Any) -> bool:
    return isinstance(x, float) and math.isinf(x)


def _none(x: Any) -> bool:
    return isinstance(x, float) and x == 0.0


def _product(a: Any, b: Any) -> Any:
    return 0.0 if _none(a) or _none(b) else a * b


def _less(a: Any, b: Any) -> Any:
    return a if _none(b) else a - b


def _dot(a: Vector, b: Vector) -> Any:
    terms = [x * y for x, y in zip(a, b, strict=True) if not (_none(x) or _none(y))]
    return sum(terms[1:], terms[0]) if terms else 0.0


def _at_vertex(way: Vector, asked: Any, given: Any) -> tuple[Any, Vector]:
    """Value of the dual where the way has price 1, infinite where it has none."""
    own, per_load = asked
    scale = _dot(way, per_load)
    priced = np.abs(scale) > _NOTHING
    price = tuple(part if _none(part) else part / scale for part in way)
    value = _given(price, given) - _dot(price, own)
    return np.where(priced & ~np.isnan(value), value, np.inf), price


def _given(price: Vector, given: Any) -> Any:
    """Worth of all that muscles and torques can give at a price."""
    least, most, arms, forces = given
    total: Any = 0.0
    for u, low, high in zip(price, least, most, strict=True):
        if not _none(u):
            total = total + _worth(u, high) + _worth(-u, _product(-1.0, low))
    for arm, force in zip(arms, forces, strict=True):
        total = total + _worth(_dot(price, arm), force)
    return total


def _worth(u: Any, force: Any) -> Any:
    """Force at a positive price; an unlimited one has no price of its own."""
    if _unlimited(force):
        return np.where(np.asarray(u) > 0, np.inf, 0.0)
    return np.maximum(u, 0.0) * force


def _falls(way: Vector, own: Vector, given: Any) -> Any:
    """Whether the dual falls for ever along a way."""
    asked, most = _dot(way, own), _given(way, given)
    size = np.abs(asked) + np.where(np.isinf(most), 0.0, np.abs(most))
    return most - asked < -_SHORT * size
