"""Variance parameters of the model: their priors, scales and names."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import expit, logit

from analytics.strength.observe import CELL_TERMS
from analytics.strength.panel import Panel, Prior, fixed_names
from analytics.strength.repetitions import read_table
from analytics.strength.terms import SET_TERMS

Floats = NDArray[np.float64]

FAMILIAR_SD = 0.02  # extra spread of the first two exposures; assumed
SETUP_LOG_SD = 0.4  # how far the spread of one setup may lie from the others'
CURVE_SDS = ("curve_sd", "rir_bias_sd", "habit_sd")
SIDE_SDS = ("side_sd", "setup_side_sd")
_LOGITS = {"outlier": (0.05, 0.7), "easy": (0.05, 1.0)}  # median, SD of the logit
_CORRELATION_SD = 0.4


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class HyperSpace:
    """The parameters of one fit, unconstrained, with normal priors.

    Attributes
    ----------
    names : tuple of str
    centre, scale : ndarray, shape (n,)
        Normal prior of the unconstrained parameters.
    """

    names: tuple[str, ...]
    centre: Floats
    scale: Floats

    def natural(self, theta: Floats) -> dict[str, float]:
        """Parameters on their own scale, by name."""
        out = {}
        for name, value in zip(self.names, theta, strict=True):
            if name in _LOGITS:
                out[name] = float(expit(value))
            elif name == "level_slope_correlation":
                out[name] = float(np.tanh(value))
            elif name == "shortfall" or name.startswith("setup_deviation"):
                out[name] = float(value)
            else:
                out[name] = float(np.exp(value))
        return out

    def log_prior(self, theta: Floats) -> float:
        """Log prior density without its constant."""
        return float(-0.5 * (((theta - self.centre) / self.scale) ** 2).sum())

    def log_prior_gradient(self, theta: Floats) -> Floats:
        """Gradient of :meth:`log_prior`."""
        return -(theta - self.centre) / self.scale**2


def hyper_space(panel: Panel) -> HyperSpace:
    """Parameters and priors for one panel."""
    names, centre, scale = [], [], []
    for row in read_table("strength_priors.toml")["row"]:
        names.append(row["parameter"])
        centre.append(np.log(float(row["median"])))
        scale.append(float(row["log_sd"]))
    for name, (median, sd) in _LOGITS.items():
        names.append(name)
        centre.append(float(logit(median)))
        scale.append(sd)
    rows = read_table("strength_priors.toml")["mean"]
    mean = next(r for r in rows if r["parameter"] == "shortfall")
    names.append("shortfall")
    centre.append(float(mean["mean"]))
    scale.append(float(mean["sd"]))
    names.append("level_slope_correlation")
    centre.append(0.0)
    scale.append(_CORRELATION_SD)
    if panel.n_setups > 1:
        names += [f"setup_deviation {v}" for v in range(panel.n_setups)]
        centre += [0.0] * panel.n_setups
        scale += [SETUP_LOG_SD] * panel.n_setups
    return HyperSpace(
        names=tuple(names), centre=np.array(centre), scale=np.array(scale)
    )


def expected_curvature(
    space: HyperSpace,
    panel: Panel,
    *,
    kind: NDArray[np.str_],
    called: Floats,
) -> Floats:
    """Rough information on each parameter, from how much there is to learn it."""
    marked = float(np.isin(kind, ("failure", "rir")).sum())
    unmarked = float((kind == "floor").sum())
    cells, lifters = float(panel.n_cells), float(panel.n_lifters)
    known = {
        "set_sd": 2 * marked,
        "rir_scale": float(called.sum()) / 2,
        "outlier": marked / 50,
        "easy": unmarked / 50,
        "shortfall": unmarked / 3,
        "shortfall_sd": 2 * unmarked,
        "day_sd": cells / 3,
        "cell_sd": cells / 3,
        "walk_sd": cells / 10,
        "level_sd": 2 * lifters,
        "setup_sd": 2 * lifters,
    }
    return np.array([known.get(n, lifters / 2) for n in space.names])


def fixed_prior(panel: Panel) -> tuple[list[str], Floats, Floats]:
    """Names, prior means and prior precisions of the cohort means."""
    names = fixed_names(panel, CELL_TERMS, SET_TERMS)
    table = {r["parameter"]: r for r in read_table("strength_priors.toml")["mean"]}
    bias = read_table("effort_accuracy.toml")["bias"]
    known = {n: (float(r["mean"]), float(r["sd"])) for n, r in table.items()}
    known |= {"rir": (float(bias["mean_reps"]), float(bias["sd_reps"]))}
    known |= {"level": (3.4, 3.0)}  # and one published SD for each spread
    # A setup's cohort mean is all but free: a factor of e to either side.
    pairs = np.array([known.get(n, (0.0, 1.0)) for n in names])
    return names, pairs[:, 0], 1 / pairs[:, 1] ** 2


def local_names(panel: Panel) -> list[str]:
    """Name of the spread of every set term with a deviation of each lifter."""
    lifter, setup = SIDE_SDS
    names = dict(enumerate(CURVE_SDS)) | {len(SET_TERMS): lifter}
    return [names.get(k, setup) for k in panel.local_set_terms]


def prior_of(panel: Panel, values: Mapping[str, float]) -> Prior:
    """Prior of the linear part for given parameter values."""
    deviation = np.array(
        [values.get(f"setup_deviation {v}", 0.0) for v in range(panel.n_setups)]
    )
    _, mean, precision = fixed_prior(panel)
    return Prior(
        level_sd=values["level_sd"],
        slope_sd=values["slope_sd"],
        level_slope_correlation=values["level_slope_correlation"],
        walk_sd=values["walk_sd"],
        day_sd=values["day_sd"],
        cell_sd=values["cell_sd"],
        setup_sd=values["setup_sd"] * np.exp(deviation),
        setup_slope_sd=values["setup_slope_sd"],
        set_term_sd=np.array([values[k] for k in local_names(panel)]),
        fixed_mean=mean,
        fixed_precision=precision,
    )


def chain(
    panel: Panel,
    space: HyperSpace,
    values: Mapping[str, float],
    by_prior: Mapping[str, Floats],
    by_site: Mapping[str, float],
) -> Floats:
    """Gradient in the unconstrained parameters from gradients in natural ones.

    Parameters
    ----------
    panel, space, values :
        Of the fit.
    by_prior : mapping
        From :func:`analytics.strength.solve.prior_gradient`, with ``cell_sd``.
    by_site : mapping
        Gradients of the sets' log probabilities, unconstrained scale.

    Returns
    -------
    gradient : ndarray, shape (n,)
    """
    local = dict.fromkeys((*CURVE_SDS, *SIDE_SDS), 0.0)
    for name, gradient in zip(local_names(panel), by_prior["set_term_sd"], strict=True):
        local[name] += gradient
    out = np.zeros(len(space.names))
    for at, name in enumerate(space.names):
        if name in by_site:
            out[at] = by_site[name]
        elif name in local:
            out[at] = local[name]
        elif name == "setup_sd":
            out[at] = by_prior["setup_sd"].sum()
        elif name.startswith("setup_deviation"):
            out[at] = by_prior["setup_sd"][int(name.split()[1])]
        elif name == "level_slope_correlation":
            out[at] = by_prior[name] * (1 - values[name] ** 2)
        else:
            out[at] = by_prior[name]
    return out
