"""What a log shows of one movement: ratios, holds and failures, and whose they are.

The first of six steps (observe, predict, compare, decide, plan, say) and the only one
that reads a strength fit.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analytics.catalogue import Setup, load_catalogue, load_per_arm
from analytics.evidence.failures import FailurePoints, failure_points
from analytics.evidence.holds import Holds, hold_ratios, maximal_holds
from analytics.evidence.spread import FREE, log_sd
from analytics.intervals import Z90
from analytics.ratios import LogRatios
from analytics.strength import StrengthFit

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Noise:
    """What stands between a further set and the ratio it tells about.

    Attributes
    ----------
    set_sd : float
        Standard deviation of one set's implied log strength. [1]
    between_sd : float
        Spread of a log ratio between lifters. [1]
    lifters : int
        Lifters who would log the new setup.
    """

    set_sd: float
    between_sd: float
    lifters: int

    def variance(self, sets: float) -> float:
        """Give the variance of a log ratio learned from so many sets."""
        return self.set_sd**2 / sets + self.between_sd**2 / min(self.lifters, sets)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Observed:
    """What is set against the model, of a cohort or of one lifter.

    Attributes
    ----------
    movement, wanted : str
        What was tested, and the reference of the fit.
    lifter : str or None
        None for the cohort.
    reference : Setup or None
        What the ratios are given against; None where it has no mechanics or nothing
        was logged beside it.
    reference_modelled : bool
        Whether the fit's reference has mechanics.
    ratios : LogRatios
        Compared setups by key, holds last.
    setups, against : tuple of Setup
        The same setups, and what each is set against.
    table : DataFrame
        One row per compared setup: ``setup, variant, range_from_deg, range_to_deg,
        sets, between_sd, share`` (share of sets less the reference's); a hold's range
        is one angle.
    n_ratios : int
        Rows before the holds.
    share : dict of str to float
        Share of all modelled sets per setup, the reference included.
    reference_share : float
        The reference's own. [1]
    left_aside : tuple of str
        Logged setups that have no mechanics, or a range where strength is not known.
    sets : int
        Sets behind the comparison, the reference's and the holds included.
    holds : Holds
        Maximal holds, and how far that is known.
    failures : FailurePoints
        Moments at noted failure angles.
    personal : DataFrame
        The fit's personal ratios.
    noise : Noise
        Of a further set.
    now : tuple of float or None
        Log of the lifter's last strength per arm in the reference, and its standard
        deviation.
    """

    movement: str
    wanted: str
    lifter: str | None
    reference: Setup | None
    reference_modelled: bool
    ratios: LogRatios
    setups: tuple[Setup, ...]
    against: tuple[Setup, ...]
    table: pd.DataFrame
    n_ratios: int
    share: dict[str, float]
    reference_share: float
    left_aside: tuple[str, ...]
    sets: int
    holds: Holds
    failures: FailurePoints
    personal: pd.DataFrame
    noise: Noise
    now: tuple[float, float] | None

    @property
    def steady(self) -> bool:
        """Whether swing cannot pass for strength: a cohort, a support or a hold."""
        variants = load_catalogue().variants
        return self.lifter is None or any(
            setup.hold or variants[setup.variant].model.support != FREE
            for setup in self.setups
        )


def observe(
    fit: StrengthFit, *, lifter: str | None = None, sets: pd.Series | None = None
) -> Observed:
    """Line up what a log shows of setups that have mechanics.

    Parameters
    ----------
    fit : StrengthFit
        Of one movement.
    lifter : str or None
        One lifter's personal ratios instead of the cohort's.
    sets : Series of int, optional
        Usable sets by setup, where the fit does not list every set.

    Returns
    -------
    observed : Observed
        Without ratios where no setup has mechanics, or the reference has none or was
        not logged.
    """
    table = fit.setups.set_index("setup")
    modelled = [setup for setup, row in table.iterrows() if _has_mechanics(row)]
    reference = _reference(fit.reference, table, modelled)
    ratios = _ratios(fit, lifter)
    counts = _counts(fit, lifter) if sets is None else sets
    rows, share, n_sets = _rows(fit, counts, modelled, reference, ratios)
    setups = [Setup.of(row).plain for _, row in rows.iterrows()]
    base = None if reference is None else Setup.of(table.loc[reference]).plain
    usual_kg = _typical_kg(fit, table, reference, lifter)
    noise, now = _noise(fit, lifter), _now(fit, table, reference, lifter)
    holds = maximal_holds(fit.holds, lifter=lifter)
    held = hold_ratios(holds.table) if holds.effort_known else None
    failures = failure_points(
        fit.holds,
        table.loc[modelled],
        ratios,
        reference=reference,
        reference_kg=usual_kg,
        lifter=lifter,
    )
    compared = ratios.subset(list(rows["setup"]))
    against = [base for _ in setups if base is not None]
    if held is not None:
        compared = compared.beside(held.ratios)
        setups += held.setups
        against += [setup.base for setup in held.setups]
        rows = pd.concat([rows, held.rows()], ignore_index=True)
    return Observed(
        movement=fit.movement,
        wanted=fit.reference,
        lifter=lifter,
        reference=base if len(rows) and rows["share"].notna().any() else None,
        reference_modelled=reference is not None,
        ratios=compared,
        setups=tuple(setups),
        against=tuple(against),
        table=rows,
        n_ratios=int(rows["share"].notna().sum()),
        share=share.to_dict(),
        reference_share=0.0 if reference is None else float(share[reference]),
        left_aside=tuple(s for s in table.index if s not in modelled),
        sets=n_sets + (held.holds if held else 0),
        holds=holds,
        failures=failures,
        personal=fit.personal,
        noise=noise,
        now=now,
    )


def modelled_setups(fit: StrengthFit) -> list[Setup]:
    """Setups of a fit that have mechanics, on any equipment.

    Parameters
    ----------
    fit : StrengthFit
        Strength of one movement.

    Returns
    -------
    setups : list of Setup
    """
    rows = (row for _, row in fit.setups.iterrows() if _has_mechanics(row))
    return list(dict.fromkeys(Setup.of(row).plain for row in rows))


def _has_mechanics(row: pd.Series) -> bool:
    """Whether mechanics knows the variant, and strength is known all over the range."""
    variant, span = load_catalogue().variants.get(row["variant"]), Setup.of(row).span
    if variant is None or not variant.modelled:
        return False
    low, high = variant.model.joint.grid_deg
    return span is None or low <= span[0] <= span[1] <= high


def _reference(
    wanted: str | None, table: pd.DataFrame, modelled: list[str]
) -> str | None:
    """Find the reference, whether the fit names a setup or a variant."""
    if wanted in modelled:
        return wanted
    return next((s for s in modelled if table.at[s, "variant"] == wanted), None)


def _ratios(fit: StrengthFit, lifter: str | None) -> LogRatios:
    """Give log ratios to the reference, of the cohort or one lifter."""
    labels, mean, cov = fit.ratio_setups, fit.log_ratio, fit.log_ratio_cov
    if lifter is not None:
        nothing = (), np.empty(0), np.empty((0, 0))
        labels, mean, cov = fit.personal_cov.get(lifter, nothing)
    return LogRatios(
        labels=tuple(labels), mean=np.asarray(mean, float), cov=np.asarray(cov, float)
    )


def _counts(fit: StrengthFit, lifter: str | None) -> pd.Series:
    points = fit.set_points
    if lifter is not None:
        points = points[points["lifter"] == lifter]
    return points["setup"].value_counts()


def _rows(
    fit: StrengthFit,
    counts: pd.Series,
    modelled: list[str],
    reference: str | None,
    ratios: LogRatios,
) -> tuple[pd.DataFrame, pd.Series, int]:
    """One row per setup that can be compared; shares of all sets; their number."""
    counts = counts[counts.index.isin(modelled)]
    share = (counts / max(counts.sum(), 1)).reindex(modelled, fill_value=0.0)
    usable = np.isfinite(ratios.mean) & np.isfinite(np.diag(ratios.cov))
    names = [
        label
        for label, finite in zip(ratios.labels, usable, strict=True)
        if finite and reference is not None and label in modelled and label != reference
    ]
    rows = fit.setups.set_index("setup").loc[names].reset_index()
    between = fit.ratios.drop_duplicates("setup").set_index("setup")["between_sd"]
    rows["between_sd"] = rows["setup"].map(between)
    rows["sets"] = rows["setup"].map(counts).fillna(0)
    own = 0.0 if reference is None else float(share[reference])
    rows["share"] = rows["setup"].map(share).astype(float) - own
    return rows, share, int(counts.sum())


def _typical_kg(
    fit: StrengthFit, table: pd.DataFrame, reference: str | None, lifter: str | None
) -> float:
    """Typical strength in the reference, per working arm; only its order matters."""
    if reference is None:
        return math.nan
    rows = fit.trend[fit.trend["setup"] == reference]
    if lifter is not None and (rows["lifter"] == lifter).any():
        rows = rows[rows["lifter"] == lifter]
    usual_kg = float(np.exp(np.log(rows["strength_kg"]).mean()))
    return float(load_per_arm(usual_kg, table.at[reference, "arms_share"]))


def _now(
    fit: StrengthFit, table: pd.DataFrame, reference: str | None, lifter: str | None
) -> tuple[float, float] | None:
    """Log of the last strength per arm in the reference, with its spread."""
    trend = fit.trend
    mine = trend[(trend["lifter"] == lifter) & (trend["setup"] == reference)]
    if mine.empty:
        return None
    last = mine.sort_values("date").iloc[-1]
    arm_kg = load_per_arm(last["strength_kg"], table.at[reference, "arms_share"])
    return math.log(arm_kg), math.log(last["high_kg"] / last["low_kg"]) / (2 * Z90)


def _noise(fit: StrengthFit, lifter: str | None) -> Noise:
    """Noise of a further set, from the fit where it has its own."""
    set_sd = float(fit.hyper.get("set_sd", 0.0))
    day_sd = float(fit.hyper.get("day_sd", log_sd("session")))
    between = fit.ratios["between_sd"].median()
    return Noise(
        set_sd=math.hypot(set_sd, day_sd),
        between_sd=float(between) if lifter is None and between > 0 else 0.0,
        lifters=fit.n_lifters if lifter is None else 1,
    )
