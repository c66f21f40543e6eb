"""The decision rule of the curve test, and the sentences that give its reasons."""

import math

import numpy as np
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
LEAST_SETS = 60  # about five days of each of four setups; assumed


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


def p_in_words(p_value: float) -> str:
    """Say a p value with no more digits than mean something.

    Parameters
    ----------
    p_value : float
        From 0 to 1. [1]

    Returns
    -------
    words : str
        Such as ``p = 0.035``, or ``p < 0.001``.
    """
    return f"p = {p_value:.2g}" if p_value >= 0.001 else "p < 0.001"


def count(number: int, what: str) -> str:
    """Say how many, singular where it is one.

    Parameters
    ----------
    number : int
        How many.
    what : str
        Singular.

    Returns
    -------
    words : str
    """
    return f"{number:,} {what}{'' if number == 1 else 's'}"


def _times(log_ratio: float) -> str:
    """Say a likelihood ratio above 1 the way people say it."""
    if log_ratio > math.log(1e6):
        return "more than a million times"
    times = math.exp(log_ratio)
    return f"{times:,.0f} times" if times >= 100 else f"{times:.3g} times"


def _shape_sentence(log_evidence: dict[str, float]) -> str:
    parts = []
    for rival in SHAPES[1:]:
        lead = log_evidence["peaked"] - log_evidence[rival]
        word = "likelier" if lead >= 0 else "less likely"
        parts.append(f"{_times(abs(lead))} {word} than under the {rival} one")
    return (
        f"Under the peaked curve the log is {parts[0]} and {parts[1]}; "
        f"a verdict asks for {DECISIVE_RATIO:.0f} times."
    )


def _cause_sentence(log_evidence: dict[str, float]) -> str:
    """Say whether muscle length has a part in the curve, or leverage alone makes it."""
    lead = log_evidence["peaked"] - log_evidence[LEVERAGE]
    times = _times(abs(lead))
    if abs(lead) < math.log(DECISIVE_RATIO):
        return (
            "Whether muscle length or leverage alone makes the curve cannot be told "
            "from these setups: muscle force that is the same at every length, with "
            "the same moment arms, predicts nearly the same strengths "
            f"({times} {'less' if lead >= 0 else 'more'} likely)."
        )
    if lead > 0:
        return (
            f"Leverage alone does not make the curve: the log is {times} likelier "
            "with the published force by length than with a force that is the same at "
            "every length."
        )
    return (
        f"Leverage alone makes the curve: the log is {times} likelier with a muscle "
        "force that is the same at every length than with the published one."
    )


def _fit_sentence(chi2: float, dof: int, p_value: float) -> str:
    how = "no more than" if p_value >= FIT_LEVEL else "more than"
    return (
        f"Log and peaked curve differ by {how} their uncertainties explain: "
        f"χ² {chi2:.1f} on {count(dof, 'setup')}, {p_in_words(p_value)}."
    )


def _information_sentence(residuals: pd.DataFrame, together: float) -> str:
    telling = residuals[residuals["informative"]]
    if telling.empty:
        return (
            "None of the logged setups by itself carries information about the curve "
            f"(all together separate peaked from flat by {together:.1f} spreads): the "
            "differences between them are geometry of the resistance."
        )
    top = telling.sort_values("information", ascending=False).head(3)
    named = ", ".join(
        f"{row.setup} ({row.information:.1f})" for row in top.itertuples()
    )
    return (
        f"Information about the curve is in {named}, in spreads between the "
        f"peaked and flat predictions; all together {together:.1f}."
    )


def reasons(
    log_evidence: dict[str, float],
    residuals: pd.DataFrame,
    *,
    chi2: float,
    p_value: float,
    together: float,
    sets: int,
) -> tuple[str, ...]:
    """Plain sentences with the numbers behind a verdict.

    Parameters
    ----------
    log_evidence : dict of str to float
        Log marginal likelihood per shape and of leverage alone.
    residuals : DataFrame
        One row per setup: ``setup, residual_z, information, informative``.
    chi2, p_value : float
        Goodness of fit of the peaked shape. [1]
    together : float
        Distance of peaked and flat predictions over all setups. [1]
    sets : int
        Logged sets behind the comparison.

    Returns
    -------
    sentences : tuple of str
        Shapes, leverage, fit, worst residual, information and amount of data.
    """
    worst = residuals.loc[residuals["residual_z"].abs().idxmax()]
    side = "stronger" if worst["residual_z"] > 0 else "weaker"
    return (
        _shape_sentence(log_evidence),
        _cause_sentence(log_evidence),
        _fit_sentence(chi2, len(residuals), p_value),
        f"Largest residual: {worst['setup']} is {side} than predicted by "
        f"{abs(worst['residual_z']):.1f} standard deviations.",
        _information_sentence(residuals, together),
        f"Compared: {count(len(residuals), 'setup')} against the reference, from "
        f"{count(sets, 'set')}; a verdict asks for {LEAST_SETUPS} setups and "
        f"{LEAST_SETS} sets.",
    )


def share_caution(share: dict[str, float]) -> str | None:
    """Caution when one setup holds most of the training.

    Parameters
    ----------
    share : dict of str to float
        Share of all sets per setup.

    Returns
    -------
    caution : str or None
        None when no setup holds more than half.
    """
    if not share:
        return None
    setup = max(share, key=lambda name: share[name])
    if share[setup] <= 0.5 or not np.isfinite(share[setup]):
        return None
    return (
        f"{share[setup]:.0%} of the sets were done in {setup}: strength is specific "
        "to the trained variant (published), so these ratios may lean towards it; "
        "this is allowed for as extra spread."
    )
