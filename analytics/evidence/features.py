"""What a measured strength curve shows: peak, plateau, fall, contrasts, one hump."""

import math

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analytics.evidence.measured import LEAST_ANGLES, LEAST_POINTS, fit_strength_curve
from analytics.evidence.say import FEATURES, feature_sentence, lacking_sentence
from analytics.intervals import QUANTILES
from analytics.table_schema import column_names

Array = NDArray[np.float64]

PLATEAU_FRAC = 0.95
STEP_DEG = 10.0
DIP_FRAC = 0.02  # shallower valleys count as none
SURE = 0.9
AGAIN = math.sqrt(2.0)  # as many points again, where no root law tells
UNITS = dict.fromkeys(FEATURES, "1") | {"peak_deg": "deg", "plateau_deg": "deg"}


def plateau_width(angle_deg: Array, log_strength: Array) -> Array:
    """Width around the peak where strength stays within 5 % of it.

    Parameters
    ----------
    angle_deg : ndarray, shape (n_grid,)
        Equally spaced angles. [deg]
    log_strength : ndarray, shape (n_draws, n_grid)
        Curves. [1]

    Returns
    -------
    width_deg : ndarray, shape (n_draws,)
        Of the stretch that holds the peak; cut off where the angles end. [deg]
    """
    top = log_strength.argmax(axis=1)
    drop = log_strength - log_strength.max(axis=1, keepdims=True)
    below = drop < np.log(PLATEAU_FRAC)
    n = len(angle_deg)
    column = np.arange(n)
    left = np.where(below & (column < top[:, None]), column, -1).max(axis=1) + 1
    right = np.where(below & (column > top[:, None]), column, n).min(axis=1) - 1
    return np.asarray(angle_deg[right] - angle_deg[left])


def steepest_fall(angle_deg: Array, log_strength: Array) -> Array:
    """Largest relative loss of strength over 10 degrees away from the peak.

    Parameters
    ----------
    angle_deg : ndarray, shape (n_grid,)
        Equally spaced angles. [deg]
    log_strength : ndarray, shape (n_draws, n_grid)
        Curves. [1]

    Returns
    -------
    fall_frac : ndarray, shape (n_draws,)
        0.1 is a loss of 10 % per 10 degrees; NaN if fewer than 10 degrees are
        covered. [1]
    """
    step = round(STEP_DEG / (angle_deg[1] - angle_deg[0]))
    if step >= len(angle_deg):
        return np.full(len(log_strength), np.nan)
    top = log_strength.argmax(axis=1)[:, None]
    start = np.arange(len(angle_deg) - step)
    rise = log_strength[:, step:] - log_strength[:, :-step]
    outward = np.where(start >= top, rise, np.where(start + step <= top, -rise, 0.0))
    return np.asarray(-np.expm1(outward.min(axis=1)))


def largest_dip(log_strength: Array) -> Array:
    """Deepest valley of each curve, zero for a curve with one hump.

    Parameters
    ----------
    log_strength : ndarray, shape (n_draws, n_grid)
        Curves. [1]

    Returns
    -------
    dip : ndarray, shape (n_draws,)
        How far the curve falls and rises again, as a log ratio. [1]
    """
    from_left = np.maximum.accumulate(log_strength, axis=1)
    from_right = np.maximum.accumulate(log_strength[:, ::-1], axis=1)[:, ::-1]
    return np.asarray((np.minimum(from_left, from_right) - log_strength).max(axis=1))


def unanswered(points: int, more: int) -> pd.DataFrame:
    """Table of a curve that too few points draw.

    Parameters
    ----------
    points : int
        Points so far.
    more : int
        Points that are missing.

    Returns
    -------
    table : DataFrame
        As from `curve_features`, without numbers.
    """
    rows = [
        {
            **{"quantity": name, "unit": UNITS[name], "n": points},
            **dict.fromkeys(("value", "low", "high"), math.nan),
            "sentence": lacking_sentence(name, more),
        }
        for name in FEATURES
    ]
    return pd.DataFrame(rows, columns=column_names("direct"))


def curve_features(
    angle_deg: Array, draws: Array, *, points: int, angles: int
) -> pd.DataFrame:
    """Peak, plateau, steepness, contrasts and humps of a measured curve.

    Parameters
    ----------
    angle_deg : ndarray, shape (n_grid,)
        Angles one degree apart. [deg]
    draws : ndarray, shape (n_draws, n_grid)
        Posterior draws of log strength. [1]
    points, angles : int
        Holds and failure angles behind the curve, and at how many angles.

    Returns
    -------
    table : DataFrame
        ``quantity, unit, value, low, high, n, sentence`` with 90 % intervals. A
        sentence that cannot answer says about how many more holds would.

    Notes
    -----
    Not answered: a peak or a plateau whose interval is wider than half of the logged
    angles, or a peak that may lie outside them with a chance above 10 %; a fall or a
    contrast whose interval holds "none"; one hump or two when neither has a chance of
    90 %. How many more: as if intervals shrank with the root of the number of points;
    where angles are missing, as many there as there are at each.
    """
    beyond = _beyond(angle_deg, draws)
    first, middle, last = (float(angle_deg[i]) for i in (0, len(angle_deg) // 2, -1))
    rows = []
    for name, (values, short) in _answers(angle_deg, draws).items():
        value, low, high = _interval(values)
        said = feature_sentence(
            name,
            **{"value": value, "low": low, "high": high, "dip": DIP_FRAC},
            **{"first": first, "middle": middle, "last": last},
            one_hump=float(np.mean(values < DIP_FRAC)),
        )
        if beyond and name in ("peak_deg", "plateau_deg"):
            said = lacking_sentence(name, math.ceil(points / angles), beyond, said)
        elif short > 1:
            more = max(1, math.ceil(points * (min(short, 99.0) ** 2 - 1)))
            said = lacking_sentence(name, more, so_far=said)
        rows.append(
            {
                **{"quantity": name, "unit": UNITS[name], "value": value},
                **{"low": low, "high": high, "n": points},
                "sentence": said[0].upper() + said[1:],
            }
        )
    return pd.DataFrame(rows, columns=column_names("direct"))


def _interval(values: Array) -> tuple[float, float, float]:
    low, middle, high = np.quantile(values, QUANTILES)
    return float(middle), float(low), float(high)


def _beyond(grid: Array, draws: Array) -> str:
    """Say beyond which end of the logged angles the peak may lie, '' if beyond none."""
    top = draws.argmax(axis=1)
    low, high = np.mean(top == 0), np.mean(top == len(grid) - 1)
    if low + high <= 1 - SURE:
        return ""
    return f"beyond {grid[-1]:.0f}°" if high > low else f"below {grid[0]:.0f}°"


def _answers(grid: Array, draws: Array) -> dict[str, tuple[Array, float]]:
    """Draws of each quantity, and how many times too wide its interval is.

    More than 1 is not answered.
    """
    middle = len(grid) // 2
    straight, bent = draws[:, 0] - draws[:, middle], draws[:, -1] - draws[:, middle]
    peak, plateau = grid[draws.argmax(axis=1)], plateau_width(grid, draws)
    fall, dip = steepest_fall(grid, draws), -np.expm1(-largest_dip(draws))
    return {
        "peak_deg": (peak, _width(grid, peak)),
        "plateau_deg": (plateau, _width(grid, plateau)),
        "fall_per_10_deg": (fall, _from_none(fall)),
        "extremes_over_middle": _contrast(0.5 * (straight + bent)),
        "low_end_over_middle": _contrast(straight),
        "high_end_over_middle": _contrast(bent),
        "dip_frac": (dip, _humps(dip)),
    }


def _width(grid: Array, values: Array) -> float:
    """Width of an interval over half of the logged angles."""
    _, low, high = _interval(values)
    return float((high - low) / (0.5 * (grid[-1] - grid[0])))


def _from_none(values: Array) -> float:
    """Width of an interval from above, 1 where it reaches 0."""
    _, low, high = _interval(values)
    return (high - low) / max(high + low, 1e-9)


def _contrast(gap: Array) -> tuple[Array, float]:
    """Ratio, and the width of its interval where that holds 1."""
    value, low, high = _interval(gap)
    short = (high - low) / (2 * max(abs(value), 1e-9)) if low <= 0 <= high else 0.0
    return np.exp(gap), short


def _humps(dip: Array) -> float:
    """How far from sure one hump is, or two."""
    one = float(np.mean(dip < DIP_FRAC))
    if max(one, 1 - one) >= SURE:
        return 0.0
    return float(np.quantile(dip, SURE)) / DIP_FRAC if one > 0.5 else AGAIN


def measured_curve(
    points: pd.DataFrame,
    known_cov: Array,
    *,
    n_draws: int = 2000,
    seed: int = 20250106,
) -> pd.DataFrame:
    """Features of the strength curve that the points of a log draw by themselves.

    Parameters
    ----------
    points, known_cov : DataFrame, ndarray
        Result of `direct_points`.
    n_draws, seed : int
        Of the posterior.

    Returns
    -------
    table : DataFrame
        Result of `curve_features`; `unanswered` when the points are too few.
    """
    angles = points["angle_deg"].round().nunique()
    missing = max(LEAST_POINTS - len(points), LEAST_ANGLES - angles)
    if missing > 0:
        return unanswered(len(points), missing)
    curve = fit_strength_curve(
        points["angle_deg"],
        np.log(points["moment_nm"]),
        points["level"],
        known_cov=known_cov,
        n_draws=n_draws,
        seed=seed,
    )
    return curve_features(
        curve.angle_deg, curve.draws, points=curve.n_obs, angles=angles
    )
