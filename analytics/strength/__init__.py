"""What the log says: strength over time and ratios between variants."""

from analytics.strength.fit import fit_strength
from analytics.strength.keep import fitted
from analytics.strength.observe import setup_in_words
from analytics.strength.over_time import over_time
from analytics.strength.repetitions import load_for, log_gain
from analytics.strength.results import StrengthFit, predict

__all__ = [
    "StrengthFit",
    "fit_strength",
    "fitted",
    "load_for",
    "log_gain",
    "over_time",
    "predict",
    "setup_in_words",
]
