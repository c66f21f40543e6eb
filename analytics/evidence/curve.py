"""The curve test: logged strength against the modelled length–strength curve."""

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd
from threadpoolctl import threadpool_limits

from analytics.catalogue import load_catalogue
from analytics.evidence.candidates import COLUMNS, plan_next
from analytics.evidence.comparison import (
    Comparison,
    goodness_of_fit,
    length_information,
    log_evidence,
    predictive,
    shape_weights,
)
from analytics.evidence.direct import direct_points, measured_curve
from analytics.evidence.failures import failure_points
from analytics.evidence.holds import HoldRatios, hold_ratios, maximal_holds
from analytics.evidence.left_out import Z90, left_out, left_out_sentence
from analytics.evidence.more_data import Noise
from analytics.evidence.personal import personal_curve
from analytics.evidence.setups import Gathered, gather
from analytics.evidence.spread import log_sd
from analytics.evidence.verdict import (
    DISAGREES,
    LEAST_SETS,
    LEAST_SETUPS,
    NOT_ENOUGH,
    count,
    decide,
    open_question,
    reasons,
    share_caution,
)
from analytics.mechanics import LEVERAGE, SHAPES
from analytics.strength import StrengthFit

INFORMATIVE = 0.5  # spreads from peaked to flat; below, a setup says next to nothing
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
        ``agrees``, ``disagrees`` or ``not enough data yet``.
    reasons : tuple of str
        Plain sentences with numbers.
    chi2, dof, p_value : float, int, float
        Fit of the peaked curve; NaN where nothing could be compared. [1]
    log_evidence, weights : dict of str to float
        Log marginal likelihood of each shape and of leverage alone, and posterior
        weight of the shapes. [1]
    residuals : DataFrame
        One row per compared setup: ratios observed and predicted with 90 %
        intervals, ``residual_z`` and how far the rivals predict from the curve.
    left_out : DataFrame
        Model and baselines with each setup left out.
    more_data : DataFrame
        What to log next, in order: for a verdict, then to tell muscle length from
        leverage alone; empty once both are settled.
    direct_points : DataFrame
        Holds and failure angles as moments: ``kind, variant, elbow_deg, moment_nm,
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
    comparison : Comparison or None
        The arrays themselves.
    """

    movement: str
    reference: str
    lifter: str | None
    verdict: str
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
    comparison: Comparison | None

    def as_dict(self) -> dict[str, Any]:
        """Give the verdict as JSON-ready values: NaN becomes None.

        Returns
        -------
        fields : dict
            ``verdict, reasons, p_value, weights, residuals, left_out, more_data``
            and, beyond these, ``direct_points, direct, personal, lifter, reference``.
        """
        return {
            "verdict": self.verdict,
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
    n_draws, seed : int
        Parameter draws behind the predictions.

    Returns
    -------
    test : CurveTest
        Verdict, reasons and all tables.

    Notes
    -----
    See `decide` for the rule and `spreads_of` for the spread added to the
    covariances of log and model.
    """
    with threadpool_limits(1):  # matrices are small: threads would wait for each other
        return _curve_test(fit, lifter, n_draws=n_draws, seed=seed)


def _curve_test(
    fit: StrengthFit, lifter: str | None, *, n_draws: int, seed: int
) -> CurveTest:
    points, direct, holds, hold_sentence = _direct(
        fit, lifter, n_draws=n_draws, seed=seed
    )
    got = gather(fit, holds, lifter=lifter, n_draws=n_draws, seed=seed)
    comparison = got.comparison
    if comparison is None:
        return _nothing_compared(
            fit, got, lifter, points, direct, hold_sentence, n_draws=n_draws, seed=seed
        )
    residuals = _residuals(comparison, got.table)
    evidence = log_evidence(comparison)
    chi2, dof, p_value = goodness_of_fit(comparison)
    verdict = decide(evidence, p_value=p_value, setups=dof, sets=got.sets)
    between = residuals["between_sd"].to_numpy(dtype=float)
    left = left_out(comparison, fit.personal, between, lifter=lifter)
    plan = pd.DataFrame(columns=COLUMNS)
    if verdict != DISAGREES and got.n_ratios and open_question(evidence)[1]:
        noise = _noise(fit, lifter)
        plan = plan_next(
            evidence,
            got,
            comparison,
            noise,
            movement=fit.movement,
            lifter=lifter,
            seed=seed,
        )
    said = reasons(
        evidence,
        residuals,
        chi2=chi2,
        p_value=p_value,
        together=length_information(comparison)[1],
        sets=got.sets,
    )
    extra = [left_out_sentence(left), share_caution(got.share), _aside_sentence(got)]
    extra.append(hold_sentence)
    if verdict != DISAGREES:
        extra += _plan_sentences(plan, evidence, setups=dof, sets=got.sets)
    return CurveTest(
        movement=fit.movement,
        reference=fit.reference,
        lifter=lifter,
        verdict=verdict,
        reasons=(*said, *(text for text in extra if text)),
        chi2=chi2,
        dof=dof,
        p_value=p_value,
        log_evidence=evidence,
        weights=shape_weights(evidence),
        residuals=residuals.drop(columns="between_sd"),
        left_out=left,
        more_data=plan,
        direct_points=points,
        direct=direct,
        personal=_personal(fit, got, lifter, n_draws=n_draws, seed=seed),
        n_obs=got.sets,
        n_draws=n_draws,
        seed=seed,
        comparison=comparison,
    )


def _direct(
    fit: StrengthFit, lifter: str | None, *, n_draws: int, seed: int
) -> tuple[pd.DataFrame, pd.DataFrame, HoldRatios | None, str]:
    """Direct points and their curve, and the hold ratios that may join the test."""
    holds, effort_known, sentence = maximal_holds(fit.holds, lifter=lifter)
    points, known_cov = direct_points(holds, failure_points(fit, lifter=lifter))
    features = measured_curve(points, known_cov, n_draws=n_draws, seed=seed)
    ratios = hold_ratios(holds) if effort_known else None
    return points.drop(columns="level"), features, ratios, sentence


def _personal(
    fit: StrengthFit, got: Gathered, lifter: str | None, *, n_draws: int, seed: int
) -> pd.DataFrame:
    """Draw the lifter's own curve at the last strength in the reference."""
    mine = fit.trend[
        (fit.trend["lifter"] == lifter) & (fit.trend["setup"] == got.reference_setup)
    ]
    if mine.empty or got.comparison is None or got.reference is None:
        return pd.DataFrame()
    last = mine.sort_values("date").iloc[-1]
    arms = load_catalogue().variants[got.reference[0]].arms_share
    return personal_curve(
        got.comparison,
        got.reference,
        log_strength=math.log(last["strength_kg"] / arms),
        log_sd=math.log(last["high_kg"] / last["low_kg"]) / (2 * Z90),
        n_draws=n_draws,
        seed=seed,
    )


def _residuals(comparison: Comparison, rows: pd.DataFrame) -> pd.DataFrame:
    own = np.sqrt(np.diag(comparison.cov))
    mean, sd = predictive(comparison)
    flat, inverted, leverage = (
        length_information(comparison, rival=rival)[0]
        for rival in ("flat", "inverted", LEVERAGE)
    )
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
            "information_inverted": inverted,
            "information_leverage": leverage,
            "informative": flat >= INFORMATIVE,
            "between_sd": rows["between_sd"].to_numpy(dtype=float),
        }
    )


def _plan_sentences(
    plan: pd.DataFrame, evidence: dict[str, float], *, setups: int, sets: int
) -> list[str]:
    """Say what to log next, and whether logging can settle the question at all."""
    said = list(plan["sentence"])
    short = [
        count(least - have, f"more {what}")
        for least, have, what in (
            (LEAST_SETUPS, setups, "setup"),
            (LEAST_SETS, sets, "set"),
        )
        if have < least
    ]
    if short:
        said.append(f"Before any verdict it needs at least {' and '.join(short)}.")
    settled = plan["enough"].iloc[-1] if len(plan) else not open_question(evidence)[1]
    if not settled:
        said.append(
            "More sets alone may not settle it: published muscle parameters and "
            "curves differ too much to tell these ideas apart in such setups."
        )
    return said


def _noise(fit: StrengthFit, lifter: str | None) -> Noise:
    """Noise of a further set, from the fit where it has its own."""
    set_sd = float(fit.hyper.get("set_sd", 0.0))
    day_sd = float(fit.hyper.get("day_sd", log_sd("session")))
    between = fit.ratios["between_sd"].median()
    return Noise(
        set_sd=math.hypot(set_sd, day_sd),
        between_sd=float(between) if lifter is None and between > 0 else 0.0,
        lifters=fit.n_lifters if lifter is None else 1,
    )


def _aside_sentence(got: Gathered) -> str:
    if not got.left_aside:
        return ""
    return f"Left out because no mechanics exist for them: {', '.join(got.left_aside)}."


def _nothing_compared(
    fit: StrengthFit,
    got: Gathered,
    lifter: str | None,
    points: pd.DataFrame,
    direct: pd.DataFrame,
    hold_sentence: str,
    *,
    n_draws: int,
    seed: int,
) -> CurveTest:
    who = "the log" if lifter is None else f"the log of {lifter}"
    catalogue = load_catalogue().movements.get(fit.movement)
    reference = fit.reference or (catalogue.reference if catalogue else None)
    beside = f" beside the reference {reference}" if reference else ""
    sentence = (
        f"Nothing to compare: {who} has no strength in a modelled variant{beside}. Log "
        "the reference and three other modelled variants in the same weeks."
    )
    if fit.reference and got.reference_setup is None:
        sentence = (
            f"There are no mechanics for the reference {fit.reference}, so no ratio "
            "to it can be predicted: the curve test does not apply."
        )
    even = dict.fromkeys(SHAPES, 1.0 / len(SHAPES))
    return CurveTest(
        movement=fit.movement,
        reference=str(fit.reference),
        lifter=lifter,
        verdict=NOT_ENOUGH,
        reasons=tuple(x for x in (sentence, _aside_sentence(got), hold_sentence) if x),
        chi2=math.nan,
        dof=0,
        p_value=math.nan,
        log_evidence=dict.fromkeys((*SHAPES, LEVERAGE), 0.0),
        weights=even,
        residuals=pd.DataFrame(),
        left_out=pd.DataFrame(),
        more_data=pd.DataFrame(),
        direct_points=points,
        direct=direct,
        personal=pd.DataFrame(),
        n_obs=0,
        n_draws=n_draws,
        seed=seed,
        comparison=None,
    )
