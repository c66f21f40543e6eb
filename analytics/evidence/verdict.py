"""The decision rule of the curve test: first the shape, then what makes it."""

import math
from dataclasses import dataclass

import pandas as pd
from scipy import special

from analytics.mechanics import LEVERAGE, MILD, SHAPES

AGREES = "agrees"
DISAGREES = "disagrees"
NOT_ENOUGH = "not enough data yet"

# Three ideas of what makes joint strength peak in the middle; all are of that shape.
CAUSES = ("peaked", LEVERAGE, MILD)
IDEAS = (*SHAPES, LEVERAGE, MILD)
RIVALS = SHAPES[1:]
LENGTH, UNTOLD = "length", "cannot be told"

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
        Log marginal likelihood of every shape and cause.
    chi2, dof, p_value : float, int, float
        Fit of the peaked shape, whatever makes it; NaN where nothing was compared. [1]
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


def peaked_evidence(log_evidence: dict[str, float]) -> float:
    """Evidence for a peaked joint strength, whatever makes it.

    Parameters
    ----------
    log_evidence : dict of str to float
        Log marginal likelihood of every shape and cause.

    Returns
    -------
    log_evidence : float
        Mean over muscle length, leverage alone and half as deep a curve. [1]
    """
    each = [log_evidence[cause] for cause in CAUSES]
    return float(special.logsumexp(each) - math.log(len(each)))


def shape_weights(log_evidence: dict[str, float]) -> dict[str, float]:
    """Posterior weight of each shape of joint strength from equal priors.

    Parameters
    ----------
    log_evidence : dict of str to float
        Log marginal likelihood of every shape and cause.

    Returns
    -------
    weights : dict of str to float
        They sum to 1. [1]
    """
    rivals = [log_evidence[shape] for shape in RIVALS]
    values = special.softmax([peaked_evidence(log_evidence), *rivals])
    return dict(zip(SHAPES, values.tolist(), strict=True))


def decide(
    log_evidence: dict[str, float],
    *,
    p_value: float,
    setups: int,
    sets: int,
    steady: bool = True,
) -> str:
    """Verdict from the evidence for each shape and the fit of the peaked one.

    Parameters
    ----------
    log_evidence : dict of str to float
        Log marginal likelihood of every shape and cause.
    p_value : float
        Goodness of fit of the peaked shape. [1]
    setups : int
        Compared setups besides the reference.
    sets : int
        Logged sets behind them.
    steady : bool
        False for one lifter whose body could help in every setup.

    Returns
    -------
    verdict : str
        ``agrees``, ``disagrees`` or ``not enough data yet``.

    Notes
    -----
    With fewer than 3 setups besides the reference, fewer than 60 sets, or nothing
    steady, always ``not enough data yet``. ``agrees``: the log is at least 10 times
    likelier under a peaked joint strength than with each rival (flat, inverted, only
    rising, only falling), and the peaked curve fits (p of 0.01 or more).
    ``disagrees``: a rival is at least 10 times likelier than every peaked curve, or
    none of these fits. Everything else is ``not enough data yet``. What makes the
    curve is another question: `cause_of`.
    """
    if setups < LEAST_SETUPS or sets < LEAST_SETS or not steady:
        return NOT_ENOUGH
    asked = math.log(DECISIVE_RATIO)
    rival = max(log_evidence[shape] for shape in RIVALS)
    best = max(log_evidence[cause] for cause in CAUSES)
    if p_value < FIT_LEVEL or rival - best >= asked:
        return DISAGREES
    return AGREES if peaked_evidence(log_evidence) - rival >= asked else NOT_ENOUGH


def cause_of(log_evidence: dict[str, float], verdict: str) -> str:
    """Tell what makes the curve, once joint strength is known to be peaked.

    Parameters
    ----------
    log_evidence : dict of str to float
        Log marginal likelihood of every shape and cause.
    verdict : str
        Result of `decide`.

    Returns
    -------
    cause : str
        ``length`` or ``leverage`` where the log agrees and that is 10 times likelier
        than the other and than a curve half as deep, else ``cannot be told``.
    """
    if verdict != AGREES:
        return UNTOLD
    first, second, *_ = sorted(CAUSES, key=lambda cause: -log_evidence[cause])
    lead = log_evidence[first] - log_evidence[second]
    if first == MILD or lead < math.log(DECISIVE_RATIO):
        return UNTOLD
    return LENGTH if first == "peaked" else LEVERAGE


def open_question(log_evidence: dict[str, float]) -> tuple[str, tuple[str, ...]]:
    """Tell what the log has not decided: first the shape, then what makes it.

    Parameters
    ----------
    log_evidence : dict of str to float
        Log marginal likelihood of every shape and cause.

    Returns
    -------
    lead, rivals : str, tuple of str
        What leads, and what it does not lead 10 times; no rivals if all is decided.
    """
    asked = math.log(DECISIVE_RATIO)
    rival = max(RIVALS, key=lambda shape: log_evidence[shape])
    first, *rest = sorted(CAUSES, key=lambda cause: -log_evidence[cause])
    lead = peaked_evidence(log_evidence) - log_evidence[rival]
    if lead < 0:  # a rival that leads only has to beat the peaked curve
        behind = log_evidence[rival] - log_evidence[first]
        return rival, () if behind >= asked else (first,)
    if lead < asked:
        return first, RIVALS
    ahead = log_evidence[first] - log_evidence[rest[0]]
    return first, () if ahead >= asked else tuple(rest)
