"""What the log says: strength over time and ratios between variants."""

from analytics.strength.model.cache import fitted, saved_fit
from analytics.strength.model.fit import fit_strength
from analytics.strength.model.observe import completed
from analytics.strength.model.over_time import over_time
from analytics.strength.model.relation import LARGEST_REPS, log_gain
from analytics.strength.model.results import StrengthFit, carried, for_reps, predict
from analytics.strength.model.shown import (
    beside_sets,
    latest,
    one_series,
    spread,
    trend_for,
)
from analytics.strength.model.stalls import gain_table, gain_words

__all__ = [
    "LARGEST_REPS",
    "StrengthFit",
    "beside_sets",
    "carried",
    "completed",
    "fit_strength",
    "fitted",
    "for_reps",
    "gain_table",
    "gain_words",
    "latest",
    "log_gain",
    "one_series",
    "over_time",
    "predict",
    "saved_fit",
    "spread",
    "trend_for",
]
