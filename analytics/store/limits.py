"""What no set, body or gym exceeds: common practice, no source.

Values outside are impossible, not unusual; unusual ones are flagged by the query
for sets and kept.
"""

from __future__ import annotations

from datetime import date
from typing import NamedTuple


class Limit(NamedTuple):
    """Accepted values of one column, ends included.

    Attributes
    ----------
    low, high : float
        In the unit of the column's name.
    words : str
        The same for people.
    """

    low: float
    high: float
    words: str


_ANGLE = Limit(-20, 180, "degrees from -20 to 180, 0 is straight")
_ANSWER = Limit(0, 1, "yes or no")

LIMITS = {
    "load_kg": Limit(-300, 1000, "0 to 1000 kg; BW-20 for help with body mass"),
    "reps": Limit(0.1, 300, "repetitions done, above 0 and at most 300"),
    "rir": Limit(0, 30, "0 to 30 repetitions in reserve"),
    "rpe": Limit(0, 10, "0 to 10"),
    "failed": _ANSWER,
    "failed_at_deg": _ANGLE,
    "range_from_deg": _ANGLE,
    "range_to_deg": _ANGLE,
    "rotation_deg": Limit(-90, 90, "90 (supinated) to -90 (pronated)"),
    "hold_s": Limit(0.1, 3600, "seconds above 0, at most 3600"),
    "angle_deg": _ANGLE,
    "pain": Limit(0, 10, "0 (none) to 10"),
    "body_mass_kg": Limit(20, 400, "20 to 400 kg"),
    "lean_deg": Limit(-90, 90, "degrees from -90 to 90"),
    "heave": _ANSWER,
    "stature_m": Limit(0.9, 2.6, "0.9 m to 2.6 m"),
    "forearm_length_m": Limit(0.1, 0.5, "0.1 m to 0.5 m"),
    "arm_girth_m": Limit(0.1, 0.8, "0.1 m to 0.8 m"),
}

# Letters of the texts of a set.
LENGTHS = {
    "lifter": 100, "exercise": 200, "equipment": 200, "stance": 200, "tempo": 200,
    "note": 10_000, "side": 5,
}  # fmt: skip
FIRST_DAY = date(1950, 1, 1)
BODY_COLUMNS = ("stature_m", "forearm_length_m", "arm_girth_m")
