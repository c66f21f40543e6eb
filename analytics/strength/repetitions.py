"""The repetition-load relation and the accuracy of reps in reserve.

Published equations are combined into one mean curve and two directions in
which they differ; nothing here knows a log.
"""

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import stats
from scipy.interpolate import PchipInterpolator

Floats = NDArray[np.float64]

SPREADS = 3  # directions in which published equations differ
LARGEST_REPS = 16  # 12 counted reps and 4 in reserve: the end of two-sided use


@cache
def read_table(name: str) -> dict[str, Any]:
    """Return one table of published or assumed numbers by file name."""
    text = files("analytics.strength").joinpath("data", name).read_text("utf-8")
    return tomllib.loads(text)


def published_log_gain(equation: str, reps: ArrayLike) -> Floats:
    """Log of one-repetition maximum over load by one published equation.

    Parameters
    ----------
    equation : str
        Name in ``repetition_equations.toml``.
    reps : array_like, shape (...)
        Repetitions to failure. [1]

    Returns
    -------
    log_gain : ndarray, shape (...)
        As printed, without the correction at one repetition. [1]
    """
    rows = {r["equation"]: r for r in read_table("repetition_equations.toml")["row"]}
    row = rows[equation]
    r = np.asarray(reps, dtype=float)
    a, b, c = (float(row.get(k, "nan")) for k in "abc")
    match row["form"]:
        case "linear":
            return np.log1p(a * r)
        case "inverse_linear":
            return -np.log(a - b * r)
        case "power":
            return a * np.log(r)
        case "table":
            known = np.array([row["reps"], row["per_cent"]], dtype=float)
            return _along_chart(r, known[0], -np.log(known[1] / 100))
        case _:
            return np.log(100 / (a + b * np.exp(-c * r)))


def _along_chart(reps: Floats, known: Floats, gain: Floats) -> Floats:
    """Straight between the lines of a chart, and beyond its last two."""
    beyond = np.maximum(reps - known[-1], 0)
    last = (gain[-1] - gain[-2]) / (known[-1] - known[-2])
    return np.interp(reps, known, gain) + last * beyond


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RepetitionCurve:
    """Mean repetition relation and how the published ones differ from it.

    Attributes
    ----------
    mean : PchipInterpolator
        g(R), log of one-repetition maximum over load; g(1) = 0.
    spread : PchipInterpolator
        Three curves, each one standard deviation in which a further relation may
        differ.
    """

    mean: PchipInterpolator
    spread: PchipInterpolator


@cache
def repetition_curve() -> RepetitionCurve:
    """Return the mean of the published equations and their main differences.

    Notes
    -----
    A relation G can be read in two ways, and both are taken of each. As printed it
    holds for completed repetitions, G(R), and a single is a maximum whatever it says
    there. Shifted, it gives the load itself at one repetition, which most miss,
    Mayhew's by 8.9 %; who completes R could then have done between R and R + 1, so
    the mean over that is G(R + 1/2) - G(1).
    """
    rows = read_table("repetition_equations.toml")["row"]
    reps = np.arange(1.0, LARGEST_REPS + 1)
    single = reps == 1
    curves = np.array(
        [
            np.where(single, 0.0, gain)
            for row in rows
            for gain in (
                published_log_gain(row["equation"], reps),
                published_log_gain(row["equation"], reps + 0.5)
                - published_log_gain(row["equation"], 1.0),
            )
        ]
    )
    _, size, direction = np.linalg.svd(curves - curves.mean(axis=0))
    scale = size[:SPREADS, None] / np.sqrt(len(curves) - 1)
    # One relation more, of which so many are known: Student's t, taken as a normal
    # with the same 90 % interval.
    known = len(rows)
    t_over_z = stats.t.ppf(0.95, known - 1) / stats.norm.ppf(0.95)
    scale *= t_over_z * np.sqrt(1 + 1 / known)
    return RepetitionCurve(
        mean=PchipInterpolator(reps, curves.mean(axis=0)),
        spread=PchipInterpolator(reps, (direction[:SPREADS] * scale).T),
    )


def log_gain(reps_to_failure: ArrayLike) -> Floats:
    """Log of one-repetition maximum over load, mean of the published equations.

    Parameters
    ----------
    reps_to_failure : array_like, shape (...)
        Reps done and reps in reserve together, 1 to 16. [1]

    Returns
    -------
    log_gain : ndarray, shape (...)
        0 at one repetition; NaN outside 1 to 16. [1]
    """
    r = np.asarray(reps_to_failure, dtype=float)
    inside = (r >= 1) & (r <= LARGEST_REPS)
    return np.where(inside, repetition_curve().mean(r), np.nan)


def load_for(strength_kg: ArrayLike, *, reps: ArrayLike, rir: ArrayLike = 0) -> Floats:
    """Load for a number of reps that leaves some in reserve.

    Parameters
    ----------
    strength_kg : array_like, shape (...)
        One-repetition maximum. [kg]
    reps : array_like, broadcastable to ``strength_kg``
        Reps to do. [1]
    rir : array_like, broadcastable to ``strength_kg``
        Reps to leave in reserve. [1]

    Returns
    -------
    load_kg : ndarray, shape (...)
        By the same mean relation the strength was estimated with; NaN beyond
        16 reps to failure. [kg]
    """
    total = np.asarray(reps, dtype=float) + np.asarray(rir, dtype=float)
    return np.asarray(strength_kg, dtype=float) * np.exp(-log_gain(total))


@cache
def _rir_error() -> tuple[float, float, float]:
    """Intercept, slope and power of the published error of a called RIR."""
    rows = read_table("effort_accuracy.toml")["row"]
    far = [r for r in rows if r["repetitions"] == "16"]
    near = next(r for r in rows if r["repetitions"] == "10")
    called, sd = (
        np.array([float(r[k]) for r in far]) for k in ("called_rir", "sd_reps")
    )
    slope, intercept = np.polyfit(called, sd, 1)
    at_near = intercept + slope * float(near["called_rir"])
    power = np.log(float(near["sd_reps"]) / at_near) / np.log(10 / 16)
    return float(intercept), float(slope), float(power)


def rir_sd_reps(rir: ArrayLike, *, reps: ArrayLike) -> Floats:
    """Error of a called number of reps in reserve, as published.

    Parameters
    ----------
    rir : array_like, shape (...)
        Called reps in reserve. [1]
    reps : array_like, broadcastable to ``rir``
        Reps done. [1]

    Returns
    -------
    sd_reps : ndarray, shape (...)
        Standard deviation of the true number about the called one. [1]

    Notes
    -----
    A line in RIR through Zourdos 2021 (16 reps to failure), scaled by a power
    of the reps to failure so that it meets Refalo 2023 at 10.
    """
    intercept, slope, power = _rir_error()
    r = np.asarray(rir, dtype=float)
    total = r + np.asarray(reps, dtype=float)
    return (intercept + slope * r) * (total / LARGEST_REPS) ** power


def relative_luck(repetitions: ArrayLike) -> Floats:
    """Chance error of repetitions to failure, relative to that of a set of 8.

    Parameters
    ----------
    repetitions : array_like, shape (...)
        Repetitions to failure. [1]

    Returns
    -------
    luck : ndarray, shape (...)
        A line through the published errors on a second day (Mitter 2022). [1]
    """
    rows = read_table("effort_accuracy.toml")["repeat"]
    share = np.array([float(r["share_of_maximum"]) for r in rows])
    error = np.array([float(r["sem_reps"]) for r in rows])
    reps = np.linspace(1, LARGEST_REPS, 301)
    at = np.interp(-np.log(share), log_gain(reps), reps)
    slope, intercept = np.polyfit(at, error, 1)
    line = intercept + slope * np.asarray(repetitions, dtype=float)
    return np.asarray(line / (intercept + 8 * slope))
