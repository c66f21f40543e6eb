"""Is direct work needed? What a log of pulls and a tape measure can say.

Counts and trends with intervals; never a cause.
"""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from analytics.advice.lean import least_squares
from analytics.advice.rules import direct_movement, indirect_movement, rule
from analytics.catalogue import load_catalogue
from analytics.errors import InputError
from analytics.intervals import LEVEL, week_of
from analytics.strength.model.relation import priors


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DirectWork:
    """Weekly work for one joint's muscles beside girth and strength.

    Attributes
    ----------
    weekly : DataFrame
        ``week`` (Monday), ``direct``, ``indirect`` hard sets, ``effort_unknown`` sets
        that are in neither because nobody wrote how hard they were.
    girth : DataFrame
        ``measured_on, arm_girth_m, body_mass_kg``.
    girth_per_week_m, girth_low_m, girth_high_m : float
        Trend of arm girth with its interval; NaN below three measurements. [m]
    strength_frac_per_week, strength_low, strength_high : float
        Trend of log strength in the reference lift, or in another one if that was
        not done; NaN if the log is too short.
    interval : float
        Level of the intervals. [1]
    can_say, cannot_say : tuple of str
        Sentences.
    """

    weekly: pd.DataFrame
    girth: pd.DataFrame
    girth_per_week_m: float
    girth_low_m: float
    girth_high_m: float
    strength_frac_per_week: float
    strength_low: float
    strength_high: float
    interval: float
    can_say: tuple[str, ...]
    cannot_say: tuple[str, ...]


def line_trend(day: np.ndarray, value: np.ndarray) -> tuple[float, float, float]:
    """Least-squares slope with its interval.

    Parameters
    ----------
    day : ndarray, shape (n,)
        Days. [d]
    value : ndarray, shape (n,)
        What was measured.

    Returns
    -------
    per_week, low, high : float
        Slope per week and 90 % interval of Student's t; NaN below 3 points.
    """
    if len(day) < 3 or np.ptp(day) == 0:
        return np.nan, np.nan, np.nan
    design = np.column_stack([np.ones(len(day)), np.asarray(day) / 7])
    (_, slope), (_, half) = least_squares(design, np.asarray(value, dtype=float))
    return float(slope), float(slope - half), float(slope + half)


def hard_sets(sets: pd.DataFrame) -> tuple[pd.Series, pd.Series]:
    """Tell hard sets, and those of which nobody wrote how hard they were.

    Parameters
    ----------
    sets : DataFrame
        With ``rir, failed, flag``.

    Returns
    -------
    hard, unknown : Series of bool
        Neither for a set that is implausible.
    """
    known = sets["rir"].notna() | sets["failed"].fillna(False).astype(bool)
    near = sets["rir"].fillna(0) <= rule("hard_set_largest_rir")
    plausible = sets["flag"].fillna("") == ""
    return known & near & plausible, ~known & plausible


def weekly_sets(sets: pd.DataFrame) -> pd.DataFrame:
    """Count hard sets that work the muscles of the direct movement, by week.

    Parameters
    ----------
    sets : DataFrame
        One lifter's sets of all movements, as the store gives them.

    Returns
    -------
    weekly : DataFrame
        ``week, direct, indirect, effort_unknown``; a week without any set between the
        first and the last one is a row of zeros.
    """
    direct = sets["movement"] == direct_movement()
    indirect = sets["movement"] == indirect_movement()
    hard, unknown = hard_sets(sets)
    week = week_of(sets["performed_on"])
    table = (
        pd.DataFrame(
            {
                "week": week,
                "direct": hard & direct,
                "indirect": hard & indirect,
                "effort_unknown": unknown & (direct | indirect),
            }
        )
        .groupby("week")
        .sum()
    )
    if table.empty:
        return table.reset_index()
    every = pd.date_range(table.index[0], table.index[-1], freq="W-MON", name="week")
    return table.reindex(every, fill_value=0).reset_index()


def direct_work(
    sets: pd.DataFrame, bodies: pd.DataFrame, slopes: pd.DataFrame, *, lifter: str
) -> DirectWork:
    """Set weekly direct and indirect work beside girth and strength.

    Parameters
    ----------
    sets : DataFrame
        Stored sets of all movements.
    bodies : DataFrame
        Body measurements with ``lifter, measured_on, arm_girth_m, body_mass_kg``.
    slopes : DataFrame
        ``slopes`` of the strength fit of the direct movement.
    lifter : str
        Code of the lifter.

    Returns
    -------
    work : DirectWork
        Counts, trends and what they can and cannot say.

    Raises
    ------
    InputError
        If the lifter has no sets.
    """
    own = sets[sets["lifter"] == lifter]
    if own.empty:
        raise InputError(f"no sets of lifter '{lifter}'; import a log first")
    weekly = weekly_sets(own)
    girth = bodies.loc[
        (bodies["lifter"] == lifter) & bodies["arm_girth_m"].notna(),
        ["measured_on", "arm_girth_m", "body_mass_kg"],
    ].sort_values("measured_on", ignore_index=True)
    day = (girth["measured_on"] - own["performed_on"].min()).dt.days.to_numpy(float)
    per_week, low, high = line_trend(day, girth["arm_girth_m"].to_numpy(float))
    mine = slopes[slopes["lifter"] == lifter]
    movement = load_catalogue().movements[direct_movement()]
    each = movement.each or movement.title.lower()
    mine = mine.sort_values("setup", key=lambda setup: setup != movement.reference)
    strength = (
        tuple(mine.iloc[0][["slope_frac_per_week", "low", "high"]].astype(float))
        if len(mine)
        else (np.nan, np.nan, np.nan)
    )
    return DirectWork(
        weekly=weekly,
        girth=girth,
        girth_per_week_m=per_week,
        girth_low_m=low,
        girth_high_m=high,
        strength_frac_per_week=strength[0],
        strength_low=strength[1],
        strength_high=strength[2],
        interval=LEVEL,
        can_say=(
            _volume_sentence(weekly),
            _girth_sentence(len(girth), per_week, low, high) + _mass_words(girth),
            _strength_sentence(
                each, str(mine["setup"].iloc[0]) if len(mine) else "", *strength
            ),
        ),
        cannot_say=_cannot_say(each),
    )


def _cannot_say(each: str) -> tuple[str, ...]:
    return (
        f"Whether {each}s caused a change: this is one log, without anybody to compare "
        "with.",
        "How much muscle there is: girth also holds fat, water and the tape's error.",
        f"What fewer or more {each}s would do: nobody tried both on this arm.",
    )


def _volume_sentence(weekly: pd.DataFrame) -> str:
    mean = weekly.drop(columns="week").mean()
    unknown = (
        f"; {mean['effort_unknown']:.1f} sets a week have no effort written down and "
        "are not counted"
        if mean["effort_unknown"] > 0
        else ""
    )
    return (
        f"Over {len(weekly)} weeks: {mean['direct']:.1f} hard direct and "
        f"{mean['indirect']:.1f} hard indirect sets a week{unknown}."
    )


def _girth_sentence(n: int, per_week: float, low: float, high: float) -> str:
    if np.isnan(per_week):
        missing = max(1, 3 - n)
        return (
            f"Arm girth: not enough data yet ({n} measurements), about {missing} "
            "more on other days."
        )
    way = "grew" if low > 0 else "shrank" if high < 0 else "did not clearly change"
    return (
        f"Arm girth {way}: {per_week * 4000:+z.1f} mm in four weeks "
        f"({low * 4000:+z.1f} to {high * 4000:+z.1f}), {n} measurements."
    )


def _mass_words(girth: pd.DataFrame) -> str:
    """Say how body mass went over the same measurements; girth goes with it."""
    weighed = girth.dropna(subset="body_mass_kg")
    if len(weighed) < 3:
        return ""
    day = (weighed["measured_on"] - weighed["measured_on"].min()).dt.days
    trend = line_trend(day.to_numpy(float), weighed["body_mass_kg"].to_numpy(float))
    if np.isnan(trend[0]):
        return ""
    slope, low, high = (4 * per_week for per_week in trend)
    return (
        f" Body mass meanwhile: {slope:+z.1f} kg in four weeks ({low:+z.1f} to "
        f"{high:+z.1f} kg)."
    )


def _strength_sentence(
    each: str, setup: str, slope: float, low: float, high: float
) -> str:
    if np.isnan(slope):
        return f"{each.capitalize()} strength: not enough data yet for a trend."
    if abs(slope) > priors("strength")["largest_gain"]:
        return (
            f"{each.capitalize()} strength, in {setup}: the data are implausible, "
            f"{slope * 100:+z.2f} % a week is more than people change."
        )
    way = "rose" if low > 0 else "fell" if high < 0 else "did not clearly change"
    return (
        f"{each.capitalize()} strength, in {setup}, {way}: {slope * 100:+z.2f} % a "
        f"week ({low * 100:+z.2f} to {high * 100:+z.2f})."
    )
