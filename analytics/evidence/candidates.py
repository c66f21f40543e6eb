"""Setups that could be logged next, and the plan in words."""

import numpy as np
import pandas as pd

from analytics.catalogue import Setup, load_catalogue
from analytics.evidence.comparison import Comparison, shape_evidence
from analytics.evidence.more_data import plan_sets
from analytics.evidence.observe import Observed
from analytics.evidence.plans import hold_plan
from analytics.evidence.predictions import structures_of, told_of
from analytics.evidence.say import plan_sentence
from analytics.evidence.verdict import CAUSES, open_question
from analytics.table_schema import column_names

LATER_STARTS_DEG = (25.0, 50.0)  # added to a variant's own first angle
LEAST_RANGE_DEG = 40.0
PLAN_DRAWS = 500


def possible_setups(movement: str) -> list[Setup]:
    """Modelled variants with their own range and with later starts.

    Parameters
    ----------
    movement : str
        Whose variants.

    Returns
    -------
    setups : list of Setup
    """
    setups: list[Setup] = []
    for name, variant in load_catalogue().variants.items():
        if not variant.modelled or variant.movement != movement:
            continue
        first, last = variant.model.range_deg
        setups.append(Setup(variant=name))
        setups += [
            Setup(variant=name, range_deg=(first + later, last))
            for later in LATER_STARTS_DEG
            if last - first - later >= LEAST_RANGE_DEG
        ]
    return setups


def plan_next(
    log_evidence: dict[str, float], seen: Observed, comparison: Comparison, *, seed: int
) -> pd.DataFrame:
    """Plan what to log next, where, and about how many sets.

    Parameters
    ----------
    log_evidence : dict of str to float
        Log marginal likelihood of each shape so far.
    seen : Observed
        Compared setups and their reference.
    comparison : Comparison
        Ratios of these setups; holds are not planned upon.
    seed : int
        Of the parameter draws.

    Returns
    -------
    plan : DataFrame
        ``variant, range_from_deg, range_to_deg, step, sets, expected_log_ratio,
        chance, enough, sentence``; a range of one angle is a hold. Without rows where
        all is decided or no ratio was compared.

    Notes
    -----
    The unexplained spread has the size that the log so far makes likeliest.
    """
    reference = seen.reference
    lead, rivals = open_question(log_evidence)
    if reference is None or not seen.n_ratios or not rivals:
        return pd.DataFrame(columns=column_names("more_data"))
    logged = list(seen.setups[: seen.n_ratios])
    moving = [s for s in possible_setups(seen.movement) if s != reference]
    planned = hold_plan(seen.movement)
    holds = [] if planned is None else planned.holds
    moved = list(dict.fromkeys([*moving, *logged]))
    every = moved + holds
    against = [reference] * len(moved) + [planned.base for _ in holds if planned]
    share = dict(zip(logged, seen.table["share"].head(seen.n_ratios), strict=True))
    shares = [share.get(s, -seen.reference_share) for s in moved] + [0.0] * len(holds)
    sizes, draws = told_of(
        every,
        against,
        np.array(shares),
        lifter=seen.lifter,
        n_draws=PLAN_DRAWS,
        seed=seed,
        shapes=(lead, *rivals),
    )
    told = [shape_evidence(one, shape=lead) for one in comparison.sizes()]
    once = sizes[int(np.argmax(told))]
    at = [moved.index(s) for s in logged]
    new = [moved.index(s) for s in moving] + list(range(len(moved), len(every)))
    spread = once[np.ix_(at + new, at + new)]
    n = len(logged)
    so_far = Comparison(
        labels=comparison.labels[:n],
        observed=comparison.observed[:n],
        cov=comparison.cov[:n, :n],
        spread=spread[:n, :n],
        draws={shape: x[:, at] for shape, x in draws.items()},
        structures=structures_of(PLAN_DRAWS, reference.variant),
    )
    options = moving + holds
    candidates = Comparison(
        labels=tuple(str(i) for i in range(len(options))),
        observed=np.zeros(len(options)),
        cov=np.zeros((len(options),) * 2),
        spread=spread,
        draws={shape: x[:, new] for shape, x in draws.items()},
        structures=structures_of(PLAN_DRAWS, reference.variant),
    )
    plan = plan_sets(log_evidence, so_far, candidates, seen.noise, seed=seed)
    picked = [options[int(label)] for label in plan["setup"]]
    variants = load_catalogue().variants
    spans = [s.span or variants[s.variant].model.range_deg for s in picked]
    plan["variant"] = [s.variant for s in picked]
    plan["range_from_deg"] = [first for first, _ in spans]
    plan["range_to_deg"] = [last for _, last in spans]
    about_length = set(rivals) <= set(CAUSES) and lead in CAUSES
    plan["sentence"] = [
        plan_sentence(row, setup, about_length=about_length)
        for (_, row), setup in zip(plan.iterrows(), picked, strict=True)
    ]
    return plan[column_names("more_data")]
