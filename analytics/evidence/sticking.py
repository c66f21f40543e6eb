"""The sticking angle three ways: modelled, logged at failure, traced in a rep."""

from collections.abc import Sequence

import numpy as np
import pandas as pd
from scipy import stats

from analytics.evidence.verdict import p_in_words
from analytics.mechanics import hardest

COLUMNS = [
    "variant",
    "source",
    "elbow_deg",
    "low_deg",
    "high_deg",
    "limit_load_ratio",
    "evenness",
    "n",
]
Z90 = float(stats.norm.ppf(0.95))
AGREEMENT_LEVEL = 0.05
# A failure angle is read off by eye or video; one reading alone is no better.
READING_SD_DEG = 10.0
# What all readings of a source may share (assumed): a failure angle seen by eye is told
# to about 5 degrees, a sensor set to about 2.
SHARED_SD_DEG = {"logged": 5.0, "traced": 2.0}


def sticking(
    variants: Sequence[str],
    *,
    range_deg: tuple[float, float] | None = None,
    sets: pd.DataFrame | None = None,
    reps: pd.DataFrame | None = None,
    n_draws: int = 500,
    seed: int = 20250106,
) -> pd.DataFrame:
    """Where each variant is hardest, by model, by failed sets and by rep traces.

    Parameters
    ----------
    variants : sequence of str
        Modelled variants.
    range_deg : tuple of float or None
        First and last elbow angle; None takes each variant's own. [deg]
    sets : DataFrame or None
        Sets as from the store; those with ``failed_at_deg`` count. Already
        restricted to one lifter where one is asked for.
    reps : DataFrame or None
        Traced reps as from the store: ``variant, lifter, sticking_deg``.
    n_draws, seed : int
        Of the modelled interval.

    Returns
    -------
    table : DataFrame
        ``variant, source, elbow_deg, low_deg, high_deg, limit_load_ratio,
        evenness, n``; source is ``modelled``, ``logged`` or ``traced``, intervals
        are 90 %. The modelled angle is NaN where the model has no single hardest
        angle; ``limit_load_ratio`` and ``evenness`` belong to the model alone.
    """
    modelled = hardest(list(variants), range_deg=range_deg, n_draws=n_draws, seed=seed)
    parts = [modelled.assign(source="modelled", n=n_draws)]
    for source, frame, column in (
        ("logged", sets, "failed_at_deg"),
        ("traced", reps, "sticking_deg"),
    ):
        if frame is not None and not frame.empty:
            parts.append(_observed(frame, column, variants, source))
    table = pd.concat(parts, ignore_index=True)
    order = {variant: i for i, variant in enumerate(variants)}
    table = table.sort_values("variant", key=lambda v: v.map(order), kind="stable")
    return table.reindex(columns=COLUMNS).reset_index(drop=True)


def _observed(
    frame: pd.DataFrame, column: str, variants: Sequence[str], source: str
) -> pd.DataFrame:
    """Mean angle per variant with a 90 % interval.

    Each lifter counts once by his own mean, so that one lifter's hundred reps do
    not pass for a hundred lifters; with one lifter the interval is over reps. What
    all readings may share is added to what differs between them.
    """
    rows = []
    known = frame[frame[column].notna() & frame["variant"].isin(list(variants))]
    for variant, group in known.groupby("variant", sort=False):
        per_lifter = group.groupby("lifter")[column].mean()
        values = per_lifter if len(per_lifter) > 1 else group[column]
        sd = values.std(ddof=1) if len(values) > 2 else READING_SD_DEG
        own = stats.t.ppf(0.95, max(len(values) - 1, 2)) * sd / np.sqrt(len(values))
        reach = np.hypot(own, Z90 * SHARED_SD_DEG[source])
        rows.append(
            {
                "variant": variant,
                "source": source,
                "elbow_deg": values.mean(),
                "low_deg": values.mean() - reach,
                "high_deg": values.mean() + reach,
                "n": len(group),
            }
        )
    return pd.DataFrame(
        rows, columns=["variant", "source", "elbow_deg", "low_deg", "high_deg", "n"]
    )


def sticking_agreement(table: pd.DataFrame) -> pd.DataFrame:
    """Test whether the sources name the same sticking angle.

    Parameters
    ----------
    table : DataFrame
        Result of `sticking`.

    Returns
    -------
    agreement : DataFrame
        ``variant, sources, chi2, p_value, agree, sentence``; one row per variant.

    Notes
    -----
    Homogeneity of the sources' means, weighted by their variances (intervals taken
    as 90 % of a normal): χ² with one degree less than there are sources.
    """
    rows = []
    for variant, group in table.groupby("variant", sort=False):
        known = group[group["elbow_deg"].notna()]
        sd = (known["high_deg"] - known["low_deg"]) / (2 * Z90)
        weight = 1.0 / sd.clip(lower=1.0) ** 2
        centre = (
            np.average(known["elbow_deg"], weights=weight) if len(known) else np.nan
        )
        chi2 = float((weight * (known["elbow_deg"] - centre) ** 2).sum())
        tested = len(known) > 1
        p_value = float(stats.chi2.sf(chi2, len(known) - 1)) if tested else np.nan
        agree = p_value >= AGREEMENT_LEVEL if tested else None
        rows.append(
            {
                "variant": variant,
                "sources": len(known),
                "chi2": chi2 if tested else np.nan,
                "p_value": p_value,
                "agree": agree,
                "sentence": _sentence(group, known, agree, p_value),
            }
        )
    columns = ["variant", "sources", "chi2", "p_value", "agree", "sentence"]
    return pd.DataFrame(rows, columns=columns)


def _sentence(
    group: pd.DataFrame, known: pd.DataFrame, agree: bool | None, p_value: float
) -> str:
    said = ", ".join(
        f"{row.source} {row.elbow_deg:.0f}° ({row.low_deg:.0f} to {row.high_deg:.0f}°)"
        for row in known.itertuples()
    )
    for row in group[group["elbow_deg"].isna()].itertuples():
        wide = (
            "the model has no single hardest angle "
            f"({row.low_deg:.0f} to {row.high_deg:.0f}°)"
        )
        said = f"{said}; {wide}" if said else wide
    if agree is None:
        return f"Nothing to compare yet: {said}."
    verdict = "agree" if agree else "do not agree"
    return f"The sources {verdict} ({p_in_words(p_value)}): {said}."
