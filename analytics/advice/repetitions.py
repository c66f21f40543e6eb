"""Strength by number of repetitions, where it is known best, and by which relation."""

from dataclasses import replace

import numpy as np
import pandas as pd

from analytics import strength
from analytics.intervals import Z90
from analytics.strength import StrengthFit

MOST_REPS = 15
TOLD_AT = 8  # repetitions at which the shape leaves the relation as it is


def by_repetitions(fit: StrengthFit, lifter: str, setup: str) -> pd.DataFrame:
    """Load that can be lifted 1, 2, ... times on the latest day, and how surely.

    Parameters
    ----------
    fit : StrengthFit
        Of one movement.
    lifter, setup : str
        A series of the fit.

    Returns
    -------
    table : DataFrame
        ``date, reps, strength_kg, low_kg, high_kg, width_frac, narrowest`` for 1 to 15
        repetitions; ``width_frac`` is half the interval over the load, the share of
        the body included, and ``narrowest`` marks the row where it is least.
    """
    latest = _series(fit.trend, lifter, setup).sort_values("date").tail(1)
    reps = np.arange(1, MOST_REPS + 1)
    each = latest.iloc[np.zeros(len(reps), dtype=int)].reset_index(drop=True)
    alone = replace(fit, trend=each, loads=_series(fit.loads, lifter, setup))
    table = strength.over_time([alone], reps=reps)
    _, sd = strength.for_reps(alone, each, reps)
    columns = ["date", "reps", "strength_kg", "low_kg", "high_kg"]
    table = table[columns].assign(width_frac=Z90 * sd)
    return table.assign(narrowest=table.index == table["width_frac"].idxmin())


def known_best(table: pd.DataFrame) -> str:
    """Say at how many repetitions strength is known best.

    Parameters
    ----------
    table : DataFrame
        Of :func:`by_repetitions`.

    Returns
    -------
    sentence : str
        Without a full stop.
    """
    best, once = table[table["narrowest"]].iloc[0], table.iloc[0]
    told = (
        f"known best at {_times(best['reps'])}: {best['strength_kg']:.1f} kg, "
        f"give or take {best['width_frac']:.0%}"
    )
    return told + ("" if best["reps"] == 1 else f"; once {once['width_frac']:.0%}")


def _times(reps: float) -> str:
    return f"{reps:.0f} repetition{'' if reps == 1 else 's'}"


def relation_sentence(fit: StrengthFit, lifter: str, setup: str) -> str:
    """Say which repetition relation stands behind a series, and how much is its own.

    Parameters
    ----------
    fit : StrengthFit
        Of one movement.
    lifter, setup : str
        A series of the fit.

    Returns
    -------
    sentence : str
        Empty where the fit knows no such series.
    """
    rows = _series(fit.relation, lifter, setup)
    if rows.empty:
        return ""
    row = rows.iloc[0]
    share, low, high = (
        row[name] / (row[name] + TOLD_AT - 1) for name in ("k", "k_low", "k_high")
    )
    learned = row["learned_frac"]
    own = (
        f"{learned:.0%} of what was uncertain in it was learned from {lifter}'s own "
        "sets at different loads, the rest is as published"
        if learned >= 0.005
        else f"it is as published, since no two loads of {lifter} near failure differ "
        "enough to tell"
    )
    return (
        f"{TOLD_AT} repetitions are taken to be possible at {share:.0%} of the load "
        f"for one (K = {row['k']:.0f}; 90 % interval {low:.0%} to {high:.0%}, K "
        f"{row['k_low']:.0f} to {row['k_high']:.0f}); {own}."
    )


def relation_curve(fit: StrengthFit, lifter: str, setup: str) -> pd.DataFrame:
    """Share of the load for one repetition by number of repetitions.

    Parameters
    ----------
    fit : StrengthFit
        Of one movement.
    lifter, setup : str
        A series of the fit, done or not.

    Returns
    -------
    table : DataFrame
        ``reps, share_frac, low_frac, high_frac`` for 1 to 15 repetitions, at the ends
        of the interval of K; no rows where the fit knows no such series.
    """
    reps = np.arange(1, MOST_REPS + 1)
    rows = _series(fit.relation, lifter, setup)
    shares = [
        np.exp(-strength.log_gain(reps, np.log(row[name]), row["shape"]))
        for _, row in rows.iterrows()
        for name in ("k", "k_low", "k_high")
    ]
    names = ["share_frac", "low_frac", "high_frac"]
    known = dict(zip(names, shares, strict=True)) if shares else {}
    return pd.DataFrame({"reps": reps} | known, columns=["reps", *names]).dropna()


def _series(frame: pd.DataFrame, lifter: str, setup: str) -> pd.DataFrame:
    return frame[(frame["lifter"] == lifter) & (frame["setup"] == setup)]
