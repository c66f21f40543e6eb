"""What draws predict of measured people, before and after they were weighed by them."""

from __future__ import annotations

from functools import cache

import numpy as np
import pandas as pd

from analytics.catalogue import Joint, load_catalogue
from analytics.intervals import QUANTILES, Z90
from analytics.mechanics.curves import Floats
from analytics.mechanics.draws import make_draws, spread, structures
from analytics.mechanics.predictions import hardest
from analytics.mechanics.weighing import (
    POOL,
    POPULATIONS,
    effective_draws,
    grip_posterior,
    held_strength_nm,
    log_ratio_by_angle,
    pool_strength_nm,
    pool_weights,
    population_pool,
    targets,
    turned_log_ratio,
)

READING_DEG = 7.5  # half the step of the angles a greatest mean was read off
KINDS = [population for mine in POPULATIONS.values() for population in mine]


def _joint(joint: str) -> Joint:
    return load_catalogue().joints[joint]


def _quantiles(values: Floats, weights: Floats) -> Floats:
    """Low, middle and high of every column of weighed values."""
    columns = values.reshape(len(values), -1)
    found = []
    for column in columns.T:
        order = np.argsort(column)
        upto = np.cumsum(weights[order]) - 0.5 * weights[order]
        found.append(np.interp(QUANTILES, upto, column[order]))
    return np.array(found).T.reshape(3, *values.shape[1:])


def _predicted(joint: Joint, one: pd.Series, *, weighed: bool) -> Floats:
    """One target in every population of the pool, ratios as logs."""
    pool = population_pool(joint)
    if one["kind"] == "ratio":
        return log_ratio_by_angle(joint, one["first"], one["second"])
    if one["kind"] == "shoulder":
        other = held_strength_nm(joint, pool, shoulder_deg=one["first"])
        return np.log(other.max(axis=1) / pool_strength_nm(joint).max(axis=1))
    if one["kind"] == "turn":
        name = one["parameter"]
        plain, found = turned_log_ratio(joint, one["first"]), np.empty(POOL)
        mean, sd = 0.0 * plain, spread(name)
        if weighed:
            mean, sd = grip_posterior(joint, one)
        z = pool.departure(name)[:, 0] / spread(name)
        for structure, mine in pool.blocks:
            found[mine] = plain[structure] + mean[structure] + sd * z[mine]
        return found
    return joint.grid()[pool_strength_nm(joint).argmax(axis=1)]


def _population(one: pd.Series) -> str | None:
    return None if one["population"] == "all" else str(one["population"])


def target_table(joint: str) -> pd.DataFrame:
    """Each measured target beside its prediction before and after weighing.

    Parameters
    ----------
    joint : str
        Joint of the catalogue.

    Returns
    -------
    table : DataFrame
        One row per target: ``population, target, use, measured, before, before_low,
        before_high, after, after_low, after_high, misfit_before, misfit_after,
        source``. Medians with 90 % intervals; ratios, or degrees where the target is
        an angle. Misfit: measured less predicted over the root of both variances. [SD]

    Notes
    -----
    A target of use ``compared`` weighs nothing.
    """
    chosen, rows = _joint(joint), []
    even = np.full(POOL, 1.0 / POOL)
    for _, one in targets(chosen).iterrows():
        in_degrees = one["kind"] in ("highest", "angle")
        measured = one["value"] if in_degrees else np.log(one["value"])
        error = READING_DEG if one["kind"] == "highest" else one["error"]
        row = {key: one[key] for key in ("population", "target", "use")}
        row["measured"] = one["value"]
        for when, weights in (
            ("before", even),
            ("after", pool_weights(chosen, _population(one))),
        ):
            predicted = _predicted(chosen, one, weighed=when == "after")
            low, middle, high = _quantiles(predicted, weights)
            mean = weights @ predicted
            variance = weights @ (predicted - mean) ** 2
            row[f"misfit_{when}"] = (measured - mean) / np.hypot(error, variance**0.5)
            back = (lambda x: x) if in_degrees else np.exp
            row[when] = back(middle)
            row[f"{when}_low"], row[f"{when}_high"] = back(low), back(high)
        row["source"] = one["origin"]
        rows.append(row)
    ends = [
        f"{when}{end}" for when in ("before", "after") for end in ("", "_low", "_high")
    ]
    misfits = ["misfit_before", "misfit_after", "source"]
    columns = ["population", "target", "use", "measured", *ends, *misfits]
    return pd.DataFrame(rows)[columns]


def weighed_numbers(joint: str) -> pd.DataFrame:
    """Effective draws, and the weight of each muscle set and curve, by population.

    Parameters
    ----------
    joint : str
        Joint of the catalogue.

    Returns
    -------
    table : DataFrame
        One row per population: ``population, draws, effective_draws`` and one column
        per structure with its weight. [1]
    """
    chosen, rows = _joint(joint), []
    for population in (*KINDS, None):
        weights = pool_weights(chosen, population)
        row = {
            "population": population or "not told",
            "draws": POOL,
            "effective_draws": round(effective_draws(weights)),
        }
        for structure, mine in population_pool(chosen).blocks:
            name = " with ".join(structures(chosen)[structure])
            row[name] = weights[mine].sum()
        rows.append(row)
    return pd.DataFrame(rows)


def _base_deg(joint: Joint) -> float:
    """Angle the measured ratios are set against."""
    rows = targets(joint)
    return float(rows.loc[rows["kind"] == "ratio", "second"].iloc[0])


@cache
def torque_angle_bands(joint: str) -> pd.DataFrame:
    """Torque by joint angle over that at one angle, before and after weighing.

    Parameters
    ----------
    joint : str
        Joint of the catalogue.

    Returns
    -------
    bands : DataFrame
        ``population, drawn`` (``before`` or ``after`` weighing), the joint's angle,
        ``low, middle, high`` (90 %) every 5 degrees, shoulder at the side, supinated,
        over the torque at the angle that measured ratios are set against. [1]
    """
    chosen, parts = _joint(joint), []
    grid, moment = chosen.grid(), pool_strength_nm(chosen)
    relative = moment[:, ::5] / moment[:, grid == _base_deg(chosen)]
    even = np.full(POOL, 1.0 / POOL)
    before = _quantiles(relative, even)
    for population in KINDS:
        after = _quantiles(relative, pool_weights(chosen, population))
        for drawn, ends in (("before", before), ("after", after)):
            parts.append(
                pd.DataFrame(
                    {
                        "population": population,
                        "drawn": drawn,
                        chosen.column: grid[::5],
                        **dict(zip(("low", "middle", "high"), ends, strict=True)),
                    }
                )
            )
    return pd.concat(parts, ignore_index=True)


def measured_points(joint: str) -> pd.DataFrame:
    """Measured torque over that at the same angle as in `torque_angle_bands`.

    Parameters
    ----------
    joint : str
        Joint of the catalogue.

    Returns
    -------
    points : DataFrame
        ``population``, the joint's angle, ``middle, low, high`` (90 %), ``source``. [1]
    """
    chosen = _joint(joint)
    rows = targets(chosen)
    rows = rows[rows["kind"] == "ratio"]
    reach = np.exp(Z90 * rows["error"])
    return pd.DataFrame(
        {
            "population": rows["population"],
            chosen.column: rows["first"],
            "middle": rows["value"],
            "low": rows["value"] / reach,
            "high": rows["value"] * reach,
            "source": rows["origin"],
        }
    ).reset_index(drop=True)


def slope_table(joint: str) -> pd.DataFrame:
    """How steeply strength falls beyond its peak, modelled and measured.

    Parameters
    ----------
    joint : str
        Joint of the catalogue.

    Returns
    -------
    table : DataFrame
        ``curve``: muscle set and curve as published, then measured people;
        ``steepest_fall_frac`` of strength per 10 degrees and ``steepest_at_deg``, up to
        the end of the angles where tables are at their best (NaN for people, of whom
        two angles were read); ``mean_fall_frac`` per 10 degrees between those two.
    """
    chosen = _joint(joint)
    rows = targets(chosen)
    rows = rows[rows["kind"] == "ratio"]
    first, second = float(rows["first"].iloc[0]), _base_deg(chosen)
    grid, among = chosen.grid(), structures(chosen)
    plain = make_draws(len(among), joint=chosen, seed=None)
    moment = held_strength_nm(chosen, plain)
    last = int(np.flatnonzero(grid == chosen.curve_deg[1] - 10)[0])
    fall = 1 - moment[:, 10:] / moment[:, :-10]
    steepest = fall[:, : last + 1].argmax(axis=1)
    places = [int(np.flatnonzero(grid == x)[0]) for x in (first, second)]
    ratio = moment[:, places[0]] / moment[:, places[1]]
    people = "measured, " + rows["population"]
    return pd.DataFrame(
        {
            "curve": [*(" with ".join(x) for x in among), *people],
            "steepest_fall_frac": [
                *fall[np.arange(len(among)), steepest],
                *np.full(len(rows), np.nan),
            ],
            "steepest_at_deg": [*grid[steepest], *np.full(len(rows), np.nan)],
            "mean_fall_frac": 1
            - np.concatenate([ratio, rows["value"]]) ** (10 / (first - second)),
        }
    )


def ratios_changed(*, n_draws: int = 1500) -> pd.DataFrame:
    """Predicted ratios to the reference variant, before draws were weighed and now.

    Parameters
    ----------
    n_draws : int
        Draws of today's prediction.

    Returns
    -------
    table : DataFrame
        ``variant, before, before_low, before_high, now, now_low, now_high, measured``;
        medians with 90 % intervals per working arm. [1]
    """
    table = load_catalogue().tables["ratios_before_weighing"]
    before = pd.DataFrame(
        {
            "variant": table.columns["variant"],
            "before": table.numbers("ratio"),
            "before_low": table.numbers("low"),
            "before_high": table.numbers("high"),
        }
    )
    now = hardest(list(before["variant"]), n_draws=n_draws)
    for ours, theirs in (
        ("now", "limit_load_ratio"),
        ("now_low", "ratio_low"),
        ("now_high", "ratio_high"),
    ):
        before[ours] = now[theirs].to_numpy()
    return before.assign(measured=table.columns["measured"])
