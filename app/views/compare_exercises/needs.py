"""The log's ratios beside what the model predicts for each."""

from dataclasses import replace

import pandas as pd

from app.fits import curve_test, of, seen
from app.state import Choice


def ratio_table(choice: Choice) -> pd.DataFrame:
    """Return the ratios that may be seen beside what the model predicts for each."""
    ratios, test = seen(choice).ratios, curve_test(replace(choice, lifter=None))
    names = ["setup", "predicted", "predicted_low", "predicted_high"]
    if test.comparison is None:
        return ratios.assign(**dict.fromkeys(names[1:], float("nan")))
    return ratios.merge(test.residuals[names], on="setup", how="left")


def personal(choice: Choice, cohort: pd.DataFrame) -> pd.DataFrame:
    """Return the chosen lifter's ratios beside everyone's, where these may be seen."""
    everyone = cohort[["setup", "ratio"]].rename(columns={"ratio": "cohort_ratio"})
    return of(seen(choice).personal, choice.lifter).merge(everyone, "left", on="setup")
