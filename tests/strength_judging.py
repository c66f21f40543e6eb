"""Errors of a fit against the truth of a simulated cohort, and of common practice."""

import numpy as np
from strength_generator import VARIANTS

from analytics.strength import fit_strength

Z90 = 1.645


def judged(cohort):
    """Errors and standardised errors of a fit of one cohort."""
    fit = fit_strength(cohort.sets)
    at = fit.trend.merge(cohort.truth, on=["lifter", "setup", "date"])
    error = (at.log_strength - at.true).to_numpy()
    place = {v: n for n, v in enumerate(VARIANTS)}
    mine = [
        cohort.personal[a][place[v]]
        for a, v in zip(fit.personal.lifter, fit.personal.setup, strict=True)
    ]
    personal = np.log(fit.personal.ratio) - mine
    personal_sd = np.log(fit.personal.high / fit.personal.low) / 2 / Z90
    ratio = fit.log_ratio - [cohort.offsets[s] for s in fit.ratio_setups]
    ratio_sd = np.sqrt(np.diag(fit.log_ratio_cov))
    return fit, {
        "strength": (error, error / at.log_sd.to_numpy()),
        "personal": (personal.to_numpy(), (personal / personal_sd).to_numpy()),
        "ratio": (ratio, ratio / ratio_sd),
        "weekly best": weekly_best(cohort),
        "average": average_of_all(cohort),
    }


def implied_by_one_equation(sets):
    return np.log(sets.load_kg * (1 + sets.reps / 30))


def against_truth(table, cohort):
    joined = table.merge(cohort.truth, on=["lifter", "setup", "date"])
    return (joined.guess - joined.true).to_numpy()


def weekly_best(cohort):
    """Common practice: the best set of the week through one equation."""
    sets = cohort.sets.assign(
        guess=implied_by_one_equation(cohort.sets),
        week=cohort.sets.performed_on.dt.isocalendar().week.to_numpy(),
    ).rename(columns={"variant": "setup", "performed_on": "date"})
    sets["guess"] = sets.groupby(["lifter", "setup", "week"]).guess.transform("max")
    return against_truth(sets.drop_duplicates(["lifter", "setup", "date"]), cohort)


def average_of_all(cohort):
    """Common practice: the mean of all sets of the day through one equation."""
    sets = cohort.sets.assign(guess=implied_by_one_equation(cohort.sets))
    sets = sets.rename(columns={"variant": "setup", "performed_on": "date"})
    return against_truth(
        sets.groupby(["lifter", "setup", "date"]).guess.mean().reset_index(), cohort
    )
