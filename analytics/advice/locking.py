"""Is the lockout worth it: modelled, and in the lifter's own numbers."""

import numpy as np
import pandas as pd

from analytics import mechanics
from analytics.advice.choice import own_ratios, sticks, variant_facts
from analytics.strength import StrengthFit

LOCKOUT, NO_LOCKOUT = "standing_barbell_curl", "no_lockout_curl"


def lockout(
    *,
    fit: StrengthFit | None = None,
    lifter: str | None = None,
    body: mechanics.Body | None = None,
) -> tuple[pd.DataFrame, tuple[str, ...]]:
    """Answer whether to lock out the standing curl, with numbers.

    Parameters
    ----------
    fit : StrengthFit, optional
        For the lifter's own ratio.
    lifter : str, optional
        Whose.
    body : Body, optional
        Whose segments.

    Returns
    -------
    facts : DataFrame
        :func:`variant_facts` of the curl with and without lockout.
    sentences : tuple of str
        Evenness, hardest angle, length and load, and the lifter's own ratio or
        how to get one.
    """
    facts = variant_facts([LOCKOUT, NO_LOCKOUT], body=body)
    full, part = (row for _, row in facts.iterrows())
    said = [
        f"Without lockout {part['evenness']:.0%} of the strength is asked for on "
        f"average ({part['evenness_low']:.0%} to {part['evenness_high']:.0%}), with "
        f"lockout {full['evenness']:.0%} ({full['evenness_low']:.0%} to "
        f"{full['evenness_high']:.0%}): the ends of a full standing curl carry little "
        "load.",
        f"With lockout: {sticks(full)}. Without: {sticks(part)}.",
        f"Modelled limit load without lockout: {part['limit_load_ratio']:.2f} of the "
        f"load with it ({part['ratio_low']:.2f} to {part['ratio_high']:.2f}).",
        "Where the load asks, the elbow flexors are at "
        f"{part['fibre_length_where_asked']:.2f} of their optimal length without and "
        f"{full['fibre_length_where_asked']:.2f} with lockout.",
    ]
    if fit is not None and lifter is not None:
        said += _lockout_of(fit, lifter, part)
    return facts, tuple(said)


def _lockout_of(fit: StrengthFit, lifter: str, part: pd.Series) -> list[str]:
    """Say what one lifter's log adds to the lockout question, in ratio and load."""
    own = own_ratios(fit, lifter).set_index("variant")
    trend = fit.trend[
        (fit.trend["lifter"] == lifter) & fit.trend["setup"].isin([LOCKOUT, NO_LOCKOUT])
    ]
    now = trend.sort_values("date").groupby("setup").last()
    once = ["strength_kg", "low_kg", "high_kg"]
    said = [
        f"{lifter} {words} lockout, once: {_kg(now.loc[setup, once])}, estimated."
        for setup, words in ((LOCKOUT, "with"), (NO_LOCKOUT, "without"))
        if setup in now.index
    ]
    if NO_LOCKOUT in own.index and fit.reference == LOCKOUT:
        mine = own.loc[NO_LOCKOUT]
        said.append(
            f"{lifter}'s own ratio without to with lockout: {mine['own_ratio']:.2f} "
            f"({mine['own_low']:.2f} to {mine['own_high']:.2f})."
        )
    elif NO_LOCKOUT not in now.index:
        kg = now["strength_kg"].get(LOCKOUT, np.nan)
        by_model = kg * part[["limit_load_ratio", "ratio_low", "ratio_high"]]
        said.append(
            f"{lifter} has no sets without lockout"
            + (f": the model expects {_kg(by_model)} once" if kg > 0 else "")
            + "; a dozen beside the full curl in the same weeks would give a first "
            "ratio."
        )
    return said


def _kg(row: pd.Series) -> str:
    middle, low, high = row
    return f"{middle:.1f} kg ({low:.1f} to {high:.1f})"
