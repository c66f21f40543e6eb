"""The sticking angle three ways: modelled, logged at failure, traced in a rep."""

from collections.abc import Sequence

import numpy as np
import pandas as pd
from scipy import stats

from analytics.catalogue import load_catalogue
from analytics.evidence.say import agreement_sentence
from analytics.evidence.spread import number
from analytics.intervals import QUANTILES, Z90
from analytics.mechanics import angle_column, hardest

COLUMNS = [
    "variant",
    "source",
    "joint_deg",
    "low_deg",
    "high_deg",
    "limit_load_ratio",
    "evenness",
    "n",
]
AGREEMENT_LEVEL = 0.05


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
        First and last joint angle; None takes each variant's own. [deg]
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
        ``variant, source``, the joint's angle by `angle_column`, ``low_deg, high_deg,
        limit_load_ratio, evenness, n``; source is ``modelled``, ``logged`` or
        ``traced``, intervals are 90 %. The modelled angle is NaN where the model has
        no single hardest angle; ``limit_load_ratio`` and ``evenness`` belong to the
        model alone.
    """
    modelled = hardest(list(variants), range_deg=range_deg, n_draws=n_draws, seed=seed)
    angle = _angle_of(modelled)
    modelled = modelled.rename(columns={angle: "joint_deg"})
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
    table = table.reindex(columns=COLUMNS).reset_index(drop=True)
    return table.rename(columns={"joint_deg": angle})


def _angle_of(table: pd.DataFrame) -> str:
    """Name the column of the joint's angle."""
    known = load_catalogue().variants
    return angle_column(known[variant] for variant in table["variant"].unique())


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
        sd = values.std(ddof=1) if len(values) > 2 else number("reading", "failure_deg")
        own = (
            stats.t.ppf(QUANTILES[2], max(len(values) - 1, 2))
            * sd
            / np.sqrt(len(values))
        )
        reach = np.hypot(own, Z90 * number("reading", f"shared_{source}_deg"))
        rows.append(
            {
                "variant": variant,
                "source": source,
                "joint_deg": values.mean(),
                "low_deg": values.mean() - reach,
                "high_deg": values.mean() + reach,
                "n": len(group),
            }
        )
    return pd.DataFrame(
        rows, columns=["variant", "source", "joint_deg", "low_deg", "high_deg", "n"]
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
    table = table.rename(columns={_angle_of(table): "joint_deg"})
    for variant, group in table.groupby("variant", sort=False):
        known = group[group["joint_deg"].notna()]
        sd = (known["high_deg"] - known["low_deg"]) / (2 * Z90)
        weight = 1.0 / sd.clip(lower=1.0) ** 2
        centre = (
            np.average(known["joint_deg"], weights=weight) if len(known) else np.nan
        )
        chi2 = float((weight * (known["joint_deg"] - centre) ** 2).sum())
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
                "sentence": agreement_sentence(group, known, agree, p_value),
            }
        )
    columns = ["variant", "sources", "chi2", "p_value", "agree", "sentence"]
    return pd.DataFrame(rows, columns=columns)
