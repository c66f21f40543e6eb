"""Are predicted limit loads of pulls those of measured people? Only then shown."""

from __future__ import annotations

from functools import cache

import numpy as np
import pandas as pd

from analytics.catalogue import load_catalogue, make_body
from analytics.catalogue.pulls import Hanging, load_pulls
from analytics.intervals import low_middle_high
from analytics.mechanics.curves import Floats
from analytics.mechanics.pulls.drawn import Arms

WIDEST = 2.0  # high over low end; wider predicts nothing that could fail


@cache
def pull_checks() -> pd.DataFrame:
    """Predicted beside measured strength in pulls.

    Returns
    -------
    checks : DataFrame
        ``quantity, population, measured, predicted, low, high, n, passed, origin``;
        passed where the measured value lies within the predicted 90 % interval and
        that is narrow enough to have failed; not where nothing is predicted. [1]
    """
    table = load_catalogue().tables["pull_strength"]
    arms, rows = Arms(), []
    totals: dict[str, Floats] = {}
    scale = arms.population_scale()
    for name, pull in load_pulls().items():
        per_hand, _ = arms.pull(pull).limit_kg(scale)
        totals[name] = per_hand * load_catalogue().variants[name].arms_share
        if isinstance(pull.resistance, Hanging):
            totals[name] = 2 * per_hand
    totals["body mass"] = np.full(arms.draws.n, make_body().mass_kg)
    for i, name in enumerate(table.columns["variant"]):
        over = table.columns["over"][i]
        low, middle, high = np.full(3, np.nan)
        women = "women" in table.columns["population"][i] and over == "body mass"
        if name in totals and not women:  # no level of women is published here
            low, middle, high = low_middle_high(totals[name] / totals[over])
        measured = float(table.numbers("value")[i])
        rows.append(
            {
                "quantity": table.columns["quantity"][i],
                "population": table.columns["population"][i],
                "measured": measured,
                "predicted": middle,
                "low": low,
                "high": high,
                "n": int(table.numbers("n")[i]),
                "passed": bool(low <= measured <= high <= WIDEST * low),
                "origin": table.columns["origin"][i],
            }
        )
    return pd.DataFrame(rows)


def limits_shown() -> bool:
    """Whether limit loads of pulls may be shown: every check passed.

    Returns
    -------
    shown : bool
    """
    return bool(pull_checks()["passed"].all())


def why_no_limits() -> str:
    """Say why no limit load of a pull is shown, empty where it is.

    Returns
    -------
    sentence : str
        With measured and predicted numbers.
    """
    if limits_shown():
        return ""
    said = []
    for row in pull_checks().itertuples():
        if row.passed:
            continue
        told = (
            "not predicted"
            if np.isnan(row.predicted)
            else f"predicted {row.predicted:.2f} ({row.low:.2f} to {row.high:.2f})"
        )
        said.append(
            f"{row.quantity}, {row.population}: measured {row.measured:.2f}, {told}"
        )
    return (
        "Demand and shares only, no limit load of a pull: measured people are not met. "
        + "; ".join(said)
        + "."
    )
