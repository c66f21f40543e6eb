"""From a strength fit and holds to a comparison: what is observed, what predicted."""

import math
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy import linalg

from analytics.catalogue import load_catalogue
from analytics.evidence.comparison import Comparison
from analytics.evidence.holds import HoldRatios
from analytics.evidence.predictions import (
    Setup,
    paired_draws,
    spreads_of,
    structures_of,
)
from analytics.strength import StrengthFit

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Gathered:
    """A comparison and the table of what it compares.

    Attributes
    ----------
    comparison : Comparison or None
        None where nothing can be compared.
    reference : Setup or None
        Variant and range the ratios are given against; None with holds alone.
    reference_setup : str or None
        Its name in the log.
    table : DataFrame
        One row per compared setup, holds last: ``setup, variant, range_from_deg,
        range_to_deg, sets, between_sd, share`` (share of sets less the
        reference's); a hold's range is one angle.
    n_ratios : int
        Rows before the holds.
    share : dict of str to float
        Share of all modelled sets per setup, the reference included.
    reference_share : float
        The reference's own. [1]
    left_aside : tuple of str
        Logged setups that have no mechanics.
    sets : int
        Sets behind the comparison, the reference's and the holds included.
    """

    comparison: Comparison | None
    reference: Setup | None
    reference_setup: str | None
    table: pd.DataFrame
    n_ratios: int
    share: dict[str, float]
    reference_share: float
    left_aside: tuple[str, ...]
    sets: int


def range_of(row: pd.Series) -> tuple[float, float] | None:
    """Return the logged range of a setup, None for the variant's own."""
    if math.isnan(row["range_from_deg"]) or math.isnan(row["range_to_deg"]):
        return None
    return float(row["range_from_deg"]), float(row["range_to_deg"])


def gather(
    fit: StrengthFit,
    holds: HoldRatios | None,
    *,
    lifter: str | None,
    n_draws: int,
    seed: int,
) -> Gathered:
    """Line up what was observed with what the model predicts.

    Parameters
    ----------
    fit : StrengthFit
        Of one movement.
    holds : HoldRatios or None
        Ratios of isometric holds that join the comparison.
    lifter : str or None
        One lifter's personal ratios instead of the cohort's.
    n_draws, seed : int
        Of the predictions.

    Returns
    -------
    gathered : Gathered
        ``comparison`` is None where no setup has mechanics, or the reference has
        none or was not logged, and there are no holds either.
    """
    labels, observed, cov = ratios_of(fit, lifter)
    table = fit.setups.set_index("setup")
    modelled = modelled_setups(fit)
    points = fit.set_points
    if lifter is not None:
        points = points[points["lifter"] == lifter]
    counts = points.loc[points["setup"].isin(modelled), "setup"].value_counts()
    share = (counts / max(counts.sum(), 1)).reindex(modelled, fill_value=0.0)
    reference = reference_label(fit, modelled)
    keep = [
        i
        for i, label in enumerate(labels)
        if reference is not None
        and label in modelled
        and label != reference
        and np.isfinite(observed[i])
        and np.isfinite(cov[i, i])
    ]
    names = [labels[i] for i in keep]
    rows = table.loc[names].reset_index()
    rows["between_sd"] = rows["setup"].map(
        fit.ratios.drop_duplicates("setup").set_index("setup")["between_sd"]
    )
    rows["sets"] = rows["setup"].map(counts).fillna(0)
    reference_share = float(share[reference]) if reference is not None else 0.0
    rows["share"] = rows["setup"].map(share).astype(float) - reference_share
    base: Setup | None = None
    if keep and reference is not None:
        base = (str(table.at[reference, "variant"]), range_of(table.loc[reference]))
    index = np.array(keep, dtype=int)
    comparison, rows = _compare(
        rows,
        np.asarray(observed, dtype=float)[index],
        np.asarray(cov, dtype=float)[np.ix_(index, index)],
        base,
        holds,
        lifter=lifter,
        n_draws=n_draws,
        seed=seed,
    )
    return Gathered(
        comparison=comparison,
        reference=base,
        reference_setup=reference,
        table=rows,
        n_ratios=int(rows["share"].notna().sum()),
        share=share.to_dict(),
        reference_share=reference_share,
        left_aside=tuple(s for s in table.index if s not in modelled),
        sets=int(counts.sum()) + (holds.holds if holds else 0),
    )


def modelled_setups(fit: StrengthFit) -> list[str]:
    """Name the setups that have mechanics.

    Parameters
    ----------
    fit : StrengthFit
        Of one movement.

    Returns
    -------
    setups : list of str
    """
    catalogue = load_catalogue().variants
    return [
        str(setup)
        for setup, variant in zip(
            fit.setups["setup"], fit.setups["variant"], strict=True
        )
        if variant in catalogue and catalogue[variant].modelled
    ]


def ratios_of(
    fit: StrengthFit, lifter: str | None
) -> tuple[tuple[str, ...], Array, Array]:
    """Give log ratios to the reference with their covariance.

    Parameters
    ----------
    fit : StrengthFit
        Of one movement.
    lifter : str or None
        One lifter's; the cohort's without it.

    Returns
    -------
    setups, log_ratio, cov : tuple of str, ndarray (n,), ndarray (n, n)
        Empty for a lifter without any. [1]
    """
    if lifter is None:
        return fit.ratio_setups, fit.log_ratio, fit.log_ratio_cov
    return fit.personal_cov.get(lifter, ((), np.empty(0), np.empty((0, 0))))


def reference_label(fit: StrengthFit, modelled: list[str]) -> str | None:
    """Find the reference, whether the fit names a setup or a variant.

    Parameters
    ----------
    fit : StrengthFit
        Of one movement.
    modelled : list of str
        Result of `modelled_setups`.

    Returns
    -------
    setup : str or None
        None when the reference has no mechanics.
    """
    if fit.reference in modelled:
        return fit.reference
    variant = fit.setups.set_index("setup")["variant"]
    return next((s for s in modelled if variant[s] == fit.reference), None)


def _compare(
    rows: pd.DataFrame,
    observed: Array,
    cov: Array,
    reference: Setup | None,
    holds: HoldRatios | None,
    *,
    lifter: str | None,
    n_draws: int,
    seed: int,
) -> tuple[Comparison | None, pd.DataFrame]:
    setups: list[Setup] = [(str(r["variant"]), range_of(r)) for _, r in rows.iterrows()]
    against: list[Setup] = [reference] * len(setups) if reference else []
    if holds is not None:
        cov = linalg.block_diag(cov, holds.cov) if setups else holds.cov
        observed = np.concatenate([observed, holds.observed])
        setups = setups + [(v, (a, a)) for v, a, _ in holds.points]
        against = against + [(v, (b, b)) for v, _, b in holds.points]
        rows = pd.concat([rows, _hold_rows(holds)], ignore_index=True)
    if not setups:
        return None, rows
    share = rows["share"].fillna(0.0).to_numpy(dtype=float)
    spread, *further = spreads_of(setups, against, share, seed=seed)
    draws = paired_draws(setups, against, lifter=lifter, n_draws=n_draws, seed=seed)
    asks = np.all([np.isfinite(x).all(axis=0) for x in draws.values()], axis=0)
    comparison = Comparison(
        labels=tuple(rows["setup"]),
        observed=observed,
        cov=cov,
        spread=spread,
        draws=draws,
        structures=structures_of(n_draws),
        further=tuple(further),
    )
    return (comparison.subset(asks) if asks.any() else None), rows[asks]


def _hold_rows(holds: HoldRatios) -> pd.DataFrame:
    return pd.DataFrame(
        {
            "setup": [f"{v} held {a:.0f}° : {b:.0f}°" for v, a, b in holds.points],
            "variant": [v for v, _, _ in holds.points],
            "range_from_deg": [a for _, a, _ in holds.points],
            "range_to_deg": [a for _, a, _ in holds.points],
            "sets": holds.holds / len(holds.points),
            "between_sd": np.nan,
            "share": np.nan,
        }
    )
