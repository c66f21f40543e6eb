"""Movements, variants, joints, muscles, segments and names: data files with sources.

The data live in `data/`; this package reads and validates them. It knows no
logs, no store and no physics.
"""

from analytics.catalogue.body import (
    BODY_LIMITS,
    BODY_MASS_KG,
    STATURE_M,
    Body,
    make_body,
)
from analytics.catalogue.entries import (
    Chain,
    Joint,
    Link,
    Mechanics,
    Movement,
    Variant,
)
from analytics.catalogue.files import make_resistance
from analytics.catalogue.load import (
    Catalogue,
    load_catalogue,
    main_movement,
    normalise_name,
)
from analytics.catalogue.loads import load_as_logged, load_per_arm
from analytics.catalogue.resistance import (
    Anchored,
    Band,
    Cable,
    Cam,
    Constant,
    Gravity,
    Resistance,
    moving_mass_kg,
)
from analytics.catalogue.search import other_words, search_words, trade_words
from analytics.catalogue.setup import Setup, say_setups
from analytics.catalogue.tables import Spread, Table

__all__ = [
    "BODY_LIMITS",
    "BODY_MASS_KG",
    "STATURE_M",
    "Anchored",
    "Band",
    "Body",
    "Cable",
    "Cam",
    "Catalogue",
    "Chain",
    "Constant",
    "Gravity",
    "Joint",
    "Link",
    "Mechanics",
    "Movement",
    "Resistance",
    "Setup",
    "Spread",
    "Table",
    "Variant",
    "load_as_logged",
    "load_catalogue",
    "load_per_arm",
    "main_movement",
    "make_body",
    "make_resistance",
    "moving_mass_kg",
    "normalise_name",
    "other_words",
    "say_setups",
    "search_words",
    "trade_words",
]
