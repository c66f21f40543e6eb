"""Estimates against the truth of simulated logs, one row a plan and quantity.

An estimator is an object with three callables::

    estimate(sets, wanted)  wanted: lifter, variant, date, reps; the same rows come
                            back with strength_kg, low_kg, high_kg
    ratios(sets, reference) variant, reference, ratio, low, high: the cohort's, at one
                            repetition
    advise(sets, lifter, variant, reps, rir, on_date)  load_kg, low_kg, high_kg

Intervals are of 90 %. Errors are in log units (0.03 is 3 %), those of the next load
in repetitions.
"""

from collections.abc import Iterable
from typing import Any

import numpy as np
import pandas as pd

from .naive import by_cell, naive_strengths
from .plans import Log, make_log

MOMENTS = (0.5, 0.75, 1.0)  # of a lifter's training days in a variant
RULES = (
    "two_weeks",
    "best_epley",
    "best_brzycki",
    "best_lombardi",
    "average",
    "last_session",
)


def judge_strength(log: Log, estimator: Any) -> pd.DataFrame:
    """At three days a lifter and variant, for one and for the trained repetitions."""
    truth = log.truth.rename(columns={"performed_on": "date"})
    kept = []
    for _, cell in truth.groupby(["lifter", "variant"]):
        days = sorted(cell["date"].unique())
        at = {days[round(share * (len(days) - 1))] for share in MOMENTS}
        kept.append(cell[cell["date"].isin(at)])
    truth = pd.concat(kept, ignore_index=True)
    wanted = truth[["lifter", "variant", "date", "reps"]]
    got = wanted.merge(estimator.estimate(log.sets, wanted), on=list(wanted))
    if len(got) != len(wanted):
        raise ValueError(f"{len(wanted)} strengths asked for, {len(got)} came back")
    cells = by_cell(log.sets)
    true = truth["strength_kg"].to_numpy()
    naive = [
        naive_strengths(cells[row.lifter, row.variant], row.date, row.reps)
        for row in wanted.itertuples()
    ]
    rules = pd.DataFrame(naive).sub(np.log(true), axis=0)
    return rules.assign(
        quantity=np.where(wanted["reps"] == 1, "strength at 1", "strength at trained"),
        off=np.log(got["strength_kg"].to_numpy() / true),
        held=(got["low_kg"] <= true).to_numpy() & (got["high_kg"] >= true).to_numpy(),
        width=np.log(got["high_kg"] / got["low_kg"]).to_numpy(),
    )


def judge_ratios(log: Log, estimator: Any) -> pd.DataFrame:
    """The cohort's ratios; the rule of thumb averages its lifters' two weeks."""
    true = log.ratios[log.ratios["lifter"] == ""]
    if true.empty:
        return pd.DataFrame()
    reference = true["reference"].iloc[0]
    got = estimator.ratios(log.sets, reference).set_index("variant")
    last = log.sets["performed_on"].max()
    rules: dict[str, dict] = {}
    for (_, variant), cell in by_cell(log.sets).items():
        for rule, value in naive_strengths(cell, last, 1).items():
            rules.setdefault(variant, {}).setdefault(rule, []).append(value)
    rows = []
    for row in true.itertuples():
        one = got.loc[row.variant]
        naive = {
            rule: np.mean(values) - np.mean(rules[reference][rule]) - np.log(row.ratio)
            for rule, values in rules[row.variant].items()
        }
        rows.append(
            naive
            | {
                "off": np.log(one["ratio"] / row.ratio),
                "held": one["low"] <= row.ratio <= one["high"],
                "width": np.log(one["high"] / one["low"]),
            }
        )
    return pd.DataFrame(rows).assign(quantity="ratio")


def judge_next(log: Log, estimator: Any) -> pd.DataFrame:
    """She follows the advice: repetitions and reserve beyond what was asked."""
    rows = []
    cells = by_cell(log.sets)
    for ask in log.facts["asks"]:
        target = ask.reps + ask.rir
        load, low, high = estimator.advise(
            log.sets, ask.lifter, ask.variant, ask.reps, ask.rir, ask.on_date
        )
        cell = cells[ask.lifter, ask.variant]
        naive = naive_strengths(cell, ask.on_date, target)
        rows.append(
            {rule: ask.result(np.exp(value)) - target for rule, value in naive.items()}
            | {
                "off": ask.result(load) - target,
                "held": low <= ask.exact_kg <= high,
                "width": np.log(high / low),
            }
        )
    return pd.DataFrame(rows).assign(quantity="next load")


def judge_log(log: Log, estimator: Any) -> pd.DataFrame:
    """One row a judged number: ``off`` its error, ``held`` whether the interval did."""
    parts = (judge_strength, judge_ratios, judge_next)
    found = pd.concat([part(log, estimator) for part in parts], ignore_index=True)
    facts = {k: v for k, v in log.facts.items() if np.isscalar(v)}
    return found.assign(plan=log.plan, seed=log.seed, **facts)


def judge_cases(cases: Iterable[tuple[str, int]], estimator: Any) -> pd.DataFrame:
    return pd.concat(
        [judge_log(make_log(*case), estimator) for case in cases], ignore_index=True
    )


def table(found: pd.DataFrame, by: str = "plan") -> pd.DataFrame:
    """Coverage, bias and error by plan (or another fact) and quantity.

    ``bias`` is the median, ``error`` the root mean square; for the next load the mean
    and the mean absolute error. ``naive_error`` is that of the median of two weeks,
    the other rules of thumb follow under their names.
    """
    rows = []
    whole = found.assign(**{by: "all"})
    for data in (found, whole):
        for (name, quantity), group in data.groupby([by, "quantity"]):
            load = quantity == "next load"
            size = _mean_abs if load else _rms
            rows.append(
                {
                    by: name,
                    "quantity": quantity,
                    "covered": group["held"].mean(),
                    "bias": group["off"].mean() if load else group["off"].median(),
                    "error": size(group["off"]),
                    "naive_error": size(group["two_weeks"]),
                    "n": len(group),
                    "width": group["width"].median(),
                }
                | {rule: size(group[rule]) for rule in RULES[1:]}
            )
    return pd.DataFrame(rows)


def _rms(values: pd.Series) -> float:
    return float(np.sqrt((values**2).mean()))


def _mean_abs(values: pd.Series) -> float:
    return float(values.abs().mean())
