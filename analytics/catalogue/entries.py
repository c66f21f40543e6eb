"""What a catalogue holds once it has been read and checked."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, fields
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike, NDArray

from analytics.catalogue.tables import Spread, Table
from analytics.errors import InputError

# Kind of resistance: numbers it needs; a table is checked apart.
RESISTANCES = {
    "gravity": (),
    "cable": ("anchor_forward_m", "anchor_height_m"),
    "band": ("anchor_forward_m", "anchor_height_m", "slack_m"),
    "constant": ("lever_m",),
    "cam": (),
}


def is_number(value: object) -> bool:
    """Tell whether a value of a data file is a finite number."""
    return (
        isinstance(value, int | float)
        and not isinstance(value, bool)
        and math.isfinite(value)
    )


def pairs(value: object) -> tuple[tuple[float, float], ...] | None:
    """Knots with strictly increasing first numbers, or None."""
    if not isinstance(value, list | tuple) or len(value) < 2:
        return None
    for pair in value:
        if not (
            isinstance(pair, list | tuple)
            and len(pair) == 2
            and all(map(is_number, pair))
        ):
            return None
    if any(b[0] <= a[0] for a, b in pairwise(value)):
        return None
    return tuple((float(a), float(b)) for a, b in value)


def resistance_problem(value: object) -> str | None:
    """Say what is wrong with a resistance given by its fields, or None."""
    kinds = ", ".join(RESISTANCES)
    if not isinstance(value, Mapping) or value.get("kind") not in RESISTANCES:
        return f"expected a table with kind one of {kinds}"
    kind = value["kind"]
    for name in RESISTANCES[kind]:
        if not is_number(value.get(name)):
            return f"a {kind} needs the number `{name}`"
        if name != "anchor_forward_m" and value[name] < 0:
            return f"`{name}` must be 0 or more, got {value[name]:g}"
    if kind == "band" and value["slack_m"] == 0:
        return "`slack_m` must be more than 0"
    if (kind == "cam" or "table" in value) and pairs(value.get("table")) is None:
        return f"a {kind} table needs two or more pairs with rising first numbers"
    unknown = set(value) - {"kind", "table", *RESISTANCES[kind]}
    if unknown:
        return f"unknown `{min(unknown)}`; a {kind} takes {RESISTANCES[kind]}"
    return None


@dataclass(frozen=True, slots=True, kw_only=True)
class Movement:
    """A family of variants whose strength can be compared.

    Attributes
    ----------
    movement : str
        Identifier.
    title : str
        Name on screens.
    reference : str or None
        Variant the ratios are given against, if the movement has one.
    """

    movement: str
    title: str
    reference: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Resistance:
    """Where the external load pulls, and how its pull changes.

    Attributes
    ----------
    kind : str
        ``gravity``, ``cable``, ``band``, ``constant`` or ``cam``.
    anchor_forward_m : float
        Pulley or band anchor ahead of the shoulder joint, behind is negative. [m]
    anchor_height_m : float
        Pulley or band anchor above the floor. [m]
    slack_m : float
        Length at which a band begins to pull. [m]
    lever_m : float
        Lever of a machine whose moment does not change. [m]
    table : tuple of (float, float)
        Cam: elbow angle [deg] and lever [m]. Band: elongation as a fraction of
        the slack length and tension as a fraction of the rated tension.

    Raises
    ------
    InputError
        If the kind does not exist, or a length or table it needs is missing or
        impossible.
    """

    kind: str
    anchor_forward_m: float = math.nan
    anchor_height_m: float = math.nan
    slack_m: float = math.nan
    lever_m: float = math.nan
    table: tuple[tuple[float, float], ...] = ()

    def __post_init__(self) -> None:
        """Refuse what cannot pull."""
        values = {field.name: getattr(self, field.name) for field in fields(self)}
        kept = {"kind", *RESISTANCES.get(self.kind, ())} | (
            {"table"} if self.table else set()
        )
        if problem := resistance_problem(
            {k: v for k, v in values.items() if k in kept}
        ):
            raise InputError(f"resistance: {problem}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Variant:
    """One way of doing a movement: posture, implement and resistance.

    Attributes
    ----------
    variant, movement, title : str
        Identifier, family and name on screens.
    modelled : bool
        False means logged only: no posture, no mechanics.
    implement : str
        ``bar``, ``dumbbell``, ``cable``, ``band``, ``machine`` or ``body``.
    arms : int
        Arms that work at once.
    load_convention : str
        ``total`` or ``per_hand``: what the logged load counts.
    arms_share : float
        The logged load divided by this is the load per working arm. [1]
    body_share : float
        Fraction of body mass lifted as well. [1]
    trunk_deg : float
        Trunk from vertical, forward lean positive. [deg]
    path : tuple of (float, float)
        Knots of elbow angle and shoulder angle, straight lines between. [deg]
    rotation_deg : float
        Forearm, +90 supinated, 0 neutral, -90 pronated. [deg]
    support, stance : str
        What holds the upper arm; how the body stands or sits.
    resistance : Resistance or None
        None where not modelled.
    range_from_deg, range_to_deg : float
        First and last elbow angle when a log does not say. [deg]
    pad_deg, bench_deg : float
        Pad from the hanging upper arm; bench back from horizontal. NaN where
        there is none. [deg]
    kind : str
        Evidence for posture and path: ``measured``, ``pooled``, ``fitted``,
        ``predicted`` or ``assumed``.
    source : str
        Key in ``sources.toml``.
    note : str
        Where the path comes from, and what to know.
    """

    variant: str
    movement: str
    title: str
    modelled: bool
    implement: str
    arms: int
    load_convention: str
    arms_share: float
    body_share: float
    trunk_deg: float
    path: tuple[tuple[float, float], ...]
    rotation_deg: float
    support: str
    stance: str
    resistance: Resistance | None
    range_from_deg: float
    range_to_deg: float
    pad_deg: float
    bench_deg: float
    kind: str
    source: str
    note: str

    def shoulder_deg(self, elbow_deg: ArrayLike) -> NDArray[np.float64]:
        """Shoulder angle on the posture path.

        Parameters
        ----------
        elbow_deg : array_like, shape (...)
            Elbow angle. [deg]

        Returns
        -------
        shoulder_deg : ndarray, shape (...)
            Held at the end knots outside them. [deg]
        """
        elbow, shoulder = np.array(self.path, dtype=float).T
        return np.interp(np.asarray(elbow_deg, dtype=float), elbow, shoulder)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Catalogue:
    """Everything the data files hold.

    Attributes
    ----------
    variants : dict of str to Variant
        By identifier.
    movements : dict of str to Movement
        By identifier.
    exercise_names : dict of str to str
        Normalised exercise name to variant identifier.
    sources : dict of str to dict
        Publications and other origins by key.
    tables : dict of str to Table
        Published parameter tables by file name.
    spreads : dict of str to Spread
        Uncertainty of each parameter.
    """

    variants: dict[str, Variant]
    movements: dict[str, Movement]
    exercise_names: dict[str, str]
    sources: dict[str, dict[str, str]]
    tables: dict[str, Table]
    spreads: dict[str, Spread]

    @property
    def modelled(self) -> tuple[str, ...]:
        """Identifiers of the variants that have mechanics."""
        return tuple(name for name, v in self.variants.items() if v.modelled)
