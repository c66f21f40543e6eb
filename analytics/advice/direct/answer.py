"""Is direct arm work needed? One of four plain answers."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from analytics.advice.direct.kinds import CURL, PULL, kind_of
from analytics.advice.direct.shares import Shares
from analytics.advice.rules import rule
from analytics.catalogue import load_catalogue
from analytics.intervals import QUANTILES, Z90

FORMS = {
    "as_much": "Your pulls already ask about as much of the elbow flexors as curls",
    "little": "Your pulls ask little of the elbow flexors: pull heavier, or curl",
    "cannot_tell": "Cannot be told from this log yet",
    "too_wide": "The evidence, modelled and of growth, is too wide to say",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """Whether curls are needed beside pulls.

    Attributes
    ----------
    form : str
        One of ``FORMS``.
    sentence : str
        The answer with its numbers.
    reasons : tuple of str
        What it rests on: growth published, strength, sets left out.
    """

    form: str
    sentence: str
    reasons: tuple[str, ...]


def growth_evidence() -> tuple[pd.DataFrame, str]:
    """Return the published comparison of growth, and say it.

    Returns
    -------
    table : DataFrame
        ``pull, ratio, low, high, n, origin``; gain by pulls over that by curls, 90 %.
    sentence : str
    """
    printed = load_catalogue().tables["growth_pull_over_curl"]
    reach = np.exp(Z90 * printed.numbers("error"))
    table = pd.DataFrame(
        {
            "pull": printed.columns["pull"],
            "ratio": printed.numbers("ratio"),
            "low": printed.numbers("ratio") / reach,
            "high": printed.numbers("ratio") * reach,
            "n": printed.numbers("n").astype(int),
            "origin": printed.columns["origin"],
        }
    )
    *single, pooled = table.itertuples()
    trials = ", ".join(
        f"{x.pull} {x.ratio:.2f} ({x.low:.2f} to {x.high:.2f})" for x in single
    )
    return table, (
        f"Published growth of the elbow flexors, pulls over curls: {trials}; together "
        f"{pooled.ratio:.2f} ({pooled.low:.2f} to {pooled.high:.2f}), {pooled.n} "
        "untrained men in two trials. What a share means for growth is not measured."
    )


def direct_answer(shares: Shares) -> Answer:
    """Answer whether curls are needed beside the pulls of a log.

    Parameters
    ----------
    shares : Shares
        Of one lifter.

    Returns
    -------
    answer : Answer
        ``as_much`` where all of the interval of the pulls' weekly work over that of
        the curls is above the rule's bound, ``little`` where it is below the other,
        ``too_wide`` between, ``cannot_tell`` without enough sets that have a share.
    """
    _, growth = growth_evidence()
    reasons = (growth, *shares.remarks())
    missing = _missing(shares)
    if missing:
        sentence = f"{FORMS['cannot_tell']}. Log this: {'; '.join(missing)}."
        return Answer(form="cannot_tell", sentence=sentence, reasons=reasons)
    curls, beside = shares.curl_work, "your curls"
    if not shares.curl_sets:
        sets = shares.pull_sets / shares.weeks
        curls = rule("usual_curl_share") * sets + 0.0 * shares.pull_work
        beside = "as many hard sets of curls"
    low, middle, high = np.quantile(shares.pull_work / curls, QUANTILES)
    form = "too_wide"
    if low >= rule("as_much_ratio"):
        form = "as_much"
    elif high <= rule("little_ratio"):
        form = "little"
    weekly = np.median(shares.pull_work)
    return Answer(
        form=form,
        sentence=(
            f"{FORMS[form]}: {shares.pull_sets / shares.weeks:.1f} hard sets of pulls, "
            f"deadlifts included, a week ask for {weekly:.1f} times all the flexors "
            f"have, {middle:.2f} ({low:.2f} to {high:.2f}) of what {beside} ask for."
        ),
        reasons=reasons,
    )


def _missing(shares: Shares) -> list[str]:
    """Name what would have to be logged for an answer."""
    wanted, fewest = [], int(rule("fewest_pull_sets"))
    if shares.pull_sets < fewest:
        wanted.append(
            f"hard sets of pulls with load and reserve ({shares.pull_sets} have a "
            f"share, {fewest} are needed)"
        )
    if shares.effort_unknown > shares.pull_sets + shares.curl_sets:
        wanted.append(
            f"reps in reserve, or failure ({shares.effort_unknown} sets have neither)"
        )
    without = sum(shares.unshared.values())
    if without > shares.pull_sets:
        wanted += [f"{why} ({n} sets)" for why, n in shares.unshared.items()]
    return wanted


def by_variant(shares: Shares) -> pd.DataFrame:
    """Give shares by exercise, as means of the weeks.

    Parameters
    ----------
    shares : Shares
        Of one lifter.

    Returns
    -------
    table : DataFrame
        ``variant, work`` (``curl`` or ``pull``), ``share, low, high``, means over the
        weeks' hard sets of each end, and ``sets_a_week``; those without a share left
        out. [1]
    """
    rows = shares.rows.dropna(subset="share")
    ends = ["share", "low", "high"]
    weighed = rows.assign(**{end: rows[end] * rows["hard_sets"] for end in ends})
    table = weighed.groupby("variant", sort=False)[[*ends, "hard_sets"]].sum()
    for end in ends:
        table[end] /= table["hard_sets"]
    work = [CURL if kind_of(str(name)) == CURL else PULL for name in table.index]
    table = table.assign(work=work, sets_a_week=table["hard_sets"] / shares.weeks)
    return table.drop(columns="hard_sets").reset_index()
