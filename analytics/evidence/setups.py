"""From a strength fit and holds to a comparison: what is observed, what predicted."""

import math
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy import linalg

from analytics.catalogue import load_catalogue
from analytics.evidence.comparison import FORMS, Comparison
from analytics.evidence.holds import HoldRatios
from analytics.evidence.spread import (
    HELD,
    PULLED,
    further_spreads,
    log_sd,
    spread_table,
    unexplained_cov,
)
from analytics.mechanics import log_ratio_draws
from analytics.mechanics.draws import make_draws
from analytics.strength import StrengthFit

Array = NDArray[np.float64]
Setup = tuple[str, tuple[float, float] | None]
READING_DRAWS = 60


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


def structures_of(n_draws: int) -> tuple[slice, ...]:
    """Rows of each muscle set and curve among so many draws.

    Parameters
    ----------
    n_draws : int
        Number of draws.

    Returns
    -------
    structures : tuple of slice
        One per published muscle set and curve.
    """
    return tuple(rows for _, rows in make_draws(n_draws, seed=None).blocks)


def person_frac(lifter: str | None) -> float:
    """Factor on the spread between persons, for a lifter or a cohort's mean.

    Parameters
    ----------
    lifter : str or None
        None for the cohort.

    Returns
    -------
    factor : float
        1 for a lifter; for a cohort the standard error of the published mean. [1]
    """
    count = float(spread_table()["specimens"]["count"])
    return 1.0 if lifter is not None else count**-0.5


def paired_draws(
    setups: list[Setup],
    against: list[Setup],
    *,
    lifter: str | None,
    n_draws: int,
    seed: int,
) -> dict[str, Array]:
    """Predicted log ratios under each shape from the same parameter draws.

    Parameters
    ----------
    setups : list of Setup
        What is predicted; a range of one angle is a hold at that angle.
    against : list of Setup
        What each is set against, one per setup.
    lifter : str or None
        None predicts a cohort's mean, else one person.
    n_draws, seed : int
        Number and seed of the parameter draws.

    Returns
    -------
    draws : dict of str to ndarray, shape (n_draws, n)
        By form of a shape; NaN where the resistance asks for nothing. [1]
    """
    unique = list(dict.fromkeys([*setups, *against]))
    over = [unique.index(s) for s in setups]
    under = [unique.index(s) for s in against]
    result = {}
    for form in (form for forms in FORMS.values() for form in forms):
        logs = log_ratio_draws(
            unique,
            reference=unique[under[0]],
            shape=form,
            n_draws=n_draws,
            seed=seed,
            person_frac=person_frac(lifter),
        )
        result[form] = logs[:, over] - logs[:, under]
    return result


def reading_sd(setups: list[Setup], *, seed: int) -> Array:
    """Spread of log ratios because angles are read or assumed, not measured.

    Parameters
    ----------
    setups : list of Setup
        Variants and ranges; None is the variant's own, a range of one angle a hold.
    seed : int
        Of the parameter draws.

    Returns
    -------
    sd : ndarray, shape (n,)
        Mean change of the predicted log ratio when the first angle (a hold's one
        angle) moves down or up by the reading error; where a free upper arm has
        drifted forward, its uncertain drift counts as more of that error. [1]
    """
    error = spread_table()["reading"]
    variants = load_catalogue().variants
    moved: list[Setup] = []
    for variant, span in setups:
        own = variants[variant]
        first, last = span or (own.range_from_deg, own.range_to_deg)
        drift = float(own.shoulder_deg(first) - own.shoulder_deg(0.0))
        read = float(error["logged_deg" if span else "own_range_deg"])
        step = math.hypot(read, float(error["drift_frac"]) * drift)
        for at in (max(first - step, 0.0), first, min(first + step, 139.0)):
            end = at if first == last else max(last, at + 1.0)
            moved.append((variant, (at, end)))
    logs = log_ratio_draws(
        moved, reference=moved[1], n_draws=READING_DRAWS, seed=seed, person_frac=0.0
    )
    change = np.abs(np.stack([logs[:, ::3], logs[:, 2::3]]) - logs[:, 1::3])
    # Upwards the load may come over the elbow and ask for nothing: then down alone.
    asks = np.isfinite(change)
    total = np.where(asks, change, 0.0).sum(axis=(0, 1))
    return np.asarray(total / np.maximum(asks.sum(axis=(0, 1)), 1))


def spread_of(
    reference: Setup, setups: list[Setup], share: Array, *, seed: int
) -> Array:
    """Unexplained covariance of setups against a reference.

    Parameters
    ----------
    reference : Setup
        Variant and range the ratios are given against.
    setups : list of Setup
        Compared setups.
    share : ndarray, shape (n,)
        Share of sets less the reference's share. [1]
    seed : int
        Of the draws behind the reading error.

    Returns
    -------
    cov : ndarray, shape (n, n)
        See `unexplained_cov`. [1]
    """
    variants = load_catalogue().variants
    base = variants[reference[0]].support in HELD
    held = [float(variants[v].support in HELD) - base for v, _ in setups]
    pulled = [variants[v].implement in PULLED for v, _ in setups]
    return unexplained_cov(held, pulled, share, reading_sd(setups, seed=seed))


def same_base(against: list[Setup]) -> Array:
    """Mark the pairs of ratios that have the same denominator.

    Parameters
    ----------
    against : list of Setup
        What each ratio is set against.

    Returns
    -------
    shared : ndarray, shape (n, n)
        1 or 0. [1]
    """
    return np.array([[float(a == b) for b in against] for a in against])


def hold_spread(holds: list[Setup], bases: list[Setup], *, seed: int) -> Array:
    """Unexplained covariance of holds against holds at another angle.

    Parameters
    ----------
    holds, bases : list of Setup
        Each hold, and what it is set against.
    seed : int
        Of the draws behind the reading error.

    Returns
    -------
    cov : ndarray, shape (n, n)
        Model term and reading error: posture, support and implement are the
        same. [1]
    """
    same = same_base(bases)
    n = len(holds)
    reading = reading_sd(holds + bases, seed=seed) ** 2
    alone = np.diag(log_sd("model") ** 2 + reading[:n])
    shared = same * (log_sd("model") ** 2 + reading[n:])
    return np.asarray(alone + shared)


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
    lifter: str | None,
    n_draws: int,
    seed: int,
) -> tuple[Comparison | None, pd.DataFrame]:
    setups: list[Setup] = [(str(r["variant"]), range_of(r)) for _, r in rows.iterrows()]
    against: list[Setup] = [reference] * len(setups) if reference else []
    spread = (
        spread_of(reference, setups, rows["share"].to_numpy(dtype=float), seed=seed)
        if reference
        else np.empty((0, 0))
    )
    if holds is not None:
        held: list[Setup] = [(v, (a, a)) for v, a, _ in holds.points]
        bases: list[Setup] = [(v, (b, b)) for v, _, b in holds.points]
        more = hold_spread(held, bases, seed=seed)
        observed = np.concatenate([observed, holds.observed])
        cov = linalg.block_diag(cov, holds.cov) if setups else holds.cov
        spread = linalg.block_diag(spread, more) if setups else more
        setups, against = setups + held, against + bases
        rows = pd.concat([rows, _hold_rows(holds)], ignore_index=True)
    if not setups:
        return None, rows
    draws = paired_draws(setups, against, lifter=lifter, n_draws=n_draws, seed=seed)
    asks = np.all([np.isfinite(x).all(axis=0) for x in draws.values()], axis=0)
    comparison = Comparison(
        labels=tuple(rows["setup"]),
        observed=observed,
        cov=cov,
        spread=spread,
        draws=draws,
        structures=structures_of(n_draws),
        further=further_spreads(spread, same_base(against)),
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
