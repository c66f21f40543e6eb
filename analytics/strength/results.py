"""What a fit says, as tables; no computation beyond looking things up."""

from dataclasses import dataclass, replace
from datetime import date

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analytics.errors import InputError

Floats = NDArray[np.float64]

Z90 = 1.6448536269514722  # 0.95 quantile of the normal distribution


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StrengthFit:
    """Strength of all lifters in one movement.

    Attributes
    ----------
    movement, reference : str
        The reference is a setup; ratios refer to it.
    interval : float
        Probability of every ``low``-``high`` pair.
    converged : bool
        False means the numbers are to be shown with a warning.
    n_obs, n_lifters : int
        Usable sets and lifters.
    method : str
        How the numbers came about, in words.
    hyper : dict
        Variance parameters by name.
    setups : DataFrame
        ``setup, variant, equipment, range_from_deg, range_to_deg, arms_share``.
    trend : DataFrame
        ``lifter, setup, variant, equipment, date, strength_kg, low_kg,
        high_kg, sets, effective_sets``; strength in the logged convention.
        ``effective_sets``: how many sets to failure on separate days would by
        themselves be as informative as everything the estimate rests on.
    ratios : DataFrame
        ``setup, variant, reference, ratio, low, high, between_sd, lifters,
        sets`` per working arm; ``between_sd`` of the log ratio.
    log_ratio, log_ratio_cov : ndarray
        Cohort log ratios of ``ratio_setups`` to the reference.
    ratio_setups : tuple of str
    personal : DataFrame
        ``lifter, setup, variant, ratio, low, high, own_ratio, own_low,
        own_high, shrinkage, sets``; ``shrinkage`` is the weight of the cohort,
        0 to 1, and ``own_`` what the lifter's sets say alone.
    personal_cov : dict
        lifter -> (setups, log ratios, covariance).
    set_points : DataFrame
        ``set_id, lifter, setup, date, kind, implied_kg, influence,
        expected_kg, z``; ``influence`` is the share of the estimate at that
        place that the set supplies, ``z`` its distance from what the other
        sets predict.
    slopes : DataFrame
        ``lifter, setup, slope_frac_per_week, low, high, p_not_positive,
        stalled_since, sessions_needed, sentence``; the present gain, after a change
        if there was one.
    reasons : DataFrame
        ``lifter, setup, sentence``; why an estimate is weak or missing.
    sides : DataFrame
        ``lifter, setup, left_right_ratio, low, high, sets``.
    holds : DataFrame
        Isometric holds and failures at a noted angle.
    last : DataFrame
        State of every lifter and setup on the lifter's last day, also for
        setups the lifter has not done (``used`` False).
    theta : ndarray
        Fitted parameters, to start the next fit from.
    """

    movement: str
    reference: str
    interval: float = 0.90
    converged: bool
    n_obs: int
    n_lifters: int
    method: str
    hyper: dict[str, float]
    setups: pd.DataFrame
    trend: pd.DataFrame
    ratios: pd.DataFrame
    log_ratio: Floats
    log_ratio_cov: Floats
    ratio_setups: tuple[str, ...]
    personal: pd.DataFrame
    personal_cov: dict[str, tuple[tuple[str, ...], Floats, Floats]]
    set_points: pd.DataFrame
    slopes: pd.DataFrame
    reasons: pd.DataFrame
    sides: pd.DataFrame
    holds: pd.DataFrame
    last: pd.DataFrame
    theta: Floats


def predict(
    fit: StrengthFit, lifter: str, setup: str, on_date: date | str | pd.Timestamp
) -> tuple[float, float]:
    """Log strength of one lifter in one setup on one day.

    Parameters
    ----------
    fit : StrengthFit
        A fit that knows the lifter and the setup.
    lifter : str
        Code of the lifter.
    setup : str
        Setup, also one this lifter has not done.
    on_date : date or str
        Any day; after the last session the state is carried forward, between
        sessions it is interpolated.

    Returns
    -------
    mean, sd : float
        Of the log of strength in effective load (body share included). [1]

    Raises
    ------
    InputError
        If the fit does not know the lifter or the setup.
    """
    own = {
        name: table[(table["lifter"] == lifter) & (table["setup"] == setup)]
        for name, table in (("last", fit.last), ("trend", fit.trend))
    }
    if own["last"].empty:
        known = ", ".join(fit.setups["setup"])
        raise InputError(
            f"no estimate for lifter '{lifter}' in '{setup}'; setups are: {known}"
        )
    mean, sd = carried(replace(fit, **own), own["last"], on_date)
    return float(mean[0]), float(sd[0])


def carried(
    fit: StrengthFit, keys: pd.DataFrame, on_date: date | str | pd.Timestamp
) -> tuple[Floats, Floats]:
    """Log strength of many lifters and setups on one day, as :func:`predict`.

    Parameters
    ----------
    fit : StrengthFit
        A fit that knows all of them.
    keys : DataFrame
        Columns ``lifter, setup``.
    on_date : date or str
        Any day.

    Returns
    -------
    mean, sd : ndarray, shape (len(keys),)
        Of the log of strength in effective load. [1]
    """
    pair = ["lifter", "setup"]
    day = pd.Timestamp(on_date).normalize()
    state = keys[pair].merge(fit.last, on=pair, how="left")
    last_on = state["last_on"].to_numpy("datetime64[D]")
    weeks = (np.datetime64(day, "D") - last_on).astype(float) / 7
    s = {
        k: state[k].to_numpy() for k in ("log_strength", "log_sd", "slope", "slope_sd")
    }
    mean = s["log_strength"] + weeks * s["slope"]
    variance = s["log_sd"] ** 2 + weeks**2 * s["slope_sd"] ** 2
    variance += 2 * weeks * state["level_slope_cov"].to_numpy()
    variance += fit.hyper["walk_sd"] ** 2 * np.abs(weeks)
    sd = np.sqrt(np.maximum(variance, s["log_sd"] ** 2))
    between = state.loc[weeks < 0, pair]
    points = between.merge(fit.trend, on=pair)
    days = points["date"].to_numpy("datetime64[D]").astype(float)
    at = np.datetime64(day, "D").astype(float)
    rows = points.groupby(pair, sort=False).indices
    for row, key in zip(between.index, between.itertuples(index=False), strict=True):
        seen = rows.get(tuple(key))
        if seen is not None:
            mean[row], sd[row] = (
                np.interp(at, days[seen], points[k].to_numpy()[seen])
                for k in ("log_strength", "log_sd")
            )
    return mean, sd
