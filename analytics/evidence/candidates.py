"""Setups that could be logged next, and the plan in words."""

import math

import numpy as np
import pandas as pd

from analytics.catalogue import load_catalogue
from analytics.evidence.comparison import Comparison, shape_evidence
from analytics.evidence.more_data import Noise, plan_sets
from analytics.evidence.predictions import (
    Setup,
    paired_draws,
    spreads_of,
    structures_of,
)
from analytics.evidence.setups import Gathered
from analytics.evidence.verdict import open_question
from analytics.mechanics import LEVERAGE

LATER_STARTS_DEG = (25.0, 50.0)  # added to a variant's own first angle
LEAST_RANGE_DEG = 40.0
HOLD_ANGLES_DEG = (30.0, 60.0, 120.0)
HOLD_BASE_DEG = 90.0
# Where the upper arm hangs held, the lever of a hold is known at every angle.
HOLD_VARIANT = "preacher_curl_0"
PLAN_DRAWS = 500
COLUMNS = [
    "variant",
    "range_from_deg",
    "range_to_deg",
    "step",
    "sets",
    "expected_log_ratio",
    "chance",
    "enough",
    "sentence",
]


def _possible(movement: str) -> list[Setup]:
    """Modelled variants with their own range and with later starts."""
    setups: list[Setup] = []
    for name, variant in load_catalogue().variants.items():
        if not variant.modelled or variant.movement != movement:
            continue
        setups.append((name, None))
        setups += [
            (name, (variant.model.range_from_deg + later, variant.model.range_to_deg))
            for later in LATER_STARTS_DEG
            if variant.model.range_to_deg - variant.model.range_from_deg - later
            >= LEAST_RANGE_DEG
        ]
    return setups


def plan_next(
    log_evidence: dict[str, float],
    got: Gathered,
    comparison: Comparison,
    noise: Noise,
    *,
    movement: str,
    lifter: str | None,
    seed: int,
) -> pd.DataFrame:
    """Plan what to log next, where, and about how many sets.

    Parameters
    ----------
    log_evidence : dict of str to float
        Log marginal likelihood of each shape so far.
    got : Gathered
        Compared setups and their reference.
    comparison : Comparison
        Ratios of these setups; holds are not planned upon.
    noise : Noise
        Of one further set.
    movement : str
        Whose variants may be proposed.
    lifter : str or None
        None for the cohort.
    seed : int
        Of the parameter draws.

    Returns
    -------
    plan : DataFrame
        ``variant, range_from_deg, range_to_deg, step, sets, expected_log_ratio,
        chance, enough, sentence``; a range of one angle is a hold, set against holds at
        90 degrees.

    Notes
    -----
    The unexplained spread has the size that the log so far makes likeliest.
    """
    assert got.reference is not None
    reference = got.reference
    logged: list[Setup] = [
        (
            r.variant,
            None
            if math.isnan(r.range_from_deg)
            else (r.range_from_deg, r.range_to_deg),
        )
        for r in got.table.head(got.n_ratios).itertuples()
    ]
    moving = [s for s in _possible(movement) if s != reference]
    holds: list[Setup] = [(HOLD_VARIANT, (a, a)) for a in HOLD_ANGLES_DEG]
    base: Setup = (HOLD_VARIANT, (HOLD_BASE_DEG, HOLD_BASE_DEG))
    moved = list(dict.fromkeys([*moving, *logged]))
    every = moved + holds
    against = [reference] * len(moved) + [base] * len(holds)
    share = dict(zip(logged, got.table["share"].head(got.n_ratios), strict=True))
    shares = [share.get(s, -got.reference_share) for s in moved] + [0.0] * len(holds)
    sizes = spreads_of(every, against, np.array(shares), seed=seed)
    lead, rivals = open_question(log_evidence)
    told = [shape_evidence(one, shape=lead) for one in comparison.sizes()]
    once = sizes[int(np.argmax(told))]
    at = [moved.index(s) for s in logged]
    new = [moved.index(s) for s in moving] + list(range(len(moved), len(every)))
    spread = once[np.ix_(at + new, at + new)]
    draws = paired_draws(every, against, lifter=lifter, n_draws=PLAN_DRAWS, seed=seed)
    n = len(logged)
    so_far = Comparison(
        labels=comparison.labels[:n],
        observed=comparison.observed[:n],
        cov=comparison.cov[:n, :n],
        spread=spread[:n, :n],
        draws={shape: x[:, at] for shape, x in draws.items()},
        structures=structures_of(PLAN_DRAWS),
    )
    options = moving + holds
    candidates = Comparison(
        labels=tuple(str(i) for i in range(len(options))),
        observed=np.zeros(len(options)),
        cov=np.zeros((len(options),) * 2),
        spread=spread,
        draws={shape: x[:, new] for shape, x in draws.items()},
        structures=structures_of(PLAN_DRAWS),
    )
    plan = plan_sets(log_evidence, so_far, candidates, noise, seed=seed)
    picked = [options[int(label)] for label in plan["setup"]]
    variants = load_catalogue().variants
    plan["variant"] = [v for v, _ in picked]
    spans = [span or variants[v].model.range_deg for v, span in picked]
    plan["range_from_deg"] = [first for first, _ in spans]
    plan["range_to_deg"] = [last for _, last in spans]
    about_length = LEVERAGE in (lead, *rivals)
    plan["sentence"] = [_sentence(row, about_length) for _, row in plan.iterrows()]
    return plan[COLUMNS]


def _sentence(row: pd.Series, about_length: bool) -> str:
    title = load_catalogue().variants[row["variant"]].title
    first, last = row["range_from_deg"], row["range_to_deg"]
    if first == last:
        what = (
            f"holds to failure in {title} at {first:.0f}°, as many at "
            f"{HOLD_BASE_DEG:.0f}°"
        )
    else:
        what = f"{title} from {first:.0f}° to {last:.0f}°"
    number = f"{row['sets']} set{'s' if row['sets'] > 1 else ''}"
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
