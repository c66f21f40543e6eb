"""The decision rule of the curve test, and the sentences that give its reasons."""

import math

import numpy as np
import pandas as pd

AGREES = "agrees"
DISAGREES = "disagrees"
NOT_ENOUGH = "not enough data yet"

# If the truth is one of the draws, a false shape looks 10 times better than the true
# one in at most 1 log of 10, of any size (Markov's inequality); simulation puts wrong
# agreement far below (``data/power.csv``).
DECISIVE_RATIO = 10.0
FIT_LEVEL = 0.01
LEAST_SETUPS = 3  # besides the reference; with less no verdict is given either way
LEAST_SETS = 30


def decide(
    log_evidence: dict[str, float], *, p_value: float, setups: int, sets: int
) -> str:
    """Verdict from the evidence for each shape and the fit of the peaked one.

    Parameters
    ----------
    log_evidence : dict of str to float
        Log marginal likelihood of ``peaked``, ``flat`` and ``inverted``.
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
    With fewer than 3 setups besides the reference, or fewer than 30 sets, always
    ``not enough data yet``. ``agrees``: the log is at least 10 times likelier under
    the peaked curve than under each rival, and the peaked curve fits (p of 0.01 or
    more). ``disagrees``: a rival is at least 10 times likelier than the peaked
    curve, or the peaked curve does not fit. Everything else is ``not enough data
    yet``.
    """
    if setups < LEAST_SETUPS or sets < LEAST_SETS:
        return NOT_ENOUGH
    rivals = [value for shape, value in log_evidence.items() if shape != "peaked"]
    lead = log_evidence["peaked"] - max(rivals)
    if lead <= -math.log(DECISIVE_RATIO) or p_value < FIT_LEVEL:
        return DISAGREES
    return AGREES if lead >= math.log(DECISIVE_RATIO) else NOT_ENOUGH


def is_decisive(log_evidence: dict[str, float]) -> bool:
    """Tell whether the evidence is enough for a verdict, one way or the other.

    Parameters
    ----------
    log_evidence : dict of str to float
        Log marginal likelihood of ``peaked``, ``flat`` and ``inverted``.

    Returns
    -------
    decisive : bool
        The peaked curve leads both rivals, or trails one, 10 times.
    """
    lead = log_evidence["peaked"] - max(log_evidence["flat"], log_evidence["inverted"])
    return abs(lead) >= math.log(DECISIVE_RATIO)


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
    return f"{number} {what}{'' if number == 1 else 's'}"


def _times(log_ratio: float) -> str:
    """Say a likelihood ratio above 1 the way people say it."""
    if log_ratio > math.log(1e6):
        return "more than a million times"
    times = math.exp(log_ratio)
    return f"{times:,.0f} times" if times >= 100 else f"{times:.3g} times"


def _shape_sentence(log_evidence: dict[str, float]) -> str:
    parts = []
    for rival in ("flat", "inverted"):
        lead = log_evidence["peaked"] - log_evidence[rival]
        word = "likelier" if lead >= 0 else "less likely"
        parts.append(f"{_times(abs(lead))} {word} than under the {rival} one")
    return (
        f"Under the peaked curve the log is {parts[0]} and {parts[1]}; "
        f"a verdict asks for {DECISIVE_RATIO:.0f} times."
    )


def _fit_sentence(chi2: float, dof: int, p_value: float) -> str:
    how = "no more than" if p_value >= FIT_LEVEL else "more than"
    return (
        f"Log and peaked curve differ by {how} their uncertainties explain: "
        f"χ² {chi2:.1f} on {count(dof, 'setup')}, p = {p_value:.2g}."
    )


def _information_sentence(residuals: pd.DataFrame, together: float) -> str:
    telling = residuals[residuals["informative"]]
    if telling.empty:
        return (
            "None of the logged setups by itself carries information about muscle "
            f"length (all together separate peaked from flat by {together:.1f} "
            "spreads): the differences between them are geometry of the resistance."
        )
    top = telling.sort_values("information", ascending=False).head(3)
    named = ", ".join(
        f"{row.setup} ({row.information:.1f})" for row in top.itertuples()
    )
    return (
        f"Information about muscle length is in {named}, in spreads between the "
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
        Log marginal likelihood per shape.
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
        Shapes, fit, worst residual, information and amount of data.
    """
    worst = residuals.loc[residuals["residual_z"].abs().idxmax()]
    side = "stronger" if worst["residual_z"] > 0 else "weaker"
    return (
        _shape_sentence(log_evidence),
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
