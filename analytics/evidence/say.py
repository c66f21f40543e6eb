"""Every sentence of the evidence stage: what was decided, why, and what to log next."""

import math

import numpy as np
import pandas as pd

from analytics.catalogue import Setup, load_catalogue
from analytics.evidence.holds import Holds
from analytics.evidence.observe import Observed
from analytics.evidence.verdict import (
    AGREES,
    DECISIVE_RATIO,
    DISAGREES,
    FIT_LEVEL,
    LEAST_SETS,
    LEAST_SETUPS,
    LENGTH,
    RIVALS,
    Findings,
    open_question,
    peaked_evidence,
)
from analytics.mechanics import LEVERAGE, MILD


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
    """Say how many, singular where it is one."""
    return f"{number:,} {what}{'' if number == 1 else 's'}"


def _times(log_ratio: float) -> str:
    """Say a likelihood ratio above 1 the way people say it."""
    if log_ratio > math.log(1e6):
        return "more than a million times"
    times = math.exp(log_ratio)
    return f"{times:,.0f} times" if times >= 100 else f"{times:.3g} times"


def _shape_sentence(log_evidence: dict[str, float]) -> str:
    rival = max(RIVALS, key=lambda shape: log_evidence[shape])
    lead = peaked_evidence(log_evidence) - log_evidence[rival]
    word = "likelier" if lead >= 0 else "less likely"
    return (
        f"With strength that peaks inside the range the log is {_times(abs(lead))} "
        f"{word} than with {_SHAPES[rival]}, the closest of {len(RIVALS)} rivals; a "
        f"verdict asks for {DECISIVE_RATIO:.0f} times."
    )


_SHAPES = {
    "flat": "one that is the same at every angle",
    "inverted": "one that is greatest at the ends",
    "rising": "one that only rises as the joint bends",
    "falling": "one that only falls as the joint bends",
}


def _cause_sentence(log_evidence: dict[str, float], verdict: str, cause: str) -> str:
    """Say whether muscle length has a part in the curve, or leverage alone makes it."""
    if verdict != AGREES:
        return (
            "Whether muscle length or leverage makes the curve is asked once its shape "
            "is settled."
        )
    lead = log_evidence["peaked"] - log_evidence[LEVERAGE]
    times = _times(abs(lead))
    if cause == LENGTH:
        return (
            f"Leverage alone does not make the curve: the log is {times} likelier "
            "with the published force by length than with a force that is the same at "
            "every length."
        )
    if cause == LEVERAGE:
        return (
            f"Leverage alone makes the curve: the log is {times} likelier with a "
            "muscle force that is the same at every length than with the published one."
        )
    milder = log_evidence[MILD] - max(log_evidence["peaked"], log_evidence[LEVERAGE])
    if milder >= math.log(DECISIVE_RATIO):
        return (
            "The curve is milder than published: the log is "
            f"{_times(milder)} likelier with one half as deep, so whether muscle "
            "length or leverage makes it cannot be told."
        )
    return (
        "Whether muscle length or leverage alone makes the curve cannot be told "
        "from these setups: muscle force that is the same at every length predicts "
        f"nearly the same strengths ({times} {'less' if lead >= 0 else 'more'} likely)."
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
    seen: Observed, found: Findings, plan: pd.DataFrame, *, verdict: str, cause: str
) -> tuple[str, ...]:
    """Say why a verdict was given, what it hangs on and what to log next."""
    held = hold_sentence(seen.holds)
    if found.residuals.empty:
        said = [nothing_sentence(seen), aside_sentence(seen.left_aside), held]
        return tuple(text for text in said if text)
    n, residuals = len(found.residuals), found.residuals
    worst = residuals.loc[residuals["residual_z"].abs().idxmax()]
    side = "stronger" if worst["residual_z"] > 0 else "weaker"
    said = [
        _shape_sentence(found.log_evidence),
        steady_sentence(seen),
        _cause_sentence(found.log_evidence, verdict, cause),
        _fit_sentence(found.chi2, n, found.p_value),
        f"Largest residual: {worst['setup']} is {side} than predicted by "
        f"{abs(worst['residual_z']):.1f} standard deviations.",
        _information_sentence(residuals, found.together),
        f"Compared: {count(n, 'setup')} against the reference, from "
        f"{count(seen.sets, 'set')}; a verdict asks for {LEAST_SETUPS} setups and "
        f"{LEAST_SETS} sets.",
        left_out_sentence(found.left_out),
        share_caution(seen.share),
        aside_sentence(seen.left_aside),
        held,
    ]
    if verdict != DISAGREES:
        said += plan_sentences(plan, found.log_evidence, setups=n, sets=seen.sets)
    return tuple(text for text in said if text)


def steady_sentence(seen: Observed) -> str:
    """Say that swing may pass for strength; nothing where something is held."""
    if seen.steady:
        return ""
    return (
        f"{seen.lifter} logged nothing that holds trunk or upper arm: swing could pass "
        "for strength, so there is no verdict; log a supported variant or holds."
    )


def share_caution(share: dict[str, float]) -> str:
    """Caution when one setup holds most of the training."""
    if not share:
        return ""
    setup = max(share, key=lambda name: share[name])
    if share[setup] <= 0.5 or not np.isfinite(share[setup]):
        return ""
    return (
        f"{share[setup]:.0%} of the sets were done in {setup}: strength is specific "
        "to the trained variant (published), so these ratios may lean towards it; "
        "this is allowed for as extra spread."
    )


def left_out_sentence(table: pd.DataFrame) -> str:
    """Say which predictor wins over all left-out setups.

    Parameters
    ----------
    table : DataFrame
        Result of `left_out`.

    Returns
    -------
    sentence : str
        Winner by log score, with the errors of all three.
    """
    if table.empty:
        return "No lifter's own ratio is known yet, so nothing could be left out."
    total = table[table["setup"] == "all"].iloc[0]
    words = {
        "model": "the model",
        "same_load": "the same load",
        "cohort_mean": "the other lifters' mean ratio",
    }
    errors = ", ".join(
        f"{words[name]} errs by {total[f'error_{name}']:.0%}"
        for name in words
        if np.isfinite(total[f"score_{name}"])
    )
    ahead = ""
    if total["best"] == "cohort_mean":
        ahead = "; for a setup nobody has logged there is no such mean"
    return (
        f"Leaving one setup out, {words[total['best']]} predicts best by log score "
        f"({errors}){ahead}."
    )


def agreement_sentence(shown: pd.DataFrame, agree: bool | None, p_value: float) -> str:
    """Say whether the angles of one variant agree, each with its interval."""
    said = []
    for row in shown.itertuples():
        span = f"{row.low_deg:.0f} to {row.high_deg:.0f}°"
        what = f"{row.source} {row.event}"
        if np.isnan(row.joint_deg):
            said.append(f"{what}: no single angle, {span}")
        else:
            said.append(f"{what} {row.joint_deg:.0f}° ({span})")
    listed = "; ".join(said)
    if agree is None:
        return f"Nothing to compare yet: {listed}."
    verdict = "agree" if agree else "do not agree"
    return f"The sources {verdict} ({p_in_words(p_value)}): {listed}."


def plan_sentences(
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
    enough = plan["enough"].iloc[-1] if len(plan) else not open_question(evidence)[1]
    if not enough:
        said.append(
            "More sets alone may not settle it: published muscle parameters and "
            "curves differ too much to tell these ideas apart in such setups."
        )
    return said


def plan_sentence(row: pd.Series, setup: Setup, *, about_length: bool) -> str:
    """Say one step of the plan."""
    what = load_catalogue().variants[setup.variant].title
    if setup.hold is not None:
        held, base = setup.hold
        what = f"holds to failure in {what} at {held:.0f}°, as many at {base:.0f}°"
    else:
        what += f" from {row['range_from_deg']:.0f}° to {row['range_to_deg']:.0f}°"
    number = count(row["sets"], "set")
    if about_length:
        return (
            f"To tell muscle length from leverage ({row['step']}): about {number} of "
            f"{what}; after that {row['chance']:.0%} of logs tell them apart, if what "
            "leads now is true."
        )
    return (
        f"Log next ({row['step']}): about {number} of {what}; after that a verdict "
        f"comes in {row['chance']:.0%} of logs if the shape that leads now is true."
    )


def hold_sentence(holds: Holds) -> str:
    """Say how many holds count and why others do not; nothing without holds."""
    if not holds.logged:
        return ""
    if not holds.effort_known:
        return (
            f"None of the {holds.logged} holds says how hard it was: they are shown as "
            "if maximal (assumed) and do not enter the verdict."
        )
    n, floors = len(holds.table), holds.logged - len(holds.table)
    rest = f"; {floors} without known effort are floors" if floors else ""
    return f"{count(n, 'hold')} to failure count{'s' if n == 1 else ''}{rest}."


def aside_sentence(left_aside: tuple[str, ...]) -> str:
    """Say which setups were left out; nothing where none was."""
    if not left_aside:
        return ""
    why = "no mechanics exist for them, or none over their range"
    return f"Left out because {why}: {', '.join(left_aside)}."


def nothing_sentence(seen: Observed) -> str:
    """Say why nothing could be compared."""
    if seen.wanted and not seen.reference_modelled:
        return (
            f"There are no mechanics for the reference {seen.wanted}, so no ratio "
            "to it can be predicted: the curve test does not apply."
        )
    who = "the log" if seen.lifter is None else f"the log of {seen.lifter}"
    family = load_catalogue().movements.get(seen.movement)
    reference = seen.wanted or (family.reference if family else None)
    beside = f" beside the reference {reference}" if reference else ""
    return (
        f"Nothing to compare: {who} has no strength in a modelled variant{beside}. Log "
        "the reference and three other modelled variants in the same weeks."
    )


_QUANTITIES = {
    "peak_deg": "angle of greatest strength",
    "width_deg": "width within 5 % of the peak",
    "length_sensitivity": "length sensitivity (1 as published, 0 leverage alone)",
    "scale": "strength over the published muscles",
}


def personal_sentence(
    name: str,
    unit: str,
    after: tuple[float, float, float],
    prior: tuple[float, float, float],
    *,
    moved: bool,
) -> str:
    """Say one quantity of a personal curve beside its published prior."""
    (value, low, high), (before, before_low, before_high) = after, prior
    digits = 0 if unit == "deg" else 2
    mark = "°" if unit == "deg" else ""
    said = "moved by the log from a prior of" if moved else "still the published prior,"
    sentence = (
        f"{_QUANTITIES[name]}: {value:.{digits}f}{mark} ({low:.{digits}f} to "
        f"{high:.{digits}f}{mark}); {said} {before:.{digits}f}{mark} "
        f"({before_low:.{digits}f} to {before_high:.{digits}f}{mark})."
    )
    return sentence[0].upper() + sentence[1:]


FEATURES = {
    "peak_deg": "where strength peaks",
    "plateau_deg": "how wide the peak is",
    "fall_per_10_deg": "how steeply strength falls beyond the peak",
    "extremes_over_middle": "whether the extremes are below the middle",
    "low_end_over_middle": "whether the straighter end is below the middle",
    "high_end_over_middle": "whether the bent end is below the middle",
    "dip_frac": "whether there is a single hump",
}
MOST_MORE = 200


def lacking_sentence(
    name: str, more: float, where: str = "at known angles", so_far: str = ""
) -> str:
    """Say about how many more holds would answer what a measured curve does not."""
    about = f"about {more:.0f}" if more <= MOST_MORE else f"more than {MOST_MORE}"
    return (
        f"Not enough data yet for {FEATURES[name]}: {about} more "
        f"hold{'' if more == 1 else 's'} to failure {where}"
        + (f"; so far {so_far}" if so_far else ".")
    )


_RATIO = "that at {middle:.0f}°: ratio {value:.2f} ({low:.2f} to {high:.2f})."
_FOUND = {
    "peak_deg": "strength peaks at {value:.0f}° ({low:.0f} to {high:.0f}°).",
    "plateau_deg": "strength stays within 5 % of its peak over {value:.0f}° "
    "({low:.0f} to {high:.0f}°).",
    "fall_per_10_deg": "beyond the peak the steepest loss is {value:.0%} per 10° "
    "({low:.0%} to {high:.0%}).",
    "extremes_over_middle": "strength at the mean of {first:.0f}° and {last:.0f}° is "
    "{side} " + _RATIO,
    "low_end_over_middle": "strength at {first:.0f}° is {side} " + _RATIO,
    "high_end_over_middle": "strength at {last:.0f}° is {side} " + _RATIO,
    "dip_frac": "chance of a single hump (no dip over {dip:.0%}): {one_hump:.0%}; "
    "largest dip {value:.0%} (up to {high:.0%}).",
}


def feature_sentence(name: str, *, low: float, high: float, **numbers: float) -> str:
    """Say one feature of a measured curve: value, low and high, in words."""
    side = "below" if high < 1 else "above" if low > 1 else "not told apart from"
    return _FOUND[name].format(low=low, high=high, side=side, **numbers)
