"""Log against model: does logged strength fit the length–strength curve."""

from analytics.evidence.ahead import draw_ahead
from analytics.evidence.curve import CurveTest, curve_test
from analytics.evidence.gaps import gaps, held_loads, nearest_shape, overlap_sentence
from analytics.evidence.ratio_table import by_source, compared_at, ratio_table
from analytics.evidence.say import left_out_sentence, p_in_words
from analytics.evidence.shipped import (
    battery_in_words,
    battery_table,
    family_power_in_words,
    family_power_table,
    information_table,
    pipeline_table,
    power_in_words,
    power_table,
    sets_for_power,
)
from analytics.evidence.sticking import sticking, sticking_agreement

__all__ = [
    "CurveTest",
    "battery_in_words",
    "battery_table",
    "by_source",
    "compared_at",
    "curve_test",
    "draw_ahead",
    "family_power_in_words",
    "family_power_table",
    "gaps",
    "held_loads",
    "information_table",
    "left_out_sentence",
    "nearest_shape",
    "overlap_sentence",
    "p_in_words",
    "pipeline_table",
    "power_in_words",
    "power_table",
    "ratio_table",
    "sets_for_power",
    "sticking",
    "sticking_agreement",
]
