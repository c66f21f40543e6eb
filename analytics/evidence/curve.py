"""The curve test: logged strength against the modelled length–strength curve."""

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd
from threadpoolctl import threadpool_limits

from analytics.catalogue import Setup
from analytics.errors import InputError
from analytics.evidence.candidates import plan_next
from analytics.evidence.compare import compare
from analytics.evidence.comparison import Comparison
from analytics.evidence.direct import direct_points
from analytics.evidence.features import measured_curve
from analytics.evidence.observe import Observed, observe
from analytics.evidence.personal import personal_curve
from analytics.evidence.predictions import predict
from analytics.evidence.say import reasons
from analytics.evidence.verdict import (
    DISAGREES,
    cause_of,
    decide,
    shape_weights,
)
from analytics.strength import StrengthFit
from analytics.summary import Summary
from analytics.table_schema import column_names

DEFAULT_DRAWS = 2000
DEFAULT_SEED = 20250106


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CurveTest:
    """Verdict on the curve, with everything behind it.

    Attributes
    ----------
    movement, reference : str
        What was tested, and the setup ratios are given against.
    lifter : str or None
        None for the cohort.
    verdict : str
        On the shape: ``agrees``, ``disagrees`` or ``not enough data yet``.
    cause : str
        What makes a peaked curve: ``length``, ``leverage`` or ``cannot be told``.
    reasons : tuple of str
        Plain sentences with numbers.
    chi2, dof, p_value : float, int, float
        Fit of the peaked curve, whatever makes it; NaN where nothing could be
        compared. [1]
    log_evidence, weights : dict of str to float
        Log marginal likelihood of each shape and cause, and posterior weight of the
        shapes. [1]
    residuals : DataFrame
        One row per compared setup: ratios observed and predicted with 90 %
        intervals, ``residual_z`` and how far the rivals predict from the curve.
    left_out : DataFrame
        Model and baselines with each setup left out.
    more_data : DataFrame
        What to log next, in order: for a verdict, then to tell muscle length from
        leverage alone; empty once both are settled.
    direct_points : DataFrame
        Holds and failure angles as moments: ``kind, variant, angle_deg, moment_nm,
        n``.
    direct : DataFrame
        Peak, plateau, steepness and contrasts that these points draw, or how many
        more each needs.
    personal : DataFrame
        One lifter's peak angle, width, length sensitivity and scale; empty for
        the cohort.
    n_obs : int
        Sets behind the compared setups, the reference included.
    n_draws, seed : int
        Of the predictions.
    setups : tuple of Setup
        What each row of ``residuals`` is about.
    comparison : Comparison or None
        The arrays themselves.
    """

    movement: str
    reference: str
    lifter: str | None
    verdict: str
    cause: str
    reasons: tuple[str, ...]
    chi2: float
    dof: int
    p_value: float
    log_evidence: dict[str, float]
    weights: dict[str, float]
    residuals: pd.DataFrame
    left_out: pd.DataFrame
    more_data: pd.DataFrame
    direct_points: pd.DataFrame
    direct: pd.DataFrame
    personal: pd.DataFrame
    n_obs: int
    n_draws: int
    seed: int
    setups: tuple[Setup, ...]
    comparison: Comparison | None

    def summary(self) -> Summary:
        """Say on one screen what the test found.

        Returns
        -------
        summary : Summary
            Prints as text, and in a notebook as tables.
        """
        who = "the cohort" if self.lifter is None else self.lifter
        shown = ["setup", "sets", "ratio", "low", "high", "predicted", "residual_z"]
        table = self.residuals.reindex(columns=shown)
        return Summary(
            title=f"The log of {who} and the length–strength curve: {self.verdict}",
            sentences=self.reasons,
            tables={f"Ratios to {self.reference}, logged and predicted": table},
        )

    def _repr_html_(self) -> str:
        return self.summary()._repr_html_()

    def as_dict(self) -> dict[str, Any]:
        """Give the verdict as JSON-ready values: NaN becomes None.

        Returns
        -------
        fields : dict
            ``verdict, reasons, p_value, weights, residuals, left_out, more_data``
            and, beyond these, ``cause, direct_points, direct, personal, lifter,
            reference``.
        """
        return {
            "verdict": self.verdict,
            "cause": self.cause,
            "reasons": list(self.reasons),
            "p_value": _plain(self.p_value),
            "weights": self.weights,
            "residuals": _records(self.residuals),
            "left_out": _records(self.left_out),
            "more_data": _records(self.more_data),
            "direct_points": _records(self.direct_points),
            "direct": _records(self.direct),
            "personal": _records(self.personal),
            "lifter": self.lifter,
            "reference": self.reference,
        }


def _plain(value: Any) -> Any:
    if isinstance(value, np.generic):
        value = value.item()
    return None if isinstance(value, float) and not math.isfinite(value) else value


def _records(table: pd.DataFrame) -> list[dict[str, Any]]:
    return [
        {str(key): _plain(value) for key, value in row.items()}
        for row in table.to_dict("records")
    ]


def curve_test(
    fit: StrengthFit,
    *,
    lifter: str | None = None,
    sets: pd.Series | None = None,
    n_draws: int = DEFAULT_DRAWS,
    seed: int = DEFAULT_SEED,
) -> CurveTest:
    """Test whether logged strength fits the modelled length–strength curve.

    Parameters
    ----------
    fit : StrengthFit
        Strength of one movement.
    lifter : str or None
        Test one lifter's personal ratios instead of the cohort's.
    sets : Series of int, optional
        Usable sets by setup, where the fit does not list every set.
    n_draws, seed : int
        Parameter draws behind the predictions.

    Returns
    -------
    test : CurveTest
        Verdict, reasons and all tables.

    Raises
    ------
    InputError
        If it is given no fit.

    Notes
    -----
    See `decide` for the rule and `spreads_of` for the spread added to the
    covariances of log and model.
    """
    if isinstance(fit, pd.DataFrame):
        raise InputError(
            "`curve_test` needs a fit of one movement, got a table; make one of it by "
            "`fit`"
        )
    with threadpool_limits(1):  # matrices are small: threads would wait for each other
        seen = observe(fit, lifter=lifter, sets=sets)
        return _tested(seen, n_draws=n_draws, seed=seed)


def _tested(seen: Observed, *, n_draws: int, seed: int) -> CurveTest:
    points, cov = direct_points(seen.holds.table, seen.failures)
    direct = measured_curve(points, cov, n_draws=n_draws, seed=seed)
    seen, comparison = predict(seen, n_draws=n_draws, seed=seed)
    found = compare(comparison, seen)
    verdict = decide(
        found.log_evidence,
        p_value=found.p_value,
        setups=found.dof,
        sets=seen.sets,
        steady=seen.steady,
    )
    cause = cause_of(found.log_evidence, verdict)
    plan = pd.DataFrame()
    if comparison is not None:
        plan = pd.DataFrame(columns=column_names("more_data"))
        if verdict != DISAGREES:
            plan = plan_next(found.log_evidence, seen, comparison, seed=seed)
    return CurveTest(
        movement=seen.movement,
        reference=str(seen.wanted),
        lifter=seen.lifter,
        verdict=verdict,
        cause=cause,
        reasons=reasons(seen, found, plan, verdict=verdict, cause=cause),
        chi2=found.chi2,
        dof=found.dof,
        p_value=found.p_value,
        log_evidence=found.log_evidence,
        weights=shape_weights(found.log_evidence),
        residuals=found.residuals,
        left_out=found.left_out,
        more_data=plan,
        direct_points=points.drop(columns="level"),
        direct=direct,
        personal=personal_curve(seen, comparison, n_draws=n_draws, seed=seed),
        n_obs=0 if comparison is None else seen.sets,
        n_draws=n_draws,
        seed=seed,
        setups=seen.setups,
        comparison=comparison,
    )
