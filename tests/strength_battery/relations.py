"""How many repetitions a load allows: what the simulated people obey."""

from dataclasses import dataclass

import numpy as np

# Share of the maximum by repetitions, as printed: Epley 1985, Brzycki 1993, Lander
# 1985, Lombardi 1989, O'Conner 1989, Mayhew 1992, Wathen 1994, Kemmler 2006.
PRINTED = {
    "epley": lambda r: 1 / (1 + r / 30),
    "brzycki": lambda r: (37 - r) / 36,
    "lander": lambda r: (101.3 - 2.67123 * r) / 100,
    "lombardi": lambda r: r**-0.10,
    "o_conner": lambda r: 1 / (1 + 0.025 * r),
    "mayhew": lambda r: (52.2 + 41.9 * np.exp(-0.055 * r)) / 100,
    "wathan": lambda r: (48.8 + 53.8 * np.exp(-0.075 * r)) / 100,
    "kemmler": lambda r: 1 / (0.988 + 0.0104 * r + 0.0019 * r**2 - 0.0000584 * r**3),
}
# Mean repetitions of groups of people at a share of their maximum. Press: Mitter
# group's open data, Lopes 2014, Iglesias 2010, Lovell (sets of 4, 6, 9); curl: Lopes
# 2014, Iglesias 2010, a conference paper (men, women).
PEOPLE = {
    "bench_press": [
        (0.9, 4.86),
        (0.8, 9.43),
        (0.7, 14.43),
        (0.8, 5.8),
        (0.7, 16.31),
        (0.93, 4.0),
        (0.873, 6.0),
        (0.796, 9.0),
    ],
    "elbow_flexion": [(0.8, 7.0), (0.7, 8.77), (0.8, 7.8), (0.8, 7.9)],
}
NAMES = (*PRINTED, "exponential")
MAX_REPS = 60.0
REPS = np.linspace(1.0, MAX_REPS, 591)
# Beyond the repetitions the equations were made for, as people fall from 70 to 60 %
LAST_VALID_REPS, LATER_SLOPE = 15.0, -0.018


@dataclass(frozen=True)
class Relation:
    """One lifter's relation in one exercise: log share of the maximum on ``REPS``.

    ``reps_factor``: how many times the repetitions of the cohort's relation she does.
    """

    log_share: np.ndarray
    reps_factor: float

    def log_share_at(self, reps):
        inner = 1 + (np.asarray(reps, dtype=float) - 1) / self.reps_factor
        return np.interp(inner, REPS, self.log_share)

    def reps_at(self, log_share: float) -> float:
        """Repetitions, uncounted; under 1 where the load cannot be lifted."""
        if log_share > 0:
            return 0.0
        inner = np.interp(-log_share, -self.log_share, REPS)
        return 1 + (float(inner) - 1) * self.reps_factor


def draw_log_share(rng, name: str, shifted: bool, movement: str) -> np.ndarray:
    """A cohort's relation on ``REPS``.

    As printed, most relations do not give the load itself at one repetition: then the
    single is the maximum and the printed curve holds from two repetitions on.
    Shifted, the whole curve is moved to pass through the single.
    """
    valid = np.minimum(REPS, LAST_VALID_REPS)
    if name == "exponential":  # through what one group of people did, any floor
        share, reps = PEOPLE[movement][rng.integers(len(PEOPLE[movement]))]
        floor = rng.uniform(0.30, min(0.60, share - 0.1))
        rate = -np.log((share - floor) / (1 - floor)) / (reps - 1)
        curve = np.log(floor + (1 - floor) * np.exp(-rate * (valid - 1)))
    else:
        curve = np.log(PRINTED[name](valid))
        if shifted:
            curve -= curve[0]
        else:
            at_two = np.interp(2.0, REPS, curve)
            curve = np.where(REPS < 2, at_two * (REPS - 1), curve)
    return curve + LATER_SLOPE * (REPS - valid)
