"""Moments of both joints through a pull, and which of them is asked more."""

from __future__ import annotations

import numpy as np
import pandas as pd

from analytics.catalogue import load_catalogue
from analytics.catalogue.pulls import pull_of
from analytics.intervals import low_middle_high
from analytics.mechanics.pulls.drawn import Arms
from analytics.mechanics.pulls.path import PROGRESS

NAMES = ("shoulder extensors", "elbow flexors")


def through_pull(variant: str, *, hand_kg: float, arms: Arms) -> pd.DataFrame:
    """Moments of shoulder and elbow through a pull.

    Parameters
    ----------
    variant : str
        With a path as a pull.
    hand_kg : float
        What one hand holds. [kg]
    arms : Arms
        Of the lifter.

    Returns
    -------
    table : DataFrame
        One row per joint and step: ``joint, progress, elbow_deg, shoulder_deg,
        moment_nm, moment_low_nm, moment_high_nm``, positive where the joint's pulling
        muscles give it; medians with 90 % intervals.
    """
    pull = pull_of(variant)
    shoulder, elbow = arms.pull(pull).asked.moment_nm(hand_kg)
    bend, raised, _ = pull.posture_deg(PROGRESS)
    parts = []
    for joint, moment in zip(NAMES, (-shoulder, elbow), strict=True):
        low, middle, high = low_middle_high(moment)
        parts.append(
            pd.DataFrame(
                {
                    "joint": joint,
                    "progress": PROGRESS,
                    "elbow_deg": bend,
                    "shoulder_deg": raised,
                    "moment_nm": middle,
                    "moment_low_nm": low,
                    "moment_high_nm": high,
                }
            )
        )
    return pd.concat(parts, ignore_index=True)


def elbow_first(variant: str, *, hand_kg: float, arms: Arms) -> float:
    """Count the draws in which the elbow uses more of its strength than the shoulder.

    Parameters
    ----------
    variant, hand_kg, arms
        As in `through_pull`. [kg]

    Returns
    -------
    frac : float
        Whatever the lifter's strength, which scales both. [1]
    """
    shoulder, elbow = arms.pull(pull_of(variant)).used(hand_kg)
    return float(np.mean(elbow.max(axis=-1) > shoulder.max(axis=-1)))


def through_sentence(table: pd.DataFrame, variant: str, first: float) -> str:
    """Say what a pull asks, and which joint more of.

    Parameters
    ----------
    table : DataFrame
        From `through_pull`.
    variant : str
        Of the catalogue.
    first : float
        From `elbow_first`. [1]

    Returns
    -------
    sentence : str
    """
    title = load_catalogue().variants[variant].title
    top = table.loc[table.groupby("joint")["moment_nm"].idxmax()].set_index("joint")
    said = [
        f"{row.moment_nm:.0f} N·m of the {joint} ({row.moment_low_nm:.0f} to "
        f"{row.moment_high_nm:.0f})"
        for joint, row in top.iterrows()
    ]
    which = "the elbow" if first >= 0.9 else "the shoulder" if first <= 0.1 else ""
    limits = (
        f"{which} is asked more of what it has"
        if which
        else f"which of them limits is not told: the elbow in {first:.0%} of the draws"
    )
    return f"{title} asks up to {' and '.join(said)}; {limits}"


def length_sentence(table: pd.DataFrame) -> str:
    """Say how much less the biceps changes length in pulls than in a curl.

    Parameters
    ----------
    table : DataFrame
        From `length_table`.

    Returns
    -------
    sentence : str
    """
    titles = {name: v.title for name, v in load_catalogue().variants.items()}
    long = table[(table["head"] == "biceps_long") & table["variant"].isin(titles)]
    ends = long.groupby("variant", sort=False)["of_held"].agg(["min", "max"])
    little = ends[ends["max"] <= 0.6]
    much = ends[ends["min"] >= 0.75].drop("standing_barbell_curl", errors="ignore")

    short = table[
        (table["head"] == "biceps_short") & table["variant"].isin(little.index)
    ]
    other = short.loc[short["muscles"] == "arm26", "of_held"]

    def said(rows: pd.DataFrame) -> str:
        return ", ".join(
            f"{titles[str(name)].lower()} {row['min']:.2f} to {row['max']:.2f}"
            for name, row in rows.iterrows()
        )

    return (
        "Of the biceps' change of length in a curl with the arm at the side, rows make "
        f"about half or less ({said(little)}); overhead pulls do not change it little "
        f"({said(much)}). The short head of one muscle model disagrees: in rows it "
        f"changes {other.min():.2f} to {other.max():.2f} times as much, by a shoulder "
        "path that stimulated muscles contradict"
    )
