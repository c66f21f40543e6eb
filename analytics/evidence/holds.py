"""Isometric holds of a log: which count as maximal, and their ratios between angles."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analytics.catalogue import load_catalogue
from analytics.evidence.spread import spread_table

Array = NDArray[np.float64]

BIN_DEG = 5.0
# One hold's noise before the log has its own: worth four holds of 5 % (assumed).
NOISE_PRIOR_SD = 0.05
NOISE_PRIOR_DOF = 4
MAXIMAL_RIR = 0.5
# Holds shorter than this need the whole maximum (endurance relation at fraction 1).
WHOLE_S = 17.98


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class HoldRatios:
    """Log ratios between held angles, each against one angle of its variant.

    Attributes
    ----------
    points : tuple of (str, float, float)
        Variant, angle, and the angle it is compared with. [deg]
    observed : ndarray, shape (n,)
        Log ratio of the held loads. [1]
    cov : ndarray, shape (n, n)
        Sampling covariance. [1]
    holds : int
        Holds behind them.
    """

    points: tuple[tuple[str, float, float], ...]
    observed: Array
    cov: Array
    holds: int


def maximal_holds(
    holds: pd.DataFrame, *, lifter: str | None = None
) -> tuple[pd.DataFrame, bool, str]:
    """Select the holds that show a maximum at a known angle.

    Parameters
    ----------
    holds : DataFrame
        ``StrengthFit.holds``: rows of kind ``hold`` count.
    lifter : str or None
        Only this lifter.

    Returns
    -------
    table : DataFrame
        ``lifter, variant, angle_deg, load_kg``: load per working arm, brought to
        a hold short enough to need the whole maximum.
    effort_known : bool
        False when no hold says how hard it was, and maximal effort is assumed.
    sentence : str
        How many holds count and why others do not; empty without holds.

    Notes
    -----
    Longer holds are scaled by the published endurance relation of the elbow (see
    ``data/spread.toml``). Holds without effort beside holds with effort are floors.
    """
    variants = load_catalogue().variants
    arms = {v: x.arms_share for v, x in variants.items() if x.modelled}
    rows = holds[
        (holds["kind"] == "hold")
        & holds["angle_deg"].notna()
        & holds["variant"].isin(list(arms))
    ]
    if lifter is not None:
        rows = rows[rows["lifter"] == lifter]
    maximal = rows["failed"].fillna(False).astype(bool) | (rows["rir"] <= MAXIMAL_RIR)
    effort_known = bool(maximal.any())
    used = rows[maximal] if effort_known else rows
    seconds = used["hold_s"].astype(float).clip(lower=WHOLE_S) / WHOLE_S
    exponent = float(spread_table()["endurance"]["exponent"])
    per_arm = used["load_kg"].astype(float) / used["variant"].map(arms).astype(float)
    table = pd.DataFrame(
        {
            "lifter": used["lifter"],
            "variant": used["variant"],
            "angle_deg": BIN_DEG * (used["angle_deg"].astype(float) / BIN_DEG).round(),
            "load_kg": per_arm * seconds ** (1 / exponent),
        }
    ).reset_index(drop=True)
    if rows.empty:
        return table, False, ""
    if effort_known:
        floors = len(rows) - len(used)
        rest = f"; {floors} without known effort are floors" if floors else ""
        return table, True, f"{len(used)} holds to failure count{rest}."
    sentence = (
        f"None of the {len(rows)} holds says how hard it was: they are shown as if "
        "maximal (assumed) and do not enter the verdict."
    )
    return table, False, sentence


def hold_ratios(holds: pd.DataFrame) -> HoldRatios | None:
    """Log ratios of held loads between the angles of each variant.

    Parameters
    ----------
    holds : DataFrame
        Result of `maximal_holds`.

    Returns
    -------
    ratios : HoldRatios or None
        None when no lifter held two angles of one variant.

    Notes
    -----
    Least squares on lifter × variant × angle means with a level for each lifter ×
    variant, so that a lifter's own differences between angles are noise, not sets.
    """
    cells = (
        holds.assign(log_load=np.log(holds["load_kg"]))
        .groupby(["lifter", "variant", "angle_deg"], as_index=False)["log_load"]
        .mean()
    )
    angles = cells.groupby(["lifter", "variant"])["angle_deg"].transform("nunique")
    cells = cells[angles > 1]
    if cells.empty:
        return None
    points: list[tuple[str, float, float]] = []
    for variant, group in cells.groupby("variant", sort=False):
        seen = group["angle_deg"].value_counts()
        base = min(seen[seen == seen.max()].index, key=lambda a: abs(a - 90.0))
        points += [
            (str(variant), float(a), float(base))
            for a in sorted(seen.index)
            if a != base
        ]
    level = pd.get_dummies(cells["lifter"] + "|" + cells["variant"], dtype=float)
    effect = np.stack(
        [
            ((cells["variant"] == v) & (cells["angle_deg"] == a)).to_numpy(dtype=float)
            for v, a, _ in points
        ],
        axis=1,
    )
    design = np.hstack([effect, level.to_numpy()])
    y = cells["log_load"].to_numpy()
    beta, *_ = np.linalg.lstsq(design, y, rcond=None)
    rss = float(np.sum((y - design @ beta) ** 2))
    dof = max(len(y) - int(np.linalg.matrix_rank(design)), 0)
    variance = (rss + NOISE_PRIOR_DOF * NOISE_PRIOR_SD**2) / (dof + NOISE_PRIOR_DOF)
    n = len(points)
    return HoldRatios(
        points=tuple(points),
        observed=beta[:n],
        cov=variance * np.linalg.pinv(design.T @ design)[:n, :n],
        holds=len(holds),
    )
