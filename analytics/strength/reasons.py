"""Plain words on why an estimate is weak."""

import pandas as pd

from analytics.strength.observe import Observations

FEW_SETS = 6
WIDE_FRAC = 0.10  # half-width of the interval that makes an estimate weak


def reason_table(
    seen: Observations,
    trend: pd.DataFrame,
    personal: pd.DataFrame,
    converged: bool,
) -> pd.DataFrame:
    """Sentences by lifter and setup; an empty setup means all of them.

    Parameters
    ----------
    seen : Observations
        Usable sets.
    trend, personal : DataFrame
        Tables of the fit.
    converged : bool
        Whether the fit did.

    Returns
    -------
    reasons : DataFrame
        ``lifter, setup, sentence``.
    """
    rows: list[tuple[str, str, str]] = []
    if not converged:
        rows.append(
            ("", "", "The model has not settled; treat every number as provisional.")
        )
    grouped = seen.sets.groupby(["lifter", "setup"], sort=True)["unmarked"]
    counts = grouped.agg(sets="size", unmarked="sum").reset_index()
    silent = counts["unmarked"] == counts["sets"]
    weak = counts[silent | (counts["sets"] < FEW_SETS)]
    for lifter, setup, sets, unmarked in weak.itertuples(index=False):
        if unmarked == sets:
            rows.append(
                (
                    lifter,
                    setup,
                    "No set says how hard it was; strength rests on what unmarked "
                    "sets usually leave in reserve. One set to failure or with "
                    "reps in reserve would help most.",
                )
            )
        if sets < FEW_SETS:
            more = FEW_SETS - sets
            rows.append(
                (
                    lifter,
                    setup,
                    f"Only {sets} set{'s' if sets > 1 else ''}; not enough data "
                    f"yet, about {more} more would help.",
                )
            )
    rows += _wide(trend) + _no_overlap(seen, personal)
    out = pd.DataFrame(rows, columns=["lifter", "setup", "sentence"])
    return pd.concat([out, seen.unusable], ignore_index=True)


def _wide(trend: pd.DataFrame) -> list[tuple[str, str, str]]:
    latest = trend.groupby(["lifter", "setup"]).tail(1)
    half = 1.645 * latest["log_sd"]
    wide = latest[half > WIDE_FRAC]
    return [
        (
            row.lifter,
            row.setup,
            f"Wide interval: {row.low_kg:.1f} to {row.high_kg:.1f} kg on "
            f"{row.date:%Y-%m-%d}.",
        )
        for row in wide.itertuples()
    ]


def _no_overlap(
    seen: Observations, personal: pd.DataFrame
) -> list[tuple[str, str, str]]:
    with_reference = set(seen.sets.loc[seen.sets["setup"] == seen.reference, "lifter"])
    without = personal[~personal["lifter"].isin(with_reference)]
    return [
        (
            row.lifter,
            row.setup,
            f"Never logged {seen.reference}: the ratio is the cohort's, with its "
            "spread between lifters.",
        )
        for row in without.itertuples()
    ]
