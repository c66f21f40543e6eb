"""Multi-joint lifts: what they ask, and measured ratios between them. No limit load.

Why none: `analytics.mechanics.lifts.checks`.
"""

from analytics.mechanics.lifts.checks import (
    family_table,
    predicted_squat_kg,
    squat_table,
)
from analytics.mechanics.lifts.demand import (
    asked_table,
    lift_demand,
    lifts,
    most_asked,
)
from analytics.mechanics.lifts.published import measured_ratios, published_ratio

__all__ = [
    "asked_table",
    "family_table",
    "lift_demand",
    "lifts",
    "measured_ratios",
    "most_asked",
    "predicted_squat_kg",
    "published_ratio",
    "squat_table",
]
