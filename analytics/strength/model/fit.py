"""One call from a log's sets to everything it says about strength."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pandas as pd
from threadpoolctl import threadpool_limits

from analytics.strength.model import outliers, tables
from analytics.strength.model.observe import completed, unusable_sets
from analytics.strength.model.parts import Smoothed, measure, smooth_parts, tell
from analytics.strength.model.ratios import Ratios, RatioSums, compare_setups
from analytics.strength.model.reasons import reason_table
from analytics.strength.model.results import TABLES, StrengthFit
from analytics.strength.model.stalls import day_levels, slope_table
from analytics.table_schema import column_names

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
    report = on_progress or (lambda done, all_: None)
    # Many small matrices: threads of a matrix library only wait for one another.
    with threadpool_limits(1):
        told = tell(sets, reference=reference) if len(sets) else None
        if told is None:
            return _nothing(sets, reference)
        measured = measure(told)
        report(1, 3)
        smoothed = smooth_parts(measured)
        report(2, 3)
        return finished(smoothed, smoothed.linked.sums)


def finished(smoothed: Smoothed, whole: RatioSums) -> StrengthFit:
    """Fit lifters by what the whole cohort says of ratios.

    Parameters
    ----------
    smoothed : Smoothed
        These lifters.
    whole : RatioSums
        Of all lifters.

    Returns
    -------
    fit : StrengthFit
    """
    measured = smoothed.measured
    with threadpool_limits(1):
        ratios = compare_setups(
            smoothed.linked, measured.relation, whole=whole, ln_k=measured.setup_ln_k
        )
        return _results(smoothed, ratios)


def _results(found: Smoothed, ratios: Ratios) -> StrengthFit:
    measured, rows, levels = found.measured, found.rows, found.levels
    seen, off = measured.seen, found.off
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
        sides=found.sides,
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
