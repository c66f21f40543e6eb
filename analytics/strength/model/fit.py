"""One call from a log's sets to everything it says about strength."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from threadpoolctl import threadpool_limits

from analytics.strength.model import outliers, tables
from analytics.strength.model.contrasts import (
    Relation,
    learn_relation,
    published,
)
from analytics.strength.model.observe import (
    Observations,
    completed,
    observe,
    unusable_sets,
)
from analytics.strength.model.outcome import (
    Outcomes,
    habit,
    outcomes,
    prior_mean,
    tiredness,
)
from analytics.strength.model.ratios import Ratios, compare_setups
from analytics.strength.model.reasons import reason_table
from analytics.strength.model.relation import exercise_class
from analytics.strength.model.results import TABLES, StrengthFit
from analytics.strength.model.series import (
    Levels,
    Rows,
    make_rows,
    smooth_rows,
)
from analytics.strength.model.sides import level_sides
from analytics.strength.model.stalls import day_levels, slope_table
from analytics.table_schema import column_names

Floats = NDArray[np.float64]

METHOD = (
    "Repetitions at a given load are the outcome. One local level for each lifter and "
    "setup; the published repetition relation, changed by the lifter's own contrasts "
    "alone; ratios by a mixed model over all lifters; intervals hold what relation, "
    "calls of reserve, day and training may be."
)


def fit_strength(
    sets: pd.DataFrame,
    *,
    reference: str | None = None,
    on_progress: Callable[[int, int], None] | None = None,
) -> StrengthFit:
    """Estimate strength over time and ratios between setups of one movement.

    Parameters
    ----------
    sets : DataFrame
        Sets of one movement, as from the store or with the columns that `columns`
        lists for ``sets``.
    reference : str, optional
        Variant or setup the ratios refer to; default that of the movement.
    on_progress : callable, optional
        Called with steps done and steps expected.

    Returns
    -------
    fit : StrengthFit
        Empty tables and a reason if no set can be used.

    Notes
    -----
    The model and its equations are on the method page. Every step is a closed form or
    a fixed number of passes, so a fit always ends.
    """
    seen = observe(sets, reference=reference) if len(sets) else None
    if seen is None:
        return _nothing(sets, reference)
    # Many small matrices: threads of a matrix library only wait for one another.
    with threadpool_limits(1):
        return _assemble(_measure(seen), on_progress or (lambda done, all_: None))


def _measure(seen: Observations) -> tables.Measured:
    """Turn sets into outcomes, at the published relation, then at the learned one."""
    sets = seen.sets
    lifter = pd.factorize(sets["lifter"])[0]
    movement = str(sets["movement"].iloc[0])
    classes = [exercise_class([movement, v]) for v in seen.setups["variant"]]
    by_setup = np.log([float(c["k"]) for c in classes])
    setup = pd.Index(seen.setups["setup"]).get_indexer(sets["setup"])
    base = prior_mean(by_setup[setup])
    usual = habit(sets)
    kind = sets["kind"]
    tired = tiredness(sets)
    counted = (kind != "outdone").to_numpy()
    own, of = sets[counted], lifter[counted]

    def at(relation: Relation) -> Outcomes:
        return outcomes(sets, base + relation.mean[lifter], tired=tired, usual=usual)

    relation = published(len(seen.lifters), max(float(c["ln_k_sd"]) for c in classes))
    relation = learn_relation(
        relation, own, at(relation).take(counted), of, base[counted, 0]
    )
    now = at(relation)
    return tables.Measured(
        seen=seen,
        lifter=lifter,
        setup=setup,
        counted=counted,
        setup_ln_k=by_setup,
        usual=usual + relation.mean[lifter, 3],
        relation=relation,
        outcomes=now,
    )


def _assemble(
    measured: tables.Measured, on_progress: Callable[[int, int], None]
) -> StrengthFit:
    seen, counted = measured.seen, measured.counted
    on_progress(1, 4)
    sets = seen.sets[counted].reset_index(drop=True)
    now, sides = level_sides(sets, measured.outcomes.take(counted))
    off = outliers.implausible(sets, now.implied)
    rows = make_rows(sets, now)
    levels = smooth_rows(rows)
    on_progress(2, 4)
    ratios = _ratios(measured, rows, levels)
    on_progress(3, 4)
    return _results(measured, rows, levels, ratios, off, sides)


def _ratios(measured: tables.Measured, rows: Rows, levels: Levels) -> Ratios:
    reps = pd.Series(measured.outcomes.repetitions[measured.counted])
    usual = reps.groupby(measured.setup[measured.counted]).median()
    return compare_setups(
        rows,
        levels,
        measured.relation,
        setups=measured.seen.setups,
        reference=measured.seen.reference,
        usual_reps=usual.to_numpy(float),
        ln_k=measured.setup_ln_k,
    )


def _results(
    measured: tables.Measured,
    rows: Rows,
    levels: Levels,
    ratios: Ratios,
    off: Floats,
    sides: pd.DataFrame,
) -> StrengthFit:
    seen = measured.seen
    hyper = tables.spreads(levels, ratios)
    shift = tables.arm_shift(seen)
    own = (seen.setups["setup"] != seen.reference).to_numpy()
    personal = tables.personal_table(measured, ratios)
    state = tables.state_table(measured, rows, levels)
    last = tables.last_table(measured, state, ratios)
    days = day_levels(measured, rows, levels, ratios)
    fit = StrengthFit(
        movement=str(seen.sets["movement"].iloc[0]),
        reference=seen.reference,
        n_obs=len(seen.sets),
        n_lifters=len(seen.lifters),
        method=METHOD,
        hyper=hyper,
        setups=seen.setups[column_names("setups")],
        trend=state,
        relation=tables.relation_table(measured),
        loads=tables.load_table(seen.sets),
        ratios=tables.ratio_table(seen, ratios),
        log_ratio=(ratios.cohort_mean + shift)[own],
        log_ratio_cov=ratios.cohort_cov[np.ix_(own, own)],
        ratio_setups=tuple(seen.setups["setup"][own]),
        personal=personal,
        personal_cov=tables.personal_covariances(measured, ratios),
        set_points=tables.point_table(measured, rows, levels, off),
        slopes=slope_table(measured, rows, levels, days, last, hyper),
        days=days,
        reasons=pd.DataFrame(),
        outliers=outliers.outlier_table(seen.sets[measured.counted], rows, levels, off),
        sides=sides,
        holds=seen.holds,
        last=last,
    )
    fit = replace(fit, trend=tables.with_intervals(fit, state))
    return replace(fit, reasons=reason_table(seen, fit))


def _nothing(sets: pd.DataFrame, reference: str | None) -> StrengthFit:
    """Return the result of a log without one usable set: tables without rows."""
    frame = completed(sets) if len(sets) else None
    empty = {name: pd.DataFrame(columns=column_names(name)) for name in TABLES}
    if frame is not None:
        empty["reasons"], empty["holds"] = unusable_sets(frame)
    return StrengthFit(
        movement="" if frame is None else str(frame["movement"].iloc[0]),
        reference=reference or "",
        n_obs=0,
        n_lifters=0,
        method=METHOD,
        hyper={},
        log_ratio=np.zeros(0),
        log_ratio_cov=np.zeros((0, 0)),
        ratio_setups=(),
        personal_cov={},
        **empty,
    )
