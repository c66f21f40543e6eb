"""Logged ratios beside modelled ones, setup by setup."""

import numpy as np
import pandas as pd

from analytics.catalogue import Setup, load_catalogue
from analytics.evidence.predictions import person_frac
from analytics.intervals import low_middle_high
from analytics.mechanics import log_ratio_draws
from analytics.strength import StrengthFit


def ratio_table(
    fit: StrengthFit,
    *,
    lifter: str | None = None,
    n_draws: int = 2000,
    seed: int = 20250106,
) -> pd.DataFrame:
    """Ratios per working arm as logged, and as the mechanical model predicts them.

    Parameters
    ----------
    fit : StrengthFit
        Of one movement.
    lifter : str, optional
        One lifter's personal ratios; everyone's without it.
    n_draws, seed : int
        Of the predictions.

    Returns
    -------
    table : DataFrame
        ``variant, reference, ratio, low, high, between_sd, lifters, sets,
        predicted, predicted_low, predicted_high, reps``; ``variant`` is the setup,
        ``reps`` the repetitions at which the log compares the two.
        Predictions are medians with 90 % intervals, NaN for what has no mechanics.
    """
    names = ["ratio", "low", "high", "sets"]
    logged = fit.ratios
    if lifter is not None:
        own = fit.personal[fit.personal["lifter"] == lifter].set_index("setup")
        logged = logged[logged["setup"].isin(own.index)].copy()
        logged[names] = own.loc[logged["setup"], names].to_numpy()
        logged["lifters"] = 1
    setups = fit.setups.set_index("setup")
    known = load_catalogue().variants
    modelled = [
        label
        for label in setups.index
        if (variant := known.get(setups.at[label, "variant"])) and variant.modelled
    ]
    predicted = pd.DataFrame(
        index=setups.index,
        columns=["predicted", "predicted_low", "predicted_high"],
        dtype=float,
    )
    if fit.reference in modelled:
        posed = [Setup.of(setups.loc[label]) for label in modelled]
        pairs = [(setup.variant, setup.span) for setup in posed]
        draws = log_ratio_draws(
            pairs,
            reference=pairs[modelled.index(fit.reference)],
            n_draws=n_draws,
            seed=seed,
            person_frac=person_frac(lifter),
        )
        predicted.loc[modelled] = np.exp(low_middle_high(draws)[[1, 0, 2]]).T
    table = logged.join(predicted, on="setup")
    return (
        table.drop(columns="variant")
        .rename(columns={"setup": "variant"})[
            [
                *("variant", "reference", *names[:3], "between_sd", "lifters", "sets"),
                *predicted.columns,
                "reps",
            ]
        ]
        .reset_index(drop=True)
    )


def compared_at(ratios: pd.DataFrame) -> str:
    """Say at how many repetitions logged ratios compare setup and reference.

    Parameters
    ----------
    ratios : DataFrame
        Column ``reps``.

    Returns
    -------
    sentence : str
        With a space behind it; empty without ratios.
    """
    if ratios.empty:
        return ""
    low, high = ratios["reps"].min(), ratios["reps"].max()
    span = f"{low:.0f}" if low == high else f"{low:.0f} to {high:.0f}"
    return f"Compared at {span} repetitions, reserve included, as both are trained. "


def by_source(
    logged: dict[str, pd.DataFrame], predicted: pd.DataFrame | None
) -> pd.DataFrame:
    """Ratios of several sources below each other, the greatest of the first on top.

    Parameters
    ----------
    logged : dict of DataFrame
        ``setup, ratio, low, high`` by the name of the source.
    predicted : DataFrame or None
        ``setup, predicted, predicted_low, predicted_high``, NaN where not modelled.

    Returns
    -------
    rows : DataFrame
        ``setup, source, ratio, low, high`` of the setups that were logged.
    """
    columns = ["setup", "ratio", "low", "high"]
    tables = {name: table[columns] for name, table in logged.items()}
    if predicted is not None:
        names = ["setup", "predicted", "predicted_low", "predicted_high"]
        tables["model"] = predicted[names].set_axis(columns, axis=1)
    first = next(iter(tables.values())).sort_values("ratio", ascending=False)
    rows = pd.concat([rows.assign(source=name) for name, rows in tables.items()])
    rows = rows[rows["setup"].isin(first["setup"])].dropna(subset="ratio")
    rows["setup"] = pd.Categorical(rows["setup"], first["setup"].unique())
    rows = rows.sort_values("setup", kind="stable")
    return rows.astype({"setup": str}).reset_index(drop=True)
