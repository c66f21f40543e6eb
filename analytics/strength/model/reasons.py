"""Plain words on why an estimate is weak."""

import numpy as np
import pandas as pd

from analytics.intervals import Z90
from analytics.strength.model.observe import Observations
from analytics.strength.model.relation import priors
from analytics.strength.model.results import StrengthFit
from analytics.strength.model.tempo import at_usual_tempo, moving_s

FEW_SETS = 6
WIDE_FRAC = 0.10  # half-width of the interval that makes an estimate weak


def reason_table(seen: Observations, fit: StrengthFit) -> pd.DataFrame:
    """Sentences by lifter and setup.

    Parameters
    ----------
    seen : Observations
        Usable sets.
    fit : StrengthFit
        All else.

    Returns
    -------
    reasons : DataFrame
        ``lifter, setup, sentence``.
    """
    rows: list[tuple[str, str, str]] = []
    unmarked = seen.sets["kind"].isin(["unreported", "outdone"])
    grouped = unmarked.groupby([seen.sets["lifter"], seen.sets["setup"]], sort=True)
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
    rows += _tempos(seen.sets) + _wide(fit.trend) + _no_overlap(seen, fit.personal)
    columns = ["lifter", "setup", "sentence"]
    out = pd.DataFrame(rows, columns=columns)
    return pd.concat([out, fit.outliers[columns], seen.unusable], ignore_index=True)


def _tempos(sets: pd.DataFrame) -> list[tuple[str, str, str]]:
    """Say what logged tempos did, and which could not be read."""
    tempo = sets["tempo"] != ""  # few have one: nothing else is gone through
    told = sets[tempo].assign(unread=np.isnan(moving_s(sets.loc[tempo, "tempo"])))
    rows = []
    for (lifter, setup), mine in told.groupby(["lifter", "setup"], sort=True):
        slow = mine[mine["slowness"] > 0]
        words = mine.loc[mine["unread"], "tempo"]
        if len(slow):
            cost = priors("tempo")["exponent_mean"] * slow["slowness"].median()
            text = (
                f"{len(slow)} at a slow tempo: 8 repetitions count as about "
                f"{at_usual_tempo(8, cost):.0f} at the usual one. One study of nine "
                "people says so, and the interval carries that."
            )
            rows.append((lifter, setup, text))
        if len(words):
            text = (
                f"{len(words)} with a tempo that tells no seconds (`{words.iloc[0]}`) "
                "count as done at the usual one; write 3-1-1-0."
            )
            rows.append((lifter, setup, text))
    return rows


def _wide(trend: pd.DataFrame) -> list[tuple[str, str, str]]:
    latest = trend.groupby(["lifter", "setup"]).tail(1)
    half = Z90 * latest["log_sd"]
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
