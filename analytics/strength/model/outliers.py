"""Sets and steps that look like a slip of the pen, another unit or another machine."""

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analytics.strength.model.relation import priors
from analytics.strength.model.series import Levels, Rows

Floats = NDArray[np.float64]

NEIGHBOURS = 15  # sets around each whose median it is held against
FEWEST = 5  # of them
LB_PER_KG = 2.2046226
STEP_SDS = 4.0  # from three sessions to the next three
SESSIONS, WITHIN_DAYS = 3, 21


def implausible(sets: pd.DataFrame, implied: Floats) -> Floats:
    """How far off sets are that no strength explains.

    Parameters
    ----------
    sets : DataFrame
        Counted sets, in order.
    implied : ndarray, shape (n_sets,)
        Log strength each implies.

    Returns
    -------
    off : ndarray, shape (n_sets,)
        Log strength over the median of the sets around it, 0 where plausible.
    """
    frame = sets[["lifter", "setup", "date"]].assign(y=implied)
    frame = frame.sort_values(["lifter", "setup", "date"], kind="stable")
    around = frame.groupby(["lifter", "setup"], sort=False)["y"].rolling(
        NEIGHBOURS, center=True, min_periods=FEWEST
    )
    off = frame["y"] - around.median().to_numpy()
    most = np.log(priors("strength")["implausible_factor"])
    off = off.where(off.abs() > most, 0.0)
    return off.sort_index().to_numpy(float)


def outlier_table(
    sets: pd.DataFrame, rows: Rows, levels: Levels, off: Floats
) -> pd.DataFrame:
    """Say which sets and steps to look at again.

    Parameters
    ----------
    sets : DataFrame
        Counted sets, in order.
    rows, levels : Rows, Levels
        Of them.
    off : ndarray, shape (n_sets,)
        From :func:`implausible`.

    Returns
    -------
    outliers : DataFrame
        ``lifter, setup, date, set_id, sentence``; ``set_id`` empty for a step.
    """
    wrong = np.flatnonzero(off)
    mine = sets.iloc[wrong]
    said = [
        f"{load:g} kg × {reps:g} on {day:%Y-%m-%d} is {_times(x)} what the sets around "
        f"it say{_unit(x)}. It hardly moves the estimate, but for four weeks the "
        "interval reaches up to what was lifted: correct it if it is wrong."
        for load, reps, day, x in zip(
            mine["load_kg"], mine["reps"], mine["date"], off[wrong], strict=True
        )
    ]
    single = mine[["lifter", "setup", "date", "set_id"]].assign(sentence=said)
    return pd.concat([single, _steps(rows, levels)], ignore_index=True)


def _times(log_off: float) -> str:
    factor = np.exp(abs(log_off))
    return f"{factor:.1f} times" if log_off > 0 else f"1/{factor:.1f} of"


def _unit(log_off: float) -> str:
    size = np.exp(abs(log_off))
    if abs(size / LB_PER_KG - 1) < 0.1:
        return ", as if it stood in the other unit (kg or lb)"
    if abs(size / 10 - 1) < 0.15:
        return ", as if a decimal sign were missing or misplaced"
    return ""


def _steps(rows: Rows, levels: Levels) -> pd.DataFrame:
    """Where a series jumps and stays: three sessions against the three before."""
    table = rows.table.assign(y=levels.site_mean, v=levels.site_variance)
    table = table[rows.table["kind"] == "reported"]
    pair = [table["lifter"], table["setup"]]
    y = table["y"].groupby(pair, sort=False)
    before = y.rolling(SESSIONS).median().to_numpy()
    before = pd.Series(before, table.index).groupby(pair).shift(1)
    after = pd.Series(y.rolling(SESSIONS).median().to_numpy(), table.index)
    after = after.groupby(pair).shift(1 - SESSIONS)
    gap = table["date"].groupby(pair).diff().dt.days
    size = (after - before).fillna(0.0)
    walk_sd = priors("strength")["walk_sd"]
    spread = np.sqrt(2 * table["v"] / SESSIONS + (levels.walk_scale * walk_sd) ** 2)
    found = size.abs() > STEP_SDS * spread
    around = size.abs().groupby(pair, sort=False)
    largest = around.rolling(2 * SESSIONS + 1, center=True, min_periods=1).max()
    found &= size.abs().to_numpy() >= largest.to_numpy()
    # An exact step is as large from three sessions: the middle one of a run is it.
    runs = np.flatnonzero(found)
    run = np.cumsum(np.diff(runs, prepend=-2) > 1)
    middle = pd.Series(runs).groupby(run).agg(lambda r: r.iloc[len(r) // 2])
    at = table.iloc[middle.to_numpy(int)]
    at = at[gap[at.index] <= WITHIN_DAYS]
    said = [
        f"From {day:%Y-%m-%d} on, strength is {100 * abs(np.expm1(x)):.0f} % "
        f"{'higher' if x > 0 else 'lower'} than in the three sessions before"
        f"{_unit(x)}: another machine, station or technique? Name the equipment, or "
        "correct the sets."
        for day, x in zip(at["date"], size[at.index], strict=True)
    ]
    return at[["lifter", "setup", "date"]].assign(set_id="", sentence=said)
