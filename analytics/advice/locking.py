"""Is the lockout worth it: modelled, and in the lifter's own numbers."""

import numpy as np
import pandas as pd

from analytics.advice.choice import own_ratios, sticks, variant_facts
from analytics.catalogue import Body, load_catalogue
from analytics.errors import InputError
from analytics.strength import StrengthFit


def lockout_pair(movement: str) -> tuple[str, str] | None:
    """Find the reference and the variant that differs from it in its range alone.

    Parameters
    ----------
    movement : str
        Identifier.

    Returns
    -------
    pair : tuple of str or None
        With and without lockout; None where there are no two such variants.
    """
    catalogue = load_catalogue()
    family = catalogue.movements.get(movement)
    full = catalogue.variants.get((family and family.reference) or "")
    if full is None or full.mechanics is None:
        return None
    for name, part in catalogue.variants.items():
        if part.mechanics is None or name == full.variant:
            continue
        first, last = full.mechanics.range_deg
        alike = part.bent(range_from_deg=first, range_to_deg=last).mechanics
        if alike == full.mechanics and part.implement == full.implement:
            return full.variant, name
    return None


def lockout(
    movement: str,
    *,
    fit: StrengthFit | None = None,
    lifter: str | None = None,
    body: Body | None = None,
) -> tuple[pd.DataFrame, tuple[str, ...]]:
    """Answer whether to lock out, with numbers.

    Parameters
    ----------
    movement : str
        One that has a `lockout_pair`.
    fit : StrengthFit, optional
        For the lifter's own ratio.
    lifter : str, optional
        Whose.
    body : Body, optional
        Whose segments.

    Returns
    -------
    facts : DataFrame
        :func:`variant_facts` with and without lockout.
    sentences : tuple of str
        Evenness, hardest angle, length and load, and the lifter's own ratio or
        how to get one.

    Raises
    ------
    InputError
        If the movement has no such pair.
    """
    pair = lockout_pair(movement)
    if pair is None:
        raise InputError(f"no variant of '{movement}' is modelled without lockout")
    facts = variant_facts(pair, body=body)
    title = load_catalogue().variants[pair[0]].title.lower()
    full, part = (row for _, row in facts.iterrows())
    said = [
        f"Without lockout {part['evenness']:.0%} of the strength is asked for on "
        f"average ({part['evenness_low']:.0%} to {part['evenness_high']:.0%}), with "
        f"lockout {full['evenness']:.0%} ({full['evenness_low']:.0%} to "
        f"{full['evenness_high']:.0%}): the ends of a full {title} carry "
        "little load.",
        f"With lockout: {sticks(full)}. Without: {sticks(part)}.",
        f"Modelled limit load without lockout: {part['limit_load_ratio']:.2f} of the "
        f"load with it ({part['ratio_low']:.2f} to {part['ratio_high']:.2f}).",
        f"Where the load asks, the {full['muscles']} are at "
        f"{part['fibre_length_where_asked']:.2f} of their optimal length without and "
        f"{full['fibre_length_where_asked']:.2f} with lockout.",
    ]
    if fit is not None and lifter is not None:
        said += _lockout_of(fit, lifter, part, pair)
    return facts, tuple(said)


def _lockout_of(
    fit: StrengthFit, lifter: str, part: pd.Series, pair: tuple[str, str]
) -> list[str]:
    """Say what one lifter's log adds to the lockout question, in ratio and load."""
    locked, short = pair
    own = own_ratios(fit, lifter).set_index("variant")
    trend = fit.trend[(fit.trend["lifter"] == lifter) & fit.trend["setup"].isin(pair)]
    now = trend.sort_values("date").groupby("setup").last()
    once = ["strength_kg", "low_kg", "high_kg"]
    said = [
        f"{lifter} {words} lockout, once: {_kg(now.loc[setup, once])}, estimated."
        for setup, words in ((locked, "with"), (short, "without"))
        if setup in now.index
    ]
    if short in own.index and fit.reference == locked:
        mine = own.loc[short]
        said.append(
            f"{lifter}'s own ratio without to with lockout: {mine['own_ratio']:.2f} "
            f"({mine['own_low']:.2f} to {mine['own_high']:.2f})."
        )
    elif short not in now.index:
        kg = now["strength_kg"].get(locked, np.nan)
        by_model = kg * part[["limit_load_ratio", "ratio_low", "ratio_high"]]
        said.append(
            f"{lifter} has no sets without lockout"
            + (f": the model expects {_kg(by_model)} once" if kg > 0 else "")
            + "; a dozen beside the full range in the same weeks would give a first "
            "ratio."
        )
    return said


def _kg(row: pd.Series) -> str:
    middle, low, high = row
    return f"{middle:.1f} kg ({low:.1f} to {high:.1f} kg)"
