"""Leave one variant out: the model against two baselines that need no mechanics."""

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy import linalg, special, stats

from analytics.evidence.comparison import Comparison, smoothed
from analytics.intervals import Z90
from analytics.table_schema import column_names

PREDICTORS = ("model", "same_load", "cohort_mean")
LEAST_SD = 0.02  # no lifter's ratio is known, or shared, better than 2 %

Array = NDArray[np.float64]


def left_out_prediction(
    comparison: Comparison, *, shape: str = "peaked"
) -> tuple[Array, Array, Array]:
    """Predict each setup's log ratio from all the others.

    Parameters
    ----------
    comparison : Comparison
        What was observed and predicted.
    shape : str
        Shape that predicts.

    Returns
    -------
    mean, sd, log_score : ndarray, shape (n,)
        Predicted log ratio, its standard deviation including the sampling noise
        of the left-out observation, and the log density of what was observed. [1]
    """
    comparison = comparison.settled(shape)
    n = len(comparison.labels)
    mean, sd, score = np.empty(n), np.empty(n), np.empty(n)
    for j in range(n):
        parts = [
            _conditional(comparison, block, j) for block in comparison.blocks(shape)
        ]
        log_weight, at, var = (
            np.concatenate(part) for part in zip(*parts, strict=True)
        )
        weight = special.softmax(log_weight)
        mean[j] = weight @ at
        sd[j] = np.sqrt(weight @ (var + (at - mean[j]) ** 2))
        density = stats.norm.logpdf(comparison.observed[j], at, np.sqrt(var))
        score[j] = special.logsumexp(density, b=weight)
    return mean, sd, score


def _conditional(
    comparison: Comparison, block: Array, j: int
) -> tuple[Array, Array, Array]:
    """Weight, mean and variance of setup j for each draw, given the others."""
    centres, kernel = smoothed(block)
    total = comparison.cov + comparison.spread + kernel
    rest = np.arange(len(total)) != j
    log_weight = np.zeros(len(block))
    at, var = centres[:, j], total[j, j]
    if rest.any():
        square = total[np.ix_(rest, rest)]
        factor = linalg.cholesky(square, lower=True)
        residual = comparison.observed[rest] - centres[:, rest]
        white = linalg.solve_triangular(factor, residual.T, lower=True)
        log_weight -= 0.5 * np.einsum("ib,ib->b", white, white)
        log_weight -= np.log(np.diag(factor)).sum()
        gain = linalg.cho_solve((factor, True), total[rest, j])
        at, var = at + residual @ gain, var - total[rest, j] @ gain
    return log_weight, at, np.full(len(block), var)


def left_out(
    comparison: Comparison,
    own: pd.DataFrame,
    between_sd: NDArray[np.float64],
    *,
    lifter: str | None = None,
) -> pd.DataFrame:
    """Predict every setup without its own logs, for each lifter who logged it.

    Parameters
    ----------
    comparison : Comparison
        Observed and predicted log ratios of the cohort or of one lifter.
    own : DataFrame
        One row per lifter and setup with the lifter's own, unshrunk ratio:
        ``lifter, setup, own_ratio, own_low, own_high`` (90 % interval).
    between_sd : ndarray, shape (n,)
        Spread of log ratios between lifters, per compared setup. [1]
    lifter : str or None
        Score this lifter only; the cohort mean still comes from the others.

    Returns
    -------
    table : DataFrame
        ``setup, lifters, logged_ratio, predicted_ratio`` and for each predictor
        (model, same load, cohort mean) ``error_*``, the mean absolute relative
        error, and ``score_*``, the mean log score (larger is better), then
        ``best``; the last row, setup ``all``, averages over lifters and setups.

    Notes
    -----
    The model has seen the other setups' ratios, never the left-out one. *Same load*
    is a ratio of 1, spread like the other setups' ratios around 1. *Cohort mean*
    is the mean of the other lifters in the left-out setup, so it uses logs of that
    very setup and is missing where nobody else logged it.
    """
    mean, sd, _ = left_out_prediction(comparison)
    sampling = np.diag(comparison.cov)
    model_var = np.maximum(sd**2 - sampling, LEAST_SD**2)
    position = {label: j for j, label in enumerate(comparison.labels)}
    rows = own[own["setup"].isin(position) & own["own_ratio"].notna()].copy()
    if rows.empty:
        return pd.DataFrame(columns=column_names("left_out"))
    rows["logged"] = np.log(rows["own_ratio"])
    width = np.log(rows["own_high"]) - np.log(rows["own_low"])
    rows["own_var"] = (width / (2 * Z90)).clip(lower=LEAST_SD) ** 2
    j = rows["setup"].map(position).to_numpy()
    shared_var = np.maximum(np.nan_to_num(between_sd, nan=0.05), LEAST_SD)[j] ** 2
    noise = rows["own_var"].to_numpy() + shared_var
    rows["model"], rows["model_var"] = mean[j], model_var[j] + noise
    rows["same_load"] = 0.0
    rows["same_load_var"] = _spread_around_one(comparison.observed)[j] + noise
    others, others_var = _mean_of_others(rows, noise)
    rows["cohort_mean"], rows["cohort_mean_var"] = others, others_var + noise
    if lifter is not None:
        rows = rows[rows["lifter"] == lifter]
    for name in PREDICTORS:
        rows[f"error_{name}"] = (rows[name] - rows["logged"]).abs().map(np.expm1)
        rows[f"score_{name}"] = stats.norm.logpdf(
            rows["logged"], rows[name], np.sqrt(rows[f"{name}_var"])
        )
    return _summarise(rows)


def _spread_around_one(observed: NDArray[np.float64]) -> NDArray[np.float64]:
    """Mean square of the other setups' log ratios, for each setup."""
    n = len(observed)
    if n == 1:
        return np.full(1, 0.2**2)
    return np.maximum((np.sum(observed**2) - observed**2) / (n - 1), LEAST_SD**2)


def _mean_of_others(
    rows: pd.DataFrame, noise: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Precision-weighted mean of the other lifters per setup, and its variance."""
    weight = pd.Series(1.0 / noise, index=rows.index)
    by_setup = rows["setup"]
    total = weight.groupby(by_setup).transform("sum") - weight
    weighted = weight * rows["logged"]
    summed = weighted.groupby(by_setup).transform("sum") - weighted
    alone = rows.groupby("setup")["lifter"].transform("nunique") < 2
    total = total.mask(alone)
    return (summed / total).to_numpy(), (1.0 / total).to_numpy()


def _summarise(rows: pd.DataFrame) -> pd.DataFrame:
    if rows.empty:
        return pd.DataFrame(columns=column_names("left_out"))
    numbers = [f"{kind}_{name}" for kind in ("error", "score") for name in PREDICTORS]
    everything = rows.assign(setup="all")
    table = (
        pd.concat([rows, everything])
        .groupby("setup", sort=False)
        .agg(
            lifters=("lifter", "nunique"),
            logged_ratio=("logged", lambda x: float(np.exp(x.mean()))),
            predicted_ratio=("model", lambda x: float(np.exp(x.mean()))),
            **{name: (name, "mean") for name in numbers},
        )
        .reset_index()
    )
    table.loc[table["setup"] == "all", ["logged_ratio", "predicted_ratio"]] = np.nan
    scores = table[[f"score_{name}" for name in PREDICTORS]].fillna(-np.inf)
    table["best"] = [PREDICTORS[i] for i in scores.to_numpy().argmax(axis=1)]
    return table[column_names("left_out")]
