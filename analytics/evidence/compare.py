"""Log against predictions: which shape, how well it fits, and each setup left out."""

import math

import numpy as np
import pandas as pd

from analytics.evidence.comparison import (
    Comparison,
    goodness_of_fit,
    length_information,
    log_evidence,
    predictive,
)
from analytics.evidence.left_out import left_out
from analytics.evidence.observe import Observed
from analytics.evidence.verdict import CAUSES, IDEAS, INFORMATIVE, RIVALS, Findings
from analytics.intervals import Z90
from analytics.mechanics import LEVERAGE

_NOTHING = Findings(
    log_evidence=dict.fromkeys(IDEAS, 0.0),
    chi2=math.nan,
    dof=0,
    p_value=math.nan,
    together=math.nan,
    residuals=pd.DataFrame(),
    left_out=pd.DataFrame(),
)


def compare(comparison: Comparison | None, seen: Observed) -> Findings:
    """Weigh the shapes, test the fit and leave each setup out.

    Parameters
    ----------
    comparison : Comparison or None
        Result of `predict`.
    seen : Observed
        What was compared.

    Returns
    -------
    findings : Findings
        Even and empty where nothing was compared.
    """
    if comparison is None:
        return _NOTHING
    chi2, dof, p_value = min(goodness_of_fit(comparison, shape=one) for one in CAUSES)
    between = seen.table["between_sd"].to_numpy(dtype=float)
    return Findings(
        log_evidence=log_evidence(comparison),
        chi2=chi2,
        dof=dof,
        p_value=p_value,
        together=length_information(comparison)[1],
        residuals=_residuals(comparison, seen.table),
        left_out=left_out(comparison, seen.personal, between, lifter=seen.lifter),
    )


def _residuals(comparison: Comparison, rows: pd.DataFrame) -> pd.DataFrame:
    own = np.sqrt(np.diag(comparison.cov))
    mean, sd = predictive(comparison)
    told = {
        rival: length_information(comparison, rival=rival)[0]
        for rival in (*RIVALS, LEVERAGE)
    }
    flat = told.pop("flat")
    reach = Z90 * sd
    return pd.DataFrame(
        {
            "setup": comparison.labels,
            "variant": rows["variant"].to_numpy(),
            "range_from_deg": rows["range_from_deg"].to_numpy(dtype=float),
            "range_to_deg": rows["range_to_deg"].to_numpy(dtype=float),
            "sets": rows["sets"].to_numpy(dtype=float),
            "ratio": np.exp(comparison.observed),
            "low": np.exp(comparison.observed - Z90 * own),
            "high": np.exp(comparison.observed + Z90 * own),
            "predicted": np.exp(mean),
            "predicted_low": np.exp(mean - reach),
            "predicted_high": np.exp(mean + reach),
            "residual_z": (comparison.observed - mean) / np.hypot(own, sd),
            "information": flat,
            **{f"information_{rival}": far for rival, far in told.items()},
            "informative": flat >= INFORMATIVE,
        }
    )
