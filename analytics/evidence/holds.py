"""Isometric holds of a log: which count as maximal, and their ratios between angles."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analytics.catalogue import Setup, load_catalogue, load_per_arm
from analytics.evidence.plans import usual_base_deg
from analytics.evidence.spread import log_sd, number
from analytics.ratios import LogRatios

Array = NDArray[np.float64]

BIN_DEG = 5.0
MAXIMAL_RIR = 0.5


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Holds:
    """Holds that show a maximum at a known angle.

    Attributes
    ----------
    table : DataFrame
        ``lifter, variant, angle_deg, load_kg``: load per working arm, brought to a hold
        short enough to need the whole maximum.
    effort_known : bool
        False when no hold says how hard it was, and maximal effort is assumed.
    logged : int
        Holds at known angles, maximal or not.
    """

    table: pd.DataFrame
    effort_known: bool
    logged: int


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class HoldRatios:
    """Log ratios between held angles, each against one angle of its variant.

    Attributes
    ----------
    setups : list of Setup
        Variant, angle, and the angle it is compared with.
    ratios : LogRatios
        Of the held loads, with their sampling covariance.
    holds : int
        Holds behind them.
    """

    setups: list[Setup]
    ratios: LogRatios
    holds: int

    def rows(self) -> pd.DataFrame:
        """One row per ratio, as of a compared setup."""
        held = [setup.span or (np.nan, np.nan) for setup in self.setups]
        return pd.DataFrame(
            {
                "setup": self.ratios.labels,
                "variant": [setup.variant for setup in self.setups],
                "range_from_deg": [first for first, _ in held],
                "range_to_deg": [last for _, last in held],
                "sets": self.holds / len(self.setups),
                "between_sd": np.nan,
                "share": np.nan,
            }
        )


def maximal_holds(holds: pd.DataFrame, *, lifter: str | None = None) -> Holds:
    """Select the holds that show a maximum at a known angle.

    Parameters
    ----------
    holds : DataFrame
        ``StrengthFit.holds``: rows of kind ``hold`` count.
    lifter : str or None
        Only this lifter.

    Returns
    -------
    holds : Holds
        Those that count.

    Notes
    -----
    Longer holds are scaled by the published endurance relation of the joint (see
    ``data/spread.toml``). Holds without effort beside holds with effort are floors.
    """
    known = load_catalogue()
    rows = holds[
        (holds["kind"] == "hold")
        & holds["angle_deg"].notna()
        & holds["variant"].isin(list(known.modelled))
    ]
    if lifter is not None:
        rows = rows[rows["lifter"] == lifter]
    maximal = rows["failed"].fillna(False).astype(bool) | (rows["rir"] <= MAXIMAL_RIR)
    effort_known = bool(maximal.any())
    used = rows[maximal] if effort_known else rows
    grids = used["variant"].map(lambda v: known.variants[v].model.joint.grid_deg)
    known_there = [
        low <= angle <= high
        for angle, (low, high) in zip(used["angle_deg"], grids, strict=True)
    ]
    used = used[np.array(known_there, dtype=bool)]
    joints = used["variant"].map(lambda v: known.variants[v].model.joint.joint)
    # Holds shorter than this need the whole maximum: the relation at fraction 1.
    whole_s = joints.map(lambda joint: _endurance(joint, "whole_s")).astype(float)
    exponent = joints.map(lambda joint: _endurance(joint, "exponent")).astype(float)
    seconds = used["hold_s"].astype(float).clip(lower=whole_s) / whole_s
    arm_kg = load_per_arm(
        used["load_kg"].astype(float), used["arms_share"].astype(float)
    )
    table = pd.DataFrame(
        {
            "lifter": used["lifter"],
            "variant": used["variant"],
            "angle_deg": BIN_DEG * (used["angle_deg"].astype(float) / BIN_DEG).round(),
            "load_kg": arm_kg * seconds ** (1 / exponent),
        }
    )
    return Holds(
        table=table.reset_index(drop=True),
        effort_known=effort_known,
        logged=len(rows),
    )


def _endurance(joint: str, name: str) -> float:
    return number(f"endurance_{joint}", name)


def hold_ratios(holds: pd.DataFrame) -> HoldRatios | None:
    """Log ratios of held loads between the angles of each variant.

    Parameters
    ----------
    holds : DataFrame
        Table of `maximal_holds`.

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
    setups: list[Setup] = []
    for variant, group in cells.groupby("variant", sort=False):
        usual = usual_base_deg(str(variant))
        seen = group["angle_deg"].value_counts()
        base = min(seen[seen == seen.max()].index, key=lambda a: abs(a - usual))
        setups += [
            Setup(variant=str(variant), hold=(float(a), float(base)))
            for a in sorted(seen.index)
            if a != base
        ]
    level = pd.get_dummies(cells["lifter"] + "|" + cells["variant"], dtype=float)
    effect = np.stack(
        [
            (
                (cells["variant"] == setup.variant)
                & (cells["angle_deg"] == (setup.hold or (np.nan,))[0])
            ).to_numpy(dtype=float)
            for setup in setups
        ],
        axis=1,
    )
    design = np.hstack([effect, level.to_numpy()])
    y = cells["log_load"].to_numpy()
    beta, *_ = np.linalg.lstsq(design, y, rcond=None)
    rss = float(np.sum((y - design @ beta) ** 2))
    dof = max(len(y) - int(np.linalg.matrix_rank(design)), 0)
    prior = number("hold_noise", "holds")
    variance = (rss + prior * log_sd("hold_noise") ** 2) / (dof + prior)
    n = len(setups)
    return HoldRatios(
        setups=setups,
        ratios=LogRatios(
            labels=tuple(map(str, setups)),
            mean=beta[:n],
            cov=variance * np.linalg.pinv(design.T @ design)[:n, :n],
        ),
        holds=len(holds),
    )
