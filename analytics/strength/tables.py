"""Posterior moments into the tables of a result."""

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analytics.strength.inference import Inference
from analytics.strength.observe import Observations
from analytics.strength.posterior import Readings
from analytics.strength.results import Z90

Floats = NDArray[np.float64]

_SHOWN_KIND = {"bound": "floor", "below": "failure", "outdone": "floor"}


def session_variance(hyper: dict[str, float]) -> float:
    """Variance of one set to failure on a day of its own, log strength."""
    return hyper["day_sd"] ** 2 + hyper["cell_sd"] ** 2 + hyper["set_sd"] ** 2


def trend_table(
    seen: Observations, readings: Readings, hyper: dict[str, float]
) -> pd.DataFrame:
    """Strength on every training day of every setup."""
    panel = seen.panel
    first = np.searchsorted(panel.cell_of_set, np.arange(panel.n_cells))
    columns = ["lifter", "setup", "variant", "equipment", "date"]
    out = seen.sets.iloc[first][columns].reset_index(drop=True)
    body = seen.sets["body_kg"].to_numpy()[first]
    mean, sd = readings.cell_mean, np.sqrt(readings.cell_variance)
    out["strength_kg"] = np.exp(mean) - body
    out["low_kg"] = np.exp(mean - Z90 * sd) - body
    out["high_kg"] = np.exp(mean + Z90 * sd) - body
    out["sets"] = np.bincount(panel.cell_of_set, minlength=panel.n_cells)
    out["effective_sets"] = session_variance(hyper) / readings.cell_variance
    out["log_strength"], out["log_sd"] = mean, sd
    # Marked and unmarked sets of a day are two cells of one strength.
    keys = ["lifter", "setup", "date"]
    out["sets"] = out.groupby(keys)["sets"].transform("sum")
    return out.drop_duplicates(keys).sort_values(keys, ignore_index=True)


def arm_shift(seen: Observations) -> Floats:
    """Log of load per arm over logged load, relative to the reference."""
    share = seen.setups["arms_share"].to_numpy(float)
    return np.log(share[seen.panel.reference] / share)


def ratio_table(
    seen: Observations, readings: Readings, hyper: dict[str, float]
) -> pd.DataFrame:
    """Cohort ratios per working arm, one row per setup but the reference."""
    panel = seen.panel
    mean = readings.cohort_mean + arm_shift(seen)
    sd = np.sqrt(np.diag(readings.cohort_cov))
    tau = setup_sds(panel.n_setups, hyper)
    counted = seen.sets.groupby("setup").agg(
        lifters=("lifter", "nunique"), sets=("setup", "size")
    )
    out = seen.setups[["setup", "variant"]].copy()
    out["reference"] = seen.reference
    out["ratio"] = np.exp(mean)
    out["low"], out["high"] = np.exp(mean - Z90 * sd), np.exp(mean + Z90 * sd)
    out["between_sd"] = np.hypot(tau, tau[panel.reference])
    out = out.join(counted, on="setup")
    return out.drop(index=panel.reference).reset_index(drop=True)


def setup_sds(n_setups: int, hyper: dict[str, float]) -> Floats:
    """Spread between lifters of each setup's offset."""
    deviation = [hyper.get(f"setup_deviation {v}", 0.0) for v in range(n_setups)]
    return hyper["setup_sd"] * np.exp(np.array(deviation))


def personal_table(
    seen: Observations, readings: Readings, hyper: dict[str, float]
) -> pd.DataFrame:
    """Personal ratios, shrunk and as the lifter's own sets alone have them."""
    panel = seen.panel
    counts = np.zeros((panel.n_lifters, panel.n_setups), dtype=np.int64)
    np.add.at(
        counts,
        (panel.lifter_of_set, panel.setup_of_cell[panel.cell_of_set]),
        1,
    )
    lifter, setup = np.nonzero(counts)
    keep = setup != panel.reference
    lifter, setup = lifter[keep], setup[keep]
    shift = arm_shift(seen)[setup]
    mean = readings.ratio_mean[lifter, setup]
    variance = readings.ratio_cov[lifter, setup, setup]
    tau = setup_sds(panel.n_setups, hyper)
    prior_mean = readings.cohort_mean[setup]
    prior_variance = tau[setup] ** 2 + tau[panel.reference] ** 2
    shrinkage = np.clip(variance / prior_variance, 0.0, 1.0)
    own_share = np.maximum(1 - shrinkage, 1e-6)
    own_variance = variance / own_share
    own = (counts[lifter, panel.reference] > 0) & (shrinkage < 0.99)
    own_mean = (mean - shrinkage * prior_mean) / own_share
    own_mean = np.where(own, own_mean, np.nan)
    sd, own_sd = np.sqrt(variance), np.sqrt(own_variance)
    return pd.DataFrame(
        {
            "lifter": np.array(seen.lifters, dtype=object)[lifter],
            "setup": seen.setups["setup"].to_numpy()[setup],
            "variant": seen.setups["variant"].to_numpy()[setup],
            "ratio": np.exp(mean + shift),
            "low": np.exp(mean + shift - Z90 * sd),
            "high": np.exp(mean + shift + Z90 * sd),
            "own_ratio": np.exp(own_mean + shift),
            "own_low": np.exp(own_mean + shift - Z90 * own_sd),
            "own_high": np.exp(own_mean + shift + Z90 * own_sd),
            "shrinkage": shrinkage,
            "sets": counts[lifter, setup],
        }
    )


def personal_covariances(
    seen: Observations, readings: Readings
) -> dict[str, tuple[tuple[str, ...], Floats, Floats]]:
    """Log ratios of each lifter's own setups with their covariance."""
    panel = seen.panel
    done = np.zeros((panel.n_lifters, panel.n_setups), dtype=bool)
    done[panel.lifter_of_cell, panel.setup_of_cell] = True
    done[:, panel.reference] = False
    names, shift = seen.setups["setup"].to_numpy(), arm_shift(seen)
    out = {}
    for number, lifter in enumerate(seen.lifters):
        at = np.flatnonzero(done[number])
        if len(at):
            mean = readings.ratio_mean[number, at] + shift[at]
            cov = readings.ratio_cov[number][np.ix_(at, at)]
            out[str(lifter)] = (tuple(names[at]), mean, cov)
    return out


def point_table(seen: Observations, inference: Inference) -> pd.DataFrame:
    """Every set behind the estimate, by kind."""
    state, sets = inference.state, seen.sets
    assert state.marginals is not None
    assert state.cavity_mean is not None
    assert state.cavity_variance is not None
    hyper = inference.space.natural(inference.theta)
    panel = inference.panel
    noise = inference.sets.noise(hyper)
    typing_error = inference.suspect
    flagged = typing_error | (sets["flag"] != "").to_numpy()
    kind = sets["kind"].replace(_SHOWN_KIND).to_numpy()
    effects = state.marginals.set_effects[panel.lifter_of_set]
    correction = (panel.set_terms * effects).sum(axis=1)
    two_sided = np.isin(sets["kind"], ["failure", "rir"])
    correction = np.where(two_sided, correction, 0.0)
    body = sets["body_kg"].to_numpy()
    expected, implied = state.cavity_mean, inference.sets.implied
    spread = np.sqrt(state.cavity_variance + noise)
    return pd.DataFrame(
        {
            "set_id": sets["set_id"].to_numpy(),
            "lifter": sets["lifter"].to_numpy(),
            "setup": sets["setup"].to_numpy(),
            "date": sets["date"].to_numpy(),
            "kind": np.where(flagged, "flagged", kind),
            "implied_kg": np.exp(implied - correction) - body,
            "influence": np.clip(state.precision * state.marginals.variance, 0, 1),
            "expected_kg": np.exp(expected - correction) - body,
            "z": (implied - expected) / spread,
        }
    )


def side_table(seen: Observations, readings: Readings) -> pd.DataFrame:
    """Left against right, for lifters who logged both sides of a setup."""
    sided = seen.sets[seen.sets["side"] != ""]
    both = sided.groupby(["lifter", "setup"])["side"].agg(["nunique", "size"])
    both = both[both["nunique"] == 2].reset_index()
    lifter = pd.Index(seen.lifters).get_indexer(both["lifter"])
    setups = seen.setups["setup"].iloc[list(seen.panel.sided_setups)]
    at = lifter, pd.Index(setups).get_indexer(both["setup"])
    mean, sd = readings.side_mean[at], np.sqrt(readings.side_variance[at])
    return pd.DataFrame(
        {
            "lifter": both["lifter"],
            "setup": both["setup"],
            "left_right_ratio": np.exp(mean),
            "low": np.exp(mean - Z90 * sd),
            "high": np.exp(mean + Z90 * sd),
            "sets": both["size"].to_numpy(),
        }
    )


def last_table(seen: Observations, readings: Readings) -> pd.DataFrame:
    """State of every lifter and setup on the lifter's last day."""
    panel = seen.panel
    n, v = panel.n_lifters, panel.n_setups
    used = np.zeros((n, v), dtype=bool)
    used[panel.lifter_of_cell, panel.setup_of_cell] = True
    days = seen.sets.groupby("lifter")["date"].agg(["min", "max"])
    days = days.loc[list(seen.lifters)]
    return pd.DataFrame(
        {
            "lifter": np.repeat(np.array(seen.lifters, dtype=object), v),
            "setup": np.tile(seen.setups["setup"].to_numpy(), n),
            "first_on": np.repeat(days["min"].to_numpy(), v),
            "last_on": np.repeat(days["max"].to_numpy(), v),
            "log_strength": readings.last_mean.ravel(),
            "log_sd": np.sqrt(readings.last_variance.ravel()),
            "slope": readings.slope_mean.ravel(),
            "slope_sd": np.sqrt(readings.slope_variance.ravel()),
            "level_slope_cov": readings.last_slope_cov.ravel(),
            "used": used.ravel(),
        }
    )
