"""Measured ratios between lifts, pooled: what stands in where no model is trusted."""

from __future__ import annotations

import numpy as np
import pandas as pd

from analytics.catalogue import load_catalogue
from analytics.intervals import Z90

PERSON_LOG_SD = 0.10  # of one person's ratio: the table's note
STUDY_LOG_SD = 0.06  # what studies differ by besides


def measured_ratios() -> pd.DataFrame:
    """Return every measured ratio with its interval.

    Returns
    -------
    ratios : DataFrame
        ``variant, over, ratio, low, high, n, people, how, source``: total loads, and
        90 % intervals of the mean. [1]
    """
    table = load_catalogue().tables["lift_ratios"]
    ratio, n = table.numbers("ratio"), table.numbers("n")
    reach = np.exp(Z90 * np.hypot(PERSON_LOG_SD / np.sqrt(n), STUDY_LOG_SD))
    return pd.DataFrame(
        {
            "variant": table.columns["variant"],
            "over": table.columns["over"],
            "ratio": ratio,
            "low": ratio / reach,
            "high": ratio * reach,
            "n": n.astype(int),
            "people": table.columns["people"],
            "how": table.columns["how"],
            "source": table.columns["origin"],
        }
    )


def published_ratio(variant: str, over: str) -> tuple[float, float, str] | None:
    """Pool what was measured of one lift over another.

    Parameters
    ----------
    variant, over : str
        Ids of the catalogue, in either order of the table.

    Returns
    -------
    ratio : (float, float, str) or None
        Log of the ratio of total loads, its standard deviation for one more person, and
        the sources; None where nothing was measured. [1]
    """
    rows = measured_ratios()
    forward = rows[(rows["variant"] == variant) & (rows["over"] == over)]
    back = rows[(rows["variant"] == over) & (rows["over"] == variant)]
    logs = np.concatenate([np.log(forward["ratio"]), -np.log(back["ratio"])])
    if not logs.size:
        return None
    n = np.concatenate([forward["n"], back["n"]]).astype(float)
    weight = 1 / (PERSON_LOG_SD**2 / n + STUDY_LOG_SD**2)
    mean = float(np.sum(weight * logs) / weight.sum())
    spread = float(np.sqrt(1 / weight.sum()))
    if logs.size > 1:  # studies that disagree say so
        spread = max(spread, float(np.std(logs, ddof=1)))
    found = ", ".join(dict.fromkeys([*forward["source"], *back["source"]]))
    return mean, float(np.hypot(spread, PERSON_LOG_SD)), found
