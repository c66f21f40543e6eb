"""Movements, variants, joints, muscles, segments and names: data files with sources.

The data live in `data/`; this package reads and validates them. It knows no
logs, no store and no physics.
"""

from analytics.catalogue.entries import (
    Anchored,
    Band,
    Cable,
    Cam,
    Constant,
    Gravity,
    Joint,
    Mechanics,
    Movement,
    Resistance,
    Variant,
)
from analytics.catalogue.files import make_resistance
from analytics.catalogue.load import Catalogue, load_catalogue, normalise_name
from analytics.catalogue.tables import Spread, Table

__all__ = [
    "Anchored",
    "Band",
    "Cable",
    "Cam",
    "Catalogue",
    "Constant",
    "Gravity",
    "Joint",
    "Mechanics",
    "Movement",
    "Resistance",
    "Spread",
    "Table",
    "Variant",
    "load_catalogue",
    "make_resistance",
    "normalise_name",
]
