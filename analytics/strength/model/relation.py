"""How many repetitions a load allows, and how exact repetitions and calls are.

One relation serves estimate, chart, next load and report. Every published figure is
in ``data/strength_priors.toml``; nothing here knows a log.
"""

import tomllib
from collections.abc import Iterable
from functools import cache
from importlib.resources import files
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]

LARGEST_REPS = 30  # done and in reserve together; beyond, no published relation
SHAPE_AT = 8.0  # repetitions at which the shape leaves K as it is
PARAMETERS = ("ln_k", "shape", "bias", "unmarked", "tired", "counted", "tempo")


@cache
def read_table(name: str) -> dict[str, Any]:
    """Return one table of published or assumed numbers by file name."""
    text = files("analytics.strength.model").joinpath("data", name).read_text("utf-8")
    return tomllib.loads(text)


def priors(part: str) -> dict[str, float]:
    """Numbers of one part of ``strength_priors.toml``."""
    table = read_table("strength_priors.toml")[part]
    return {k: float(v) for k, v in table.items() if not k.endswith("source")}


def published_log_gain(equation: str, reps: ArrayLike) -> Floats:
    """Log of one-repetition maximum over load by one published equation.

    Parameters
    ----------
    equation : str
        Name in ``repetition_equations.toml``.
    reps : array_like, shape (...)
        Repetitions to failure. [1]

    Returns
    -------
    log_gain : ndarray, shape (...)
        As printed, without the correction at one repetition. [1]
    """
    rows = {r["equation"]: r for r in read_table("repetition_equations.toml")["row"]}
    row = rows[equation]
    r = np.asarray(reps, dtype=float)
    a, b, c = (float(row.get(k, "nan")) for k in "abc")
    match row["form"]:
        case "linear":
            return np.log1p(a * r)
        case "inverse_linear":
            return -np.log(a - b * r)
        case "power":
            return a * np.log(r)
        case "table":
            known = np.array([row["reps"], row["per_cent"]], dtype=float)
            return np.interp(r, known[0], -np.log(known[1] / 100))
        case _:
            return np.log(100 / (a + b * np.exp(-c * r)))


def exercise_class(names: Iterable[str]) -> dict[str, Any]:
    """Class of an exercise, by the first word that stands in one of its names."""
    known = [n.lower() for n in names]
    rows = read_table("strength_priors.toml")["class"]
    found: dict[str, Any] = next(
        row for row in rows if any(w in name for w in row["words"] for name in known)
    )
    return found


def log_gain(reps: ArrayLike, ln_k: ArrayLike, shape: ArrayLike = 0.0) -> Floats:
    r"""Log of one-repetition maximum over load.

    Parameters
    ----------
    reps : array_like, shape (...)
        Repetitions that could be done. Less than 1 is taken as 1. [1]
    ln_k : array_like, broadcastable to ``reps``
        Log of K. [1]
    shape : array_like, broadcastable to ``reps``
        Growth of log K with log repetitions. [1]

    Returns
    -------
    log_gain : ndarray, shape (...)
        0 at one repetition. [1]

    Notes
    -----
    .. math:: g(R) = \log(1 + (R - 1) / K_R), \qquad K_R = K (R / 8)^b

    K is within 15 % over 60 to 90 % of the maximum in the studies that report several
    loads, so b = 0 is its prior mean; the published equations spread about it.
    """
    r = np.maximum(np.asarray(reps, dtype=float), 1.0)
    return np.log1p((r - 1) * np.exp(-_ln_k_at(r, ln_k, shape)))


def _ln_k_at(reps: Floats, ln_k: ArrayLike, shape: ArrayLike) -> Floats:
    return np.asarray(ln_k + np.asarray(shape) * np.log(reps / SHAPE_AT))


def gain_slopes(
    reps: ArrayLike, ln_k: ArrayLike, shape: ArrayLike = 0.0
) -> tuple[Floats, Floats, Floats]:
    """Differentiate :func:`log_gain` in repetitions, ln K and shape.

    Parameters
    ----------
    reps, ln_k, shape : array_like
        As there.

    Returns
    -------
    by_reps, by_ln_k, by_shape : ndarray, shape (...)
        By repetition also at 1, from above. [1]
    """
    r = np.maximum(np.asarray(reps, dtype=float), 1.0)
    lost = 1 - np.exp(-log_gain(r, ln_k, shape))
    k = np.exp(_ln_k_at(r, ln_k, shape))
    by_reps = (1 - np.asarray(shape) * (r - 1) / r) / (k + r - 1)
    return by_reps, -lost, -lost * np.log(r / SHAPE_AT)


def repetitions_at(gain: ArrayLike, ln_k: ArrayLike) -> Floats:
    """Repetitions whose log gain is the given one, at shape 0; at least 1.

    Parameters
    ----------
    gain : array_like, shape (...)
        Log of strength over load. [1]
    ln_k : array_like, broadcastable to ``gain``
        Log of K. [1]

    Returns
    -------
    reps : ndarray, shape (...)
        1 to ``LARGEST_REPS``. [1]
    """
    reps = 1 + np.exp(ln_k) * np.expm1(np.asarray(gain, dtype=float))
    return np.clip(reps, 1.0, LARGEST_REPS)
