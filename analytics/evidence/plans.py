"""Holds and later starts that a movement's plans and simulated logs may hold."""

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from analytics.catalogue import Setup, load_catalogue


@dataclass(frozen=True, slots=True, kw_only=True)
class HoldPlan:
    """Holds of one variant, each set against a hold at one angle.

    Attributes
    ----------
    holds : list of Setup
        What is held.
    base : Setup
        What they are set against.
    """

    holds: list[Setup]
    base: Setup


@cache
def _table() -> dict[str, Any]:
    return tomllib.loads(
        files(__package__).joinpath("data/plans.toml").read_text("utf-8")
    )


def hold_plan(movement: str, *, simulated: bool = False) -> HoldPlan | None:
    """Return the holds to propose, or those of the simulated logs.

    Parameters
    ----------
    movement : str
        Whose variants.
    simulated : bool
        True for the simulated logs.

    Returns
    -------
    plan : HoldPlan or None
        None where the movement has none.
    """
    row = _table().get(movement)
    if row is None:
        return None
    base_deg = float(row["hold_base_deg"])
    angles = row["simulated_hold_deg" if simulated else "hold_deg"]
    holds = [
        Setup(variant=row["hold_variant"], hold=(float(angle), base_deg))
        for angle in angles
    ]
    return HoldPlan(holds=holds, base=holds[0].base)


def usual_base_deg(variant: str) -> float:
    """Return the angle that holds of a variant are best set against.

    Parameters
    ----------
    variant : str
        One that is modelled.

    Returns
    -------
    angle_deg : float
        That of its movement's plan, else mid-grid. [deg]
    """
    known = load_catalogue().variants[variant]
    plan = hold_plan(known.movement)
    middle = sum(known.model.joint.grid_deg) / 2
    return plan.base.hold[0] if plan and plan.base.hold else middle


def simulated_starts(movement: str) -> list[Setup]:
    """Return the later starts of the simulated logs.

    Parameters
    ----------
    movement : str
        One with plans.

    Returns
    -------
    setups : list of Setup
        Variants and ranges.
    """
    rows = _table()[movement]["simulated_starts"]
    return [Setup(variant=name, range_deg=(float(a), float(b))) for name, a, b in rows]
