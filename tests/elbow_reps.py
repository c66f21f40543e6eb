"""Traces of elbow flexion whose sticking angles are known."""

import numpy as np
import pandas as pd

RATE_HZ = 100


def lift(seconds: float, dip: float, at: float, *, low: float, high: float):
    """Angle over one lift whose velocity is a half sine with a Gaussian dip."""
    u = np.linspace(0, 1, 4001)
    speed = np.sin(np.pi * u) * (1 - dip * np.exp(-(((u - at) / 0.09) ** 2) / 2))
    angle = np.concatenate([[0], np.cumsum(speed[1:] + speed[:-1])])
    angle = low + (high - low) * angle / angle[-1]
    falls = np.flatnonzero((speed[1:-1] < speed[:-2]) & (speed[1:-1] <= speed[2:]))
    true_deg = angle[falls[0] + 1] if falls.size else np.nan
    grid = np.linspace(0, 1, round(seconds * RATE_HZ) + 1)
    return np.interp(grid, u, angle), true_deg


def one_set(
    seed: int,
    *,
    noise: float = 0.5,
    reps: int = 6,
    dip: float = 0.6,
    pause_s: float = 1,
):
    """One set of known sticking angles: pauses at both ends, eccentric phases."""
    rng = np.random.default_rng(seed)
    parts, truth = [np.full(40, 10.0)], []
    for _ in range(reps):
        up, true_deg = lift(
            rng.uniform(1.2, 3), dip, rng.uniform(0.4, 0.55), low=10, high=125
        )
        down = 125 - 115 * (1 - np.cos(np.linspace(0, np.pi, 150))) / 2
        rest = [np.full(int(rng.uniform(0, pause_s) * RATE_HZ), x) for x in (125, 10)]
        parts += [up, rest[0], down, rest[1]]
        truth.append(true_deg)
    elbow = np.concatenate(parts)
    elbow = elbow + noise * rng.standard_normal(len(elbow))
    return trace_of(np.arange(len(elbow)) / RATE_HZ, elbow), np.array(truth)


def trace_of(time_s: np.ndarray, elbow_deg: np.ndarray) -> pd.DataFrame:
    return pd.DataFrame(
        {
            "lifter": "R01",
            "performed_on": pd.Timestamp("2026-01-12"),
            "exercise": "standing_barbell_curl",
            "set": 1,
            "time_s": time_s,
            "elbow_deg": elbow_deg,
        }
    )
