"""Posterior moments into the tables of a result."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analytics.catalogue import load_per_arm
from analytics.intervals import Z90
from analytics.strength.model.contrasts import Relation
from analytics.strength.model.observe import Observations
from analytics.strength.model.outcome import Outcomes
from analytics.strength.model.ratios import Ratios
from analytics.strength.model.relation import priors
from analytics.strength.model.results import StrengthFit, strength_kg
from analytics.strength.model.series import KEYS, Levels, Rows, total_variance
from analytics.table_schema import column_names

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

_SHOWN_KIND = {"below": "failure", "outdone": "unreported", "far": "rir"}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Measured:
    """Sets as outcomes, and what they hang on.

    Attributes
    ----------
    seen : Observations
    lifter, setup : ndarray of int, shape (n_sets,)
    counted : ndarray of bool, shape (n_sets,)
        Not outdone by another set of the day.
    setup_ln_k : ndarray, shape (n_setups,)
        Log of the published K.
    usual : ndarray, shape (n_sets,)
        Reserve expected of an unmarked set. [repetitions]
    relation : Relation
    outcomes : Outcomes
        At each lifter's own relation.
    """

    seen: Observations
    lifter: Ints
    setup: Ints
    counted: NDArray[np.bool_]
    setup_ln_k: Floats
    usual: Floats
    relation: Relation
    outcomes: Outcomes


def spreads(levels: Levels, ratios: Ratios) -> dict[str, float]:
    """Return standard deviations by name, of log strength unless it says so."""
    known, reps = priors("strength"), priors("repetitions")
    return {
        "day_sd": known["day_sd"] * levels.noise_scale,
        "walk_sd": known["walk_sd"] * levels.walk_scale,
        "walk_scale": levels.walk_scale,
        "noise_scale": levels.noise_scale,
        "set_sd": reps["luck_log_sd"] * levels.noise_scale,
        "setup_sd": ratios.between_sd,
        "slope_sd": known["slope_sd"],
    }


def state_table(measured: Measured, rows: Rows, levels: Levels) -> pd.DataFrame:
    """State on every training day of every setup."""
    table = rows.table
    lifter = pd.Index(measured.seen.lifters).get_indexer(table["lifter"])
    own_sd = priors("relation")["ln_k_person_exercise"]
    variance, both = total_variance(levels, measured.relation.cov[lifter], own_sd)
    keys = ["lifter", "setup"]
    out = table[KEYS].copy()
    out["log_strength"], out["log_sd"] = levels.mean, np.sqrt(variance)
    out["with_ln_k"], out["with_shape"] = both.T
    session = levels.noise_scale**2 * priors("strength")["day_sd"] ** 2
    luck = levels.noise_scale**2 * priors("repetitions")["luck_log_sd"] ** 2
    out["effective_sets"] = (session + luck) / levels.variance
    sets = measured.seen.sets
    of_day = sets.groupby(KEYS).agg(
        sets=("setup", "size"),
        body_kg=("body_kg", "first"),
        variant=("variant", "first"),
        equipment=("equipment", "first"),
    )
    told = ~sets["kind"].isin(["unreported", "outdone"])
    told = told.groupby([sets[k] for k in keys]).any().rename("told")
    out = out.drop_duplicates(KEYS, keep="last").join(of_day, on=KEYS)
    out = out.join(told, on=keys)
    out["basis"] = np.where(out["told"], "reported effort", "assumed reserve")
    return out.drop(columns="told").sort_values(KEYS, ignore_index=True)


def with_intervals(fit: StrengthFit, state: pd.DataFrame) -> pd.DataFrame:
    """Strength for one repetition beside its state."""
    kg = strength_kg(fit, state)
    return pd.concat([state, kg], axis=1)[column_names("trend")]


def relation_table(measured: Measured) -> pd.DataFrame:
    """Repetition relation of every lifter in every setup, done or not."""
    seen, relation = measured.seen, measured.relation
    n, v = len(seen.lifters), len(seen.setups)
    known = priors("relation")
    own = known["ln_k_person_exercise"] ** 2
    before = relation.ln_k_sd**2 + known["ln_k_person"] ** 2
    ln_k = (relation.mean[:, :1] + measured.setup_ln_k).ravel()
    variance = np.repeat(relation.cov[:, 0, 0] + own, v)
    half = Z90 * np.sqrt(variance)
    return pd.DataFrame(
        {
            "lifter": np.repeat(np.array(seen.lifters, dtype=object), v),
            "setup": np.tile(seen.setups["setup"].to_numpy(), n),
            "k": np.exp(ln_k),
            "k_low": np.exp(ln_k - half),
            "k_high": np.exp(ln_k + half),
            "ln_k": ln_k,
            "shape": np.repeat(relation.mean[:, 1], v),
            "var_ln_k": variance,
            "cov": np.repeat(relation.cov[:, 0, 1], v),
            "var_shape": np.repeat(relation.cov[:, 1, 1], v),
            "learned_frac": np.repeat(1 - relation.cov[:, 0, 0] / before, v),
        }
    )


def load_table(sets: pd.DataFrame) -> pd.DataFrame:
    """Heaviest loads lifted, by day and repetitions."""
    done = sets[sets["reps"] >= 1]
    return done.groupby([*KEYS, "reps"], as_index=False)["load_kg"].max()


def arm_shift(seen: Observations) -> Floats:
    """Log of load per arm over logged load, relative to the reference."""
    share = seen.setups["arms_share"].to_numpy(float)
    per_arm = np.log(load_per_arm(1.0, share))
    return per_arm - per_arm[(seen.setups["setup"] == seen.reference).argmax()]


def ratio_table(seen: Observations, ratios: Ratios) -> pd.DataFrame:
    """Cohort ratios per working arm, one row per setup but the reference."""
    mean = ratios.cohort_mean + arm_shift(seen)
    sd = np.sqrt(np.diag(ratios.cohort_cov))
    counted = seen.setups.set_index("setup")[["lifters", "sets"]]
    out = seen.setups[["setup", "variant"]].copy()
    out["reference"] = seen.reference
    out["ratio"] = np.exp(mean)
    out["low"], out["high"] = np.exp(mean - Z90 * sd), np.exp(mean + Z90 * sd)
    out["between_sd"] = np.sqrt(2.0) * ratios.between_sd
    out = out.join(counted, on="setup")
    out["reps"] = ratios.reps.astype(int)
    return out[out["setup"] != seen.reference].reset_index(drop=True)


def personal_table(measured: Measured, ratios: Ratios) -> pd.DataFrame:
    """Personal ratios, shrunk and as the lifter's own sets alone have them."""
    seen = measured.seen
    n, v = len(seen.lifters), len(seen.setups)
    counts = np.zeros((n, v), dtype=np.int64)
    np.add.at(counts, (measured.lifter, measured.setup), 1)
    ref = int((seen.setups["setup"] == seen.reference).argmax())
    lifter, setup = np.nonzero(counts)
    lifter, setup = lifter[setup != ref], setup[setup != ref]
    shift = arm_shift(seen)[setup]
    mean = ratios.own_mean[lifter, setup]
    variance = ratios.own_cov[lifter, setup, setup]
    prior_mean = ratios.cohort_mean[setup]
    shrinkage = np.clip(variance / (2 * ratios.between_sd**2), 0.0, 1.0)
    own_share = np.maximum(1 - shrinkage, 1e-6)
    own_variance = variance / own_share
    own = (counts[lifter, ref] > 0) & (shrinkage < 0.99)
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
    measured: Measured, ratios: Ratios
) -> dict[str, tuple[tuple[str, ...], Floats, Floats]]:
    """Log ratios of each lifter's own setups with their covariance."""
    seen = measured.seen
    done = np.zeros((len(seen.lifters), len(seen.setups)), dtype=bool)
    done[measured.lifter, measured.setup] = True
    done[:, (seen.setups["setup"] == seen.reference).to_numpy()] = False
    names, shift = seen.setups["setup"].to_numpy(), arm_shift(seen)
    out = {}
    for number, lifter in enumerate(seen.lifters):
        at = np.flatnonzero(done[number])
        if len(at):
            mean = ratios.own_mean[number, at] + shift[at]
            cov = ratios.own_cov[number][np.ix_(at, at)]
            out[str(lifter)] = (tuple(names[at]), mean, cov)
    return out


def point_table(
    measured: Measured, rows: Rows, levels: Levels, off: Floats
) -> pd.DataFrame:
    """Every set behind the estimate, by kind."""
    sets, now = measured.seen.sets, measured.outcomes
    at = np.flatnonzero(measured.counted)
    day = rows.table[KEYS].assign(row=np.arange(len(rows.table)))
    day = day.drop_duplicates(KEYS, keep="last")
    row = np.array(sets[KEYS].merge(day, "left", KEYS)["row"], dtype=np.int64)
    share = np.zeros(len(sets))
    row[at], share[at] = rows.row_of_set, rows.set_share
    flagged = (sets["flag"] != "").to_numpy()
    flagged = flagged | np.isin(np.arange(len(sets)), at[off != 0])
    alone = np.isinf(levels.without_variance[row])
    expected = np.where(alone, levels.mean[row], levels.without_mean[row])
    variance = levels.noise_scale**2 * (
        now.variance + priors("strength")["day_sd"] ** 2
    )
    spread = np.sqrt(levels.without_variance[row] + variance)
    body = sets["body_kg"].to_numpy()
    pulled = share * levels.variance[row] / levels.site_variance[row]
    return pd.DataFrame(
        {
            "set_id": sets["set_id"].to_numpy(),
            "lifter": sets["lifter"].to_numpy(),
            "setup": sets["setup"].to_numpy(),
            "date": sets["date"].to_numpy(),
            "kind": np.where(flagged, "flagged", sets["kind"].replace(_SHOWN_KIND)),
            "implied_kg": np.exp(now.implied) - body,
            "influence": np.clip(pulled, 0, 1),
            "expected_kg": np.exp(expected) - body,
            "z": np.where(alone, 0.0, (now.implied - expected) / spread),
        }
    )


def last_table(measured: Measured, state: pd.DataFrame, ratios: Ratios) -> pd.DataFrame:
    """State of every lifter and setup, on the last day each was done.

    A setup the lifter has not done is carried over from the one done most, by the
    ratio between them.
    """
    seen = measured.seen
    v = len(seen.setups)
    pair = ["lifter", "setup"]
    grouped = state.groupby(pair)
    newest = grouped.tail(1).set_index(pair)
    newest = newest.assign(
        first_on=grouped["date"].min(), last_on=newest["date"], used=True
    )
    newest["done"] = grouped["sets"].sum()
    every = pd.MultiIndex.from_product([seen.lifters, seen.setups["setup"]], names=pair)
    out = newest.reindex(every)
    most = newest["done"].groupby("lifter").idxmax()
    at = np.flatnonzero(out["used"].isna())
    base = newest.loc[list(most.reindex(every.get_level_values(0)[at]))]
    lifter, setup = np.divmod(at, v)
    known = pd.Index(seen.setups["setup"]).get_indexer(base.index.get_level_values(1))
    mean = ratios.own_mean[lifter, setup] - ratios.own_mean[lifter, known]
    cov = ratios.own_cov
    variance = cov[lifter, setup, setup] + cov[lifter, known, known]
    variance -= 2 * cov[lifter, setup, known]
    for name in ("first_on", "last_on", "with_ln_k", "with_shape"):
        out.iloc[at, out.columns.get_loc(name)] = base[name].to_numpy()
    level = base["log_strength"].to_numpy() + mean
    sd = np.sqrt(base["log_sd"].to_numpy() ** 2 + np.maximum(variance, 0))
    out.iloc[at, out.columns.get_loc("log_strength")] = level
    out.iloc[at, out.columns.get_loc("log_sd")] = sd
    out["used"] = out["used"].notna()
    return out.reset_index()[column_names("last")]
