"""What a lifter can lift in a variant, done before or not, and whence one knows.

The strength comes from the fit; where it has no sets of this lifter in this
variant, a cohort, modelled or measured ratio carries it over, and the basis says which.
"""

from dataclasses import dataclass
from datetime import date

import numpy as np
import pandas as pd

from analytics import mechanics, strength
from analytics.catalogue import (
    Setup,
    Variant,
    load_as_logged,
    load_catalogue,
    load_per_arm,
)
from analytics.errors import InputError
from analytics.mechanics.lifts.published import published_ratio
from analytics.strength import StrengthFit

_SEED = 20260301


@dataclass(frozen=True, slots=True, kw_only=True)
class Capacity:
    """Log load for a number of repetitions of one lifter in one variant, and whence.

    Attributes
    ----------
    mean_log, sd_log : float
        Of the load as logged, with the share of the body that moves. [1]
    basis : str
        ``own sets``, ``cohort ratio``, ``modelled ratio`` or ``measured ratio``, with
        counts.
    setup : str
        The setup it is for; the variant where only the model knows it.
    own : bool
        Whether the lifter has done it.
    """

    mean_log: float
    sd_log: float
    basis: str
    setup: str
    own: bool


def capacity(
    fit: StrengthFit,
    lifter: str,
    variant: str,
    *,
    on_date: date | pd.Timestamp,
    reps: float = 1.0,
) -> Capacity:
    """Estimate a lifter's strength in a variant, done before or not.

    Parameters
    ----------
    fit : StrengthFit
        Of the movement the variant belongs to.
    lifter : str
        Code.
    variant : str
        Variant id or setup label.
    on_date : date
        Day the strength is wanted for.
    reps : float
        Repetitions that could be done, reserve included. [1]

    Returns
    -------
    capacity : Capacity
        From own sets if there are any, else over the cohort's ratio, else over
        the modelled one.

    Raises
    ------
    InputError
        If the lifter has no sets, or nothing links the variant to those there are.
    """
    mine = own_setups(fit, lifter)
    if mine.empty:
        known = ", ".join(sorted(fit.set_points["lifter"].unique())) or "none"
        raise InputError(
            f"no sets of lifter '{lifter}' in the movement of '{variant}'; "
            f"lifters with such sets: {known}"
        )
    done = _pick(mine, variant)
    if done is not None:
        mean, sd = strength.predict(fit, lifter, done["setup"], on_date, reps=reps)
        return Capacity(
            mean_log=mean,
            sd_log=sd,
            basis=f"own sets: {int(done['sets'])} of {done['setup']}",
            setup=str(done["setup"]),
            own=True,
        )
    known = fit.last.loc[fit.last["lifter"] == lifter, "setup"]
    seen = _pick(fit.ratios[fit.ratios["setup"].isin(known)], variant)
    if seen is not None:
        most = mine.loc[mine["sets"].idxmax()]
        mean, sd = strength.predict(fit, lifter, seen["setup"], on_date, reps=reps)
        return Capacity(
            mean_log=mean,
            sd_log=sd,
            basis=f"cohort ratio: {int(seen['sets'])} sets of {seen['setup']} by "
            f"{int(seen['lifters'])} others, to {int(most['sets'])} own sets of "
            f"{most['setup']}",
            setup=str(seen["setup"]),
            own=False,
        )
    return _modelled(fit, lifter, variant, on_date, mine, reps)


def own_setups(fit: StrengthFit, lifter: str) -> pd.DataFrame:
    """Count a lifter's sets by setup, the reference included.

    Parameters
    ----------
    fit : StrengthFit
        Of one movement.
    lifter : str
        Code.

    Returns
    -------
    setups : DataFrame
        ``setup, variant, sets``, by setup.
    """
    own = fit.set_points[fit.set_points["lifter"] == lifter]
    counts = own["setup"].value_counts().sort_index().to_dict()
    variants = dict(zip(fit.setups["setup"], fit.setups["variant"], strict=True))
    done = [setup for setup in counts if setup in variants]
    return pd.DataFrame(
        {
            "setup": done,
            "variant": [variants[setup] for setup in done],
            "sets": [counts[setup] for setup in done],
        }
    )


def _pick(table: pd.DataFrame, variant: str) -> pd.Series | None:
    """Row of the setup meant: named exactly, else the most logged of the variant."""
    rows = table[table["setup"] == variant]
    if rows.empty:
        rows = table[(table["variant"] == variant) & (table["sets"] > 0)]
    return None if rows.empty else rows.loc[rows["sets"].idxmax()]


def _modelled(
    fit: StrengthFit,
    lifter: str,
    variant: str,
    on_date: date | pd.Timestamp,
    mine: pd.DataFrame,
    reps: float,
) -> Capacity:
    """Carry the best-known modelled variant over by mechanics alone."""
    catalogue = load_catalogue().variants
    target = catalogue.get(variant)
    if target is None or target.movement != fit.movement:
        raise InputError(
            f"no variant '{variant}' of {fit.movement}; there are: "
            + ", ".join(v for v, x in catalogue.items() if x.movement == fit.movement)
        )
    bridges = mine[[v in catalogue and catalogue[v].modelled for v in mine["variant"]]]
    if bridges.empty or not target.modelled:
        measured = _published(fit, lifter, target, on_date, mine, reps)
        if measured is not None:
            return measured
        raise InputError(
            f"nothing links '{variant}' to what {lifter} has done: it has no sets in "
            "this log, no mechanical model and no measured ratio"
        )
    bridge = bridges.loc[bridges["sets"].idxmax()]
    mean, sd = strength.predict(fit, lifter, bridge["setup"], on_date, reps=reps)
    known = fit.setups.set_index("setup").loc[bridge["setup"]]
    draws = mechanics.log_ratio_draws(
        [(variant, None), (bridge["variant"], Setup.of(known).span)],
        reference=bridge["variant"],
        n_draws=400,
        seed=_SEED,
    )
    draws = draws[:, 0] - draws[:, 1]
    logged = load_as_logged(load_per_arm(1.0, known["arms_share"]), target.arms_share)
    return Capacity(
        mean_log=mean + float(draws.mean()) + np.log(logged),
        sd_log=float(np.hypot(sd, draws.std())),
        basis=f"modelled ratio to {int(bridge['sets'])} own sets of {bridge['setup']}",
        setup=variant,
        own=False,
    )


def _published(
    fit: StrengthFit,
    lifter: str,
    target: Variant,
    on_date: date | pd.Timestamp,
    mine: pd.DataFrame,
    reps: float,
) -> Capacity | None:
    """Carry the best-known lift over that measured people link to the target."""
    catalogue = load_catalogue().variants
    linked = {
        name: found
        for name in mine["variant"].unique()
        if (found := published_ratio(target.variant, name)) and name in catalogue
    }
    bridges = mine[mine["variant"].isin(list(linked))]
    if bridges.empty:
        return None
    bridge = bridges.loc[bridges["sets"].idxmax()]
    mean, sd = strength.predict(fit, lifter, bridge["setup"], on_date, reps=reps)
    log_ratio, ratio_sd, sources = linked[bridge["variant"]]
    # Measured ratios are of all that is lifted; a log may count one hand's.
    whole = [x.arms / x.arms_share for x in (catalogue[bridge["variant"]], target)]
    return Capacity(
        mean_log=mean + log_ratio + float(np.log(whole[0] / whole[1])),
        sd_log=float(np.hypot(sd, ratio_sd)),
        basis=f"measured ratio ({sources}) to {int(bridge['sets'])} own sets of "
        f"{bridge['setup']}",
        setup=target.variant,
        own=False,
    )
