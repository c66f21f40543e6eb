"""Left against right, told where both are done on one day, and then set alike."""

from dataclasses import replace

import numpy as np
import pandas as pd

from analytics.intervals import Z90
from analytics.strength.model.outcome import Outcomes
from analytics.strength.model.relation import priors

SIDED = ["lifter", "setup"]


def level_sides(sets: pd.DataFrame, now: Outcomes) -> tuple[Outcomes, pd.DataFrame]:
    """Estimate each lifter's sides, and take half of the difference off each.

    Parameters
    ----------
    sets : DataFrame
        Counted sets, in order.
    now : Outcomes
        The same sets.

    Returns
    -------
    level : Outcomes
        As if both sides were alike. Sets without effort mark stay: at equal load the
        weaker side leaves less, and nothing in the set tells how much.
    sides : DataFrame
        ``lifter, setup, left_right_ratio, low, high, sets``.
    """
    told = (
        sets["side"].isin(["left", "right"]) & ~sets["kind"].isin(["unreported", "far"])
    ).to_numpy()
    mine = sets.loc[told, [*SIDED, "date", "side"]]
    mine = mine.assign(w=1 / now.variance[told], wy=now.implied[told])
    mine["wy"] *= mine["w"]
    summed = mine.groupby([*SIDED, "date", "side"])[["w", "wy"]].agg(["sum", "size"])
    by_side = pd.DataFrame(
        {"w": summed["w", "sum"], "y": summed["wy", "sum"] / summed["w", "sum"]}
        | {"n": summed["w", "size"]}
    ).unstack("side")
    if {("y", "left"), ("y", "right")} <= set(by_side.columns):
        by_side = by_side.dropna()
    else:
        by_side = by_side.iloc[:0]
    if by_side.empty:
        return now, pd.DataFrame(
            columns=[*SIDED, "left_right_ratio", "low", "high", "sets"]
        )
    known = priors("strength")
    variance = 1 / by_side["w"]["left"] + 1 / by_side["w"]["right"]
    variance += known["day_sd"] ** 2
    off = by_side["y"]["left"] - by_side["y"]["right"]
    parts = pd.DataFrame(
        {"p": 1 / variance, "pd": off / variance, "n": by_side["n"].sum(axis=1)}
    )
    total = parts.groupby(SIDED).sum()
    sd = (total["p"] + known["side_sd"] ** -2) ** -0.5
    mean = total["pd"] * sd**2
    sign = sets["side"].map({"left": 0.5, "right": -0.5}).where(told, 0.0)
    half = sets[SIDED].merge(mean.rename("d").reset_index(), "left", SIDED)["d"]
    shift = (half.fillna(0.0).to_numpy() * sign).to_numpy(float)
    table = pd.DataFrame(
        {
            "left_right_ratio": np.exp(mean),
            "low": np.exp(mean - Z90 * sd),
            "high": np.exp(mean + Z90 * sd),
            "sets": total["n"].astype(int),
        }
    )
    return replace(now, implied=now.implied - shift), table.reset_index()
