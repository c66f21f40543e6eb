"""The model judged: strength, ratios and next load as the library gives them."""

import numpy as np
import pandas as pd

from analytics.strength import StrengthFit, fit_strength, predict
from analytics.strength.model.results import Z90, strength_kg

_LATEST: list = []  # the sets last fitted, their reference and the fit


def fit_of(sets: pd.DataFrame, reference: str | None = None) -> StrengthFit:
    """The fit of a log, made once while the log is judged."""
    if not (_LATEST and _LATEST[0] is sets and _LATEST[1] == reference):
        fit = fit_strength(
            sets.assign(equipment="", arms_share=1.0), reference=reference
        )
        _LATEST[:] = [sets, reference, fit]
    return _LATEST[2]


def estimate(sets: pd.DataFrame, wanted: pd.DataFrame) -> pd.DataFrame:
    fit = fit_of(sets)
    state = wanted.assign(date=pd.to_datetime(wanted["date"]), setup=wanted["variant"])
    state = state[["lifter", "setup", "date"]].merge(
        fit.trend, "left", ["lifter", "setup", "date"]
    )
    out = wanted.reset_index(drop=True).copy()
    for reps in out["reps"].unique():
        at = (out["reps"] == reps).to_numpy()
        kg = strength_kg(
            fit, state[at].drop(columns=["strength_kg", "low_kg", "high_kg"]), reps=reps
        )
        for name in kg:
            out.loc[at, name] = kg[name].to_numpy()
    return out


def ratios(sets: pd.DataFrame, reference: str) -> pd.DataFrame:
    return fit_of(sets, reference).ratios


def advise(sets, lifter, variant, reps, rir, on_date):
    fit = fit_of(sets)
    mean, sd = predict(fit, lifter, variant, on_date, reps=reps + rir)
    sd = np.hypot(sd, fit.hyper["day_sd"])
    return tuple(np.exp(mean + k * sd) for k in (0, -Z90, Z90))
