"""The decision rule of the curve test."""

import math
from dataclasses import dataclass

import pandas as pd

from analytics.mechanics import LEVERAGE, SHAPES

AGREES = "agrees"
DISAGREES = "disagrees"
NOT_ENOUGH = "not enough data yet"

# If the truth is one of the draws, a false shape looks 10 times better than the true
# one in at most 1 log of 10, of any size (Markov's inequality); simulation puts wrong
# agreement far below (``data/power.csv``).
DECISIVE_RATIO = 10.0
FIT_LEVEL = 0.01
LEAST_SETUPS = 3  # besides the reference; with less no verdict is given either way
INFORMATIVE = 0.5  # spreads from peaked to flat; below, a setup says next to nothing
LEAST_SETS = 60  # about five days of each of four setups; assumed


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Findings:
    """What comparing log and model gave.

    Attributes
    ----------
    log_evidence : dict of str to float
        Log marginal likelihood of ``peaked``, ``flat``, ``inverted`` and ``leverage``.
    chi2, dof, p_value : float, int, float
        Fit of the peaked shape; NaN where nothing was compared. [1]
    together : float
        Distance of peaked and flat predictions over all setups. [1]
    residuals, left_out : DataFrame
        As in `CurveTest`.
    """

    log_evidence: dict[str, float]
    chi2: float
    dof: int
    p_value: float
    together: float
    residuals: pd.DataFrame
    left_out: pd.DataFrame


def decide(
    log_evidence: dict[str, float], *, p_value: float, setups: int, sets: int
) -> str:
    """Verdict from the evidence for each shape and the fit of the peaked one.

    Parameters
    ----------
    log_evidence : dict of str to float
        Log marginal likelihood of ``peaked``, ``flat``, ``inverted`` and ``leverage``.
    p_value : float
        Goodness of fit of the peaked shape. [1]
    setups : int
        Compared setups besides the reference.
    sets : int
        Logged sets behind them.

    Returns
    -------
    verdict : str
        ``agrees``, ``disagrees`` or ``not enough data yet``.

    Notes
    -----
    With fewer than 3 setups besides the reference, or fewer than 60 sets, always
    ``not enough data yet``. ``agrees``: the log is at least 10 times likelier under
    the peaked curve than with flat and with inverted joint strength, and the peaked
    curve fits (p of 0.01 or more). ``disagrees``: one of these, or leverage alone, is
    at least 10 times likelier than the peaked curve, or the peaked curve does not
    fit. Everything else is ``not enough data yet``.
    """
    if setups < LEAST_SETUPS or sets < LEAST_SETS:
        return NOT_ENOUGH
    asked = math.log(DECISIVE_RATIO)
    behind = max(log_evidence.values()) - log_evidence["peaked"]
    if p_value < FIT_LEVEL or behind >= asked:
        return DISAGREES
    lead = log_evidence["peaked"] - max(log_evidence["flat"], log_evidence["inverted"])
    return AGREES if lead >= asked else NOT_ENOUGH


def open_question(log_evidence: dict[str, float]) -> tuple[str, tuple[str, ...]]:
    """Tell what the log has not decided: first the shape, then what makes it.

    Parameters
    ----------
    log_evidence : dict of str to float
        Log marginal likelihood of ``peaked``, ``flat``, ``inverted`` and ``leverage``.

    Returns
    -------
    lead, rivals : str, tuple of str
        What leads, and what it does not lead 10 times; no rivals if all is decided.
    """
    lead = max(SHAPES, key=lambda shape: log_evidence[shape])
    # A rival that leads only has to beat the peaked curve.
    rivals = SHAPES[1:] if lead == "peaked" else SHAPES[:1]
    if not _decided(log_evidence, lead, rivals):
        return lead, rivals
    if lead == "peaked":
        causes = sorted(("peaked", LEVERAGE), key=lambda cause: -log_evidence[cause])
        lead, rivals = causes[0], (causes[1],)
    return lead, () if _decided(log_evidence, lead, rivals) else rivals


def _decided(
    log_evidence: dict[str, float], lead: str, rivals: tuple[str, ...]
) -> bool:
    gap = log_evidence[lead] - max(log_evidence[rival] for rival in rivals)
    return gap >= math.log(DECISIVE_RATIO)
