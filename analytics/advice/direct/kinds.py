"""Which exercises work the elbow flexors, and how one knows."""

from __future__ import annotations

from collections.abc import Mapping

import pandas as pd

from analytics.advice.rules import direct_movement, indirect_movement
from analytics.catalogue import load_catalogue
from analytics.catalogue.pulls import load_pulls
from analytics.errors import InputError

CURL, PULL, OWN = "curl", "pull", "own"


def kind_of(variant: str) -> str:
    """Tell curl, pull, one's own, or nothing the flexors are known to work in."""
    entry = load_catalogue().variants.get(variant)
    if entry is None:
        return OWN
    if entry.movement == direct_movement():
        return CURL
    pulled = variant in load_pulls() or entry.movement == indirect_movement()
    return PULL if pulled else ""


def without_share(sets: pd.DataFrame) -> list[str]:
    """Name exercises of one's own, whose share somebody has to give.

    Parameters
    ----------
    sets : DataFrame
        With ``variant``.

    Returns
    -------
    variants : list of str
    """
    return sorted(name for name in set(sets["variant"]) if kind_of(name) == OWN)


def checked(given: Mapping[str, float], own: pd.DataFrame) -> Mapping[str, float]:
    """Refuse shares that cannot be, or of what was not done or has one."""
    free = without_share(own)
    for name, share in given.items():
        if name not in free:
            raise InputError(
                f"a share of '{name}' cannot be given; exercises done that have none: "
                f"{', '.join(free) or 'none'}"
            )
        if not 0 <= share <= 1:
            raise InputError(
                f"the share of '{name}' must be from 0 to 1, got {share:g}"
            )
    return given
