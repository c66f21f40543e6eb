"""One call from a log's sets to everything it says about strength."""

from collections.abc import Callable

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from threadpoolctl import threadpool_limits

from analytics.strength.changes import all_gain_changes
from analytics.strength.inference import Inference, infer
from analytics.strength.observe import (
    Observations,
    completed,
    observe,
    unusable_sets,
)
from analytics.strength.reasons import reason_table
from analytics.strength.results import StrengthFit
from analytics.strength.stalls import slope_table
from analytics.strength.tables import (
    arm_shift,
    last_table,
    personal_covariances,
    personal_table,
    point_table,
    ratio_table,
    side_table,
    trend_table,
)

METHOD = (
    "One hierarchical state-space model on log strength: sets to failure, sets "
    "with reps in reserve and one-sided sets together, all lifters at once; "
    "parameters by marginal likelihood with published priors."
)


def fit_strength(
    sets: pd.DataFrame,
    *,
    reference: str | None = None,
    on_progress: Callable[[int, int], None] | None = None,
    start: NDArray[np.float64] | None = None,
) -> StrengthFit:
    """Estimate strength over time and ratios between setups of one movement.

    Parameters
    ----------
    sets : DataFrame
        Sets of one movement with the columns of the store. Needed:
        ``set_id, lifter, performed_on, variant, load_kg, reps``.
    reference : str, optional
        Variant or setup the ratios refer to; default that of the movement.
    on_progress : callable, optional
        Called with steps done and steps expected.
    start : ndarray, optional
        ``theta`` of an earlier fit, to start from.

    Returns
    -------
    fit : StrengthFit
        Empty tables and a reason if no set can be used.

    Notes
    -----
    The model and its equations are on the method page.
    """
    seen = observe(sets, reference=reference) if len(sets) else None
    if seen is None:
        return _nothing(sets, reference)
    with threadpool_limits(1):  # matrices are small: threads would wait for each other
        inference = infer(seen, start=start, on_progress=on_progress)
        return _assemble(seen, inference)


def _assemble(seen: Observations, inference: Inference) -> StrengthFit:
    readings = inference.readings
    hyper = inference.space.natural(inference.theta)
    trend = trend_table(seen, readings, hyper)
    last = last_table(seen, readings)
    ratios = ratio_table(seen, readings, hyper)
    personal = personal_table(seen, readings, hyper)
    own = np.arange(seen.panel.n_setups) != seen.panel.reference
    return StrengthFit(
        movement=str(seen.sets["movement"].iloc[0]),
        reference=seen.reference,
        converged=inference.converged,
        n_obs=len(seen.sets),
        n_lifters=len(seen.lifters),
        method=METHOD,
        hyper=hyper,
        setups=seen.setups[list(_SETUP_COLUMNS)],
        trend=trend,
        ratios=ratios,
        log_ratio=(readings.cohort_mean + arm_shift(seen))[own],
        log_ratio_cov=readings.cohort_cov[np.ix_(own, own)],
        ratio_setups=tuple(seen.setups["setup"][own]),
        personal=personal,
        personal_cov=personal_covariances(seen, readings),
        set_points=point_table(seen, inference),
        slopes=slope_table(last, hyper, all_gain_changes(inference, readings)),
        reasons=reason_table(seen, trend, personal, inference.converged),
        sides=side_table(seen, readings),
        holds=seen.holds,
        last=last,
        theta=inference.theta,
    )


_SETUP_COLUMNS = (
    "setup",
    "variant",
    "equipment",
    "range_from_deg",
    "range_to_deg",
    "arms_share",
)


def _nothing(sets: pd.DataFrame, reference: str | None) -> StrengthFit:
    """Return the result of a log without one usable set: tables without rows."""
    frame = completed(sets) if len(sets) else None
    tables = {
        name: pd.DataFrame(columns=columns.split())
        for name, columns in _COLUMNS.items()
    }
    if frame is not None:
        seen = unusable_sets(frame)
        tables["reasons"], tables["holds"] = seen
    return StrengthFit(
        movement="" if frame is None else str(frame["movement"].iloc[0]),
        reference=reference or "",
        converged=True,
        n_obs=0,
        n_lifters=0,
        method=METHOD,
        hyper={},
        log_ratio=np.zeros(0),
        log_ratio_cov=np.zeros((0, 0)),
        ratio_setups=(),
        personal_cov={},
        theta=np.zeros(0),
        **tables,
    )


_COLUMNS = {
    "setups": " ".join(_SETUP_COLUMNS),
    "trend": "lifter setup variant equipment date strength_kg low_kg high_kg sets "
    "effective_sets log_strength log_sd",
    "ratios": "setup variant reference ratio low high between_sd lifters sets",
    "personal": "lifter setup variant ratio low high own_ratio own_low own_high "
    "shrinkage sets",
    "set_points": "set_id lifter setup date kind implied_kg influence expected_kg z",
    "slopes": "lifter setup slope_frac_per_week low high p_not_positive "
    "stalled_since sessions_needed sentence",
    "reasons": "lifter setup sentence",
    "sides": "lifter setup left_right_ratio low high sets",
    "holds": "set_id lifter setup variant date kind angle_deg load_kg hold_s failed "
    "rir log_load",
    "last": "lifter setup first_on last_on log_strength log_sd slope slope_sd "
    "level_slope_cov used",
}
