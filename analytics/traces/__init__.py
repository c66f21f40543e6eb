"""What one repetition says: kinematics, boundaries, sticking region."""

from analytics.traces.analysis import (
    COLUMNS,
    analyse,
    kinematics,
    rep_details,
    set_drift,
)
from analytics.traces.reading import JOINT, read_trace
from analytics.traces.reps import reps_in_words

__all__ = [
    "COLUMNS",
    "JOINT",
    "analyse",
    "kinematics",
    "read_trace",
    "rep_details",
    "reps_in_words",
    "set_drift",
]
