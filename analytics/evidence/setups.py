"""From a strength fit and holds to a comparison: what is observed, what predicted."""

import math
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy import linalg

from analytics.catalogue import load_catalogue
from analytics.evidence.comparison import SHAPES, Comparison
from analytics.evidence.holds import HoldRatios
from analytics.evidence.spread import HELD, PULLED, log_sd, unexplained_cov
from analytics.mechanics import log_ratio_draws
from analytics.strength import StrengthFit

Array = NDArray[np.float64]
Setup = tuple[str, tuple[float, float] | None]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Gathered:
    """A comparison and the table of what it compares.

    Attributes
    ----------
    comparison : Comparison or None
        None where nothing can be compared.
    reference : Setup or None
        Variant and range the ratios are given against; None with holds alone.
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
    table: pd.DataFrame
    n_ratios: int
    share: dict[str, float]
    reference_share: float
    left_aside: tuple[str, ...]
    sets: int


def paired_draws(
    setups: list[Setup], against: list[Setup], *, n_draws: int, seed: int
) -> dict[str, Array]:
    """Predicted log ratios under each shape from the same parameter draws.

    Parameters
    ----------
    setups : list of Setup
        What is predicted; a range of one angle is a hold at that angle.
    against : list of Setup
        What each is set against, one per setup.
    n_draws, seed : int
        Number and seed of the parameter draws.

    Returns
    -------
    draws : dict of str to ndarray, shape (n_draws, n)
        By shape. [1]
    """
    unique = list(dict.fromkeys([*setups, *against]))
    over = [unique.index(s) for s in setups]
    under = [unique.index(s) for s in against]
    result = {}
    for shape in SHAPES:
        logs = log_ratio_draws(
            unique,
            reference=against[0][0],
            shape=shape,
            n_draws=n_draws,
            seed=seed,
        )
        result[shape] = logs[:, over] - logs[:, under]
    return result


def spread_of(reference: Setup, setups: list[Setup], share: Array) -> Array:
    """Unexplained covariance of setups against a reference.

    Parameters
    ----------
    reference : Setup
        Variant and range the ratios are given against.
    setups : list of Setup
        Compared setups.
    share : ndarray, shape (n,)
        Share of sets less the reference's share. [1]

    Returns
    -------
    cov : ndarray, shape (n, n)
        See `unexplained_cov`. [1]
    """
    variants = load_catalogue().variants
    base = variants[reference[0]].support in HELD
    held = [float(variants[v].support in HELD) - base for v, _ in setups]
    pulled = [variants[v].implement in PULLED for v, _ in setups]
    return unexplained_cov(held, pulled, share)


def hold_spread(bases: list[Setup]) -> Array:
    """Unexplained covariance of holds against holds at another angle.

    Parameters
    ----------
    bases : list of Setup
        What each hold is set against.

    Returns
    -------
    cov : ndarray, shape (n, n)
        The model term alone: posture, support and implement are the same. [1]
    """
    same = [[a == b for b in bases] for a in bases]
    return np.asarray(log_sd("model") ** 2 * (np.eye(len(bases)) + np.array(same)))


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
    labels, observed, cov = _ratios(fit, lifter)
    catalogue = load_catalogue().variants
    table = fit.setups.set_index("setup")
    modelled = [
        s
        for s in table.index
        if (v := catalogue.get(table.at[s, "variant"])) is not None and v.modelled
    ]
    points = fit.set_points
    if lifter is not None:
        points = points[points["lifter"] == lifter]
    counts = points.loc[points["setup"].isin(modelled), "setup"].value_counts()
    share = (counts / max(counts.sum(), 1)).reindex(modelled, fill_value=0.0)
    reference = _reference_label(fit, modelled)
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
    rows["share"] = rows["setup"].map(share) - reference_share
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
        n_draws=n_draws,
        seed=seed,
    )
    return Gathered(
        comparison=comparison,
        reference=base,
        table=rows,
        n_ratios=len(keep),
        share=share.to_dict(),
        reference_share=reference_share,
        left_aside=tuple(s for s in table.index if s not in modelled),
        sets=int(counts.sum()) + (holds.holds if holds else 0),
    )


def _ratios(
    fit: StrengthFit, lifter: str | None
) -> tuple[tuple[str, ...], Array, Array]:
    if lifter is None:
        return fit.ratio_setups, fit.log_ratio, fit.log_ratio_cov
    return fit.personal_cov.get(lifter, ((), np.empty(0), np.empty((0, 0))))


def _reference_label(fit: StrengthFit, modelled: list[str]) -> str | None:
    """Find the reference, whether the fit names a setup or a variant."""
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
    n_draws: int,
    seed: int,
) -> tuple[Comparison | None, pd.DataFrame]:
    setups: list[Setup] = [(str(r["variant"]), range_of(r)) for _, r in rows.iterrows()]
    against: list[Setup] = [reference] * len(setups) if reference else []
    spread = (
        spread_of(reference, setups, rows["share"].to_numpy(dtype=float))
        if reference
        else np.empty((0, 0))
    )
    if holds is not None:
        bases: list[Setup] = [(v, (b, b)) for v, _, b in holds.points]
        setups = setups + [(v, (a, a)) for v, a, _ in holds.points]
        against = against + bases
        observed = np.concatenate([observed, holds.observed])
        cov = linalg.block_diag(cov, holds.cov) if len(rows) else holds.cov
        spread = (
            linalg.block_diag(spread, hold_spread(bases))
            if len(rows)
            else hold_spread(bases)
        )
        rows = pd.concat([rows, _hold_rows(holds)], ignore_index=True)
    if not setups:
        return None, rows
    comparison = Comparison(
        labels=tuple(rows["setup"]),
        observed=observed,
        cov=cov,
        spread=spread,
        draws=paired_draws(setups, against, n_draws=n_draws, seed=seed),
    )
    return comparison, rows


def _hold_rows(holds: HoldRatios) -> pd.DataFrame:
    return pd.DataFrame(
        {
            "setup": [f"{v} held {a:.0f}° : {b:.0f}°" for v, a, b in holds.points],
            "variant": [v for v, _, _ in holds.points],
            "range_from_deg": [a for _, a, _ in holds.points],
            "range_to_deg": [a for _, a, _ in holds.points],
            "sets": holds.holds / len(holds.points),
            "between_sd": np.nan,
        }
    )
