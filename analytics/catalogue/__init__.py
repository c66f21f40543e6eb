"""Movements, variants, muscles, segments and names: data files with sources.

The data live in `data/`; this package reads and validates them. It knows no
logs, no store and no physics.
"""

from analytics.catalogue.entries import Catalogue, Movement, Resistance, Variant
from analytics.catalogue.load import (
    ELBOW_RANGE_DEG,
    SHOULDER_RANGE_DEG,
    load_catalogue,
    normalise_name,
)
from analytics.catalogue.tables import Spread, Table

__all__ = [
    "ELBOW_RANGE_DEG",
    "SHOULDER_RANGE_DEG",
    "Catalogue",
    "Movement",
    "Resistance",
    "Spread",
    "Table",
    "Variant",
    "load_catalogue",
    "normalise_name",
]
