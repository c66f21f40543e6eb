"""What a fit says, as tables; no computation beyond looking things up."""

from dataclasses import dataclass
from datetime import date

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from analytics.errors import InputError
from analytics.intervals import Z90
from analytics.strength.model.relation import LARGEST_REPS, gain_slopes, log_gain
from analytics.strength.model.series import walk_variance
from analytics.summary import Summary

Floats = NDArray[np.float64]

TABLES = (
    *("setups", "trend", "relation", "loads", "ratios", "personal", "set_points"),
    *("slopes", "days", "reasons", "outliers", "sides", "holds", "last"),
)
STATE = ("log_strength", "log_sd", "with_ln_k", "with_shape")
LIFTED_WITHIN = pd.Timedelta(days=28)  # a load lifted since is no less than strength


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StrengthFit:
    """Strength of all lifters in one movement.

    Attributes
    ----------
    movement, reference : str
        The reference is a setup; ratios refer to it.
    interval : float
        Probability of every ``low``-``high`` pair.
    n_obs, n_lifters : int
        Usable sets and lifters.
    method : str
        How the numbers came about, in words.
    hyper : dict
        Standard deviations by name.
    log_ratio, log_ratio_cov : ndarray
        Cohort log ratios of ``ratio_setups`` to the reference.
    ratio_setups : tuple of str
    personal_cov : dict
        lifter -> (setups, log ratios, covariance).
    setups, trend, relation, loads, ratios, personal : DataFrame
        Their columns, and those of the tables below, stand in `columns`.
    set_points, slopes, days, reasons, outliers, sides, holds, last : DataFrame
        As named by ``TABLES``.
    """

    movement: str
    reference: str
    interval: float = 0.90
    n_obs: int
    n_lifters: int
    method: str
    hyper: dict[str, float]
    setups: pd.DataFrame
    trend: pd.DataFrame
    relation: pd.DataFrame
    loads: pd.DataFrame
    ratios: pd.DataFrame
    log_ratio: Floats
    log_ratio_cov: Floats
    ratio_setups: tuple[str, ...]
    personal: pd.DataFrame
    personal_cov: dict[str, tuple[tuple[str, ...], Floats, Floats]]
    set_points: pd.DataFrame
    slopes: pd.DataFrame
    days: pd.DataFrame
    reasons: pd.DataFrame
    outliers: pd.DataFrame
    sides: pd.DataFrame
    holds: pd.DataFrame
    last: pd.DataFrame

    def summary(self) -> Summary:
        """Say on one screen how strong everybody is now.

        Returns
        -------
        summary : Summary
            Prints as text, and in a notebook as tables.
        """
        doubts = len(self.reasons) + len(self.outliers)
        now = self.trend.groupby(["lifter", "setup"], as_index=False).tail(1)
        shown = ["lifter", "setup", "date", "strength_kg", "low_kg", "high_kg", "basis"]
        of_ratios = ["setup", "ratio", "low", "high", "between_sd", "lifters", "sets"]
        return Summary(
            title=f"Strength in {self.movement or 'no movement'}: {self.n_obs} sets of "
            f"{self.n_lifters} lifters",
            sentences=(
                self.method,
                f"{doubts} sentences on weak estimates and outliers stand in `reasons` "
                "and `outliers`.",
            ),
            tables={
                "One repetition, last day of each, with 90 % intervals": (now[shown]),
                f"Strength per working arm over {self.reference or 'a reference'}": (
                    self.ratios[of_ratios]
                ),
            },
        )

    def _repr_html_(self) -> str:
        return self.summary()._repr_html_()


def predict(
    fit: StrengthFit,
    lifter: str,
    setup: str,
    on_date: date | str | pd.Timestamp,
    *,
    reps: float = 1.0,
) -> tuple[float, float]:
    """Log load one lifter can lift a number of times in one setup on one day.

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
    reps : float
        Repetitions that could be done, reserve included. [1]

    Returns
    -------
    mean, sd : float
        Of the log of the effective load (body share included). [1]

    Raises
    ------
    InputError
        If the fit does not know the lifter or the setup.
    """
    last = fit.last[(fit.last["lifter"] == lifter) & (fit.last["setup"] == setup)]
    if last.empty:
        known = ", ".join(fit.setups["setup"])
        raise InputError(
            f"no estimate for lifter '{lifter}' in '{setup}'; setups are: {known}"
        )
    state = carried(fit, last, on_date)
    mean, sd = for_reps(fit, state, reps)
    return float(mean[0]), float(sd[0])


def carried(
    fit: StrengthFit, keys: pd.DataFrame, on_date: date | str | pd.Timestamp
) -> pd.DataFrame:
    """State of many lifters and setups on one day.

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
    state : DataFrame
        ``lifter, setup`` and ``STATE``, rows as in ``keys``.
    """
    pair = ["lifter", "setup"]
    day = pd.Timestamp(on_date).normalize()
    state = keys[pair].merge(fit.last, on=pair, how="left")
    last_on = state["last_on"].to_numpy("datetime64[D]")
    weeks = (np.datetime64(day, "D") - last_on).astype(float) / 7
    walk = walk_variance(np.abs(weeks)) * fit.hyper["walk_scale"] ** 2
    state["log_sd"] = np.sqrt(state["log_sd"] ** 2 + walk)
    if not (weeks < 0).any():
        return state[[*pair, *STATE]]
    points = state.loc[weeks < 0, pair].merge(fit.trend, on=pair)
    days = points["date"].to_numpy("datetime64[D]").astype(float)
    at = np.datetime64(day, "D").astype(float)
    rows = points.groupby(pair, sort=False).indices
    for row in np.flatnonzero(weeks < 0):
        seen = rows.get(tuple(state.loc[row, pair]))
        if seen is not None:
            for name in STATE:
                known = points[name].to_numpy()[seen]
                state.loc[row, name] = np.interp(at, days[seen], known)
    return state[[*pair, *STATE]]


def for_reps(
    fit: StrengthFit, state: pd.DataFrame, reps: ArrayLike
) -> tuple[Floats, Floats]:
    """Log load that can be lifted a number of times, from the state.

    Parameters
    ----------
    fit : StrengthFit
        Whose states they are.
    state : DataFrame
        ``lifter, setup`` and ``STATE``.
    reps : array_like, broadcastable to the rows
        Repetitions that could be done. [1]

    Returns
    -------
    mean, sd : ndarray, shape (n_rows,)
        What is trained is known best: there the relation's part cancels. [1]

    Raises
    ------
    InputError
        If ``reps`` lies outside 1 to ``LARGEST_REPS``.
    """
    wanted = np.asarray(reps, dtype=float)
    if np.any(~((wanted >= 1) & (wanted <= LARGEST_REPS))):
        raise InputError(f"reps must be 1 to {LARGEST_REPS}, got {wanted}")
    known = state[["lifter", "setup"]].merge(fit.relation, "left", ["lifter", "setup"])
    ln_k, shape = known["ln_k"].to_numpy(float), known["shape"].to_numpy(float)
    _, d_k, d_shape = gain_slopes(wanted, ln_k, shape)
    variance = state["log_sd"].to_numpy(float) ** 2
    variance = variance - 2 * d_k * state["with_ln_k"].to_numpy(float)
    variance = variance - 2 * d_shape * state["with_shape"].to_numpy(float)
    variance = variance + d_k**2 * known["var_ln_k"].to_numpy(float)
    variance = variance + 2 * d_k * d_shape * known["cov"].to_numpy(float)
    variance = variance + d_shape**2 * known["var_shape"].to_numpy(float)
    mean = state["log_strength"].to_numpy(float) - log_gain(wanted, ln_k, shape)
    return mean, np.sqrt(np.maximum(variance, 1e-12))


def strength_kg(
    fit: StrengthFit, state: pd.DataFrame, *, reps: ArrayLike = 1.0
) -> pd.DataFrame:
    """Strength with its interval, in the logged convention.

    Parameters
    ----------
    fit : StrengthFit
        Whose states they are.
    state : DataFrame
        ``lifter, setup, date, body_kg`` and ``STATE``.
    reps : array_like, broadcastable to the rows
        Repetitions the load is for. [1]

    Returns
    -------
    table : DataFrame
        ``strength_kg, low_kg, high_kg``. The upper end is no less than any load
        lifted so many times in the four weeks before.
    """
    mean, sd = for_reps(fit, state, reps)
    body = state["body_kg"].to_numpy(float)
    out = pd.DataFrame(
        {
            "strength_kg": np.exp(mean) - body,
            "low_kg": np.exp(mean - Z90 * sd) - body,
            "high_kg": np.exp(mean + Z90 * sd) - body,
        },
        index=state.index,
    )
    out["high_kg"] = np.fmax(out["high_kg"], _lifted(fit.loads, state, reps))
    return out


def _lifted(loads: pd.DataFrame, state: pd.DataFrame, reps: ArrayLike) -> Floats:
    """Heaviest load lifted so many times in the four weeks up to each row's day."""
    keys = ["lifter", "setup", "least"]
    asked = state[["lifter", "setup", "date"]].assign(
        least=reps, load_kg=-np.inf, row=np.arange(len(state))
    )
    least = pd.DataFrame({"least": asked["least"].unique()})
    done = loads.merge(least, how="cross")
    done = done[done["reps"] >= done["least"]]
    best = done.groupby([*keys, "date"], as_index=False)["load_kg"].max()
    both = pd.concat([best, asked]).sort_values([*keys, "date"], kind="stable")
    window = both.set_index("date").groupby(keys, sort=False)["load_kg"]
    both["best"] = window.rolling(LIFTED_WITHIN, closed="both").max().to_numpy()
    found = both[both["row"].notna()].sort_values("row")["best"].to_numpy(float)
    return np.where(np.isfinite(found), found, np.nan)
