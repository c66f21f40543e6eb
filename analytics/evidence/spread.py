"""Spread of log ratios that neither sampling nor muscle parameters explain."""

import math
import tomllib
from collections.abc import Sequence
from functools import cache
from importlib.resources import files

import numpy as np
from numpy.typing import ArrayLike, NDArray

from analytics.catalogue import Variant

PULLED = ("cable", "band", "machine")
HELD = ("pad", "thigh")
FREE = "none"  # neither trunk nor upper arm is held: the body can help


@cache
def spread_table() -> dict[str, dict[str, str]]:
    """Read the published and assumed spreads of ``data/spread.toml``.

    Returns
    -------
    table : dict of str to dict
        ``log_sd`` or ``exponent`` as text, ``kind``, ``source``, ``note``.
    """
    text = files(__package__).joinpath("data/spread.toml").read_text("utf-8")
    return tomllib.loads(text)


def log_sd(name: str) -> float:
    """One spread of the table.

    Parameters
    ----------
    name : str
        Row of ``data/spread.toml``.

    Returns
    -------
    log_sd : float
        Standard deviation of a log ratio. [1]
    """
    return number(name, "log_sd")


def number(row: str, name: str) -> float:
    """One number of the table.

    Parameters
    ----------
    row, name : str
        Row of ``data/spread.toml``, and its column.

    Returns
    -------
    number : float
        In the unit that ends its name. [1]
    """
    return float(spread_table()[row][name])


def setup_cov(
    variants: Sequence[Variant],
    reading_sd: ArrayLike,
    *,
    model_sd: float,
    lifter: str | None,
) -> NDArray[np.float64]:
    r"""Covariance of log limit loads beyond sampling and parameters.

    Parameters
    ----------
    variants : sequence of Variant
        Of each setup.
    reading_sd : array_like, shape (n,)
        Spread because angles are read or assumed. [1]
    model_sd : float
        Size of the model term. [1]
    lifter : str or None
        None for a cohort's mean, whose bodies help more alike.

    Returns
    -------
    cov : ndarray, shape (n, n)
        Ratios to a reference have ``A cov A'`` with A their differences. [1]

    Notes
    -----
    .. math:: C = \sigma_m^2 (\rho V + (1 - \rho) I) + \sigma_h^2 h h^T
              + \sigma_b^2 f f^T + \sigma_p^2 diag(p) + diag(r^2)

    with V 1 where two setups are of one variant: what posture, path and technique
    of the catalogue miss is mostly the same from another start, and cancels there.
    h is 1 where something holds the upper arm, f where nothing holds trunk or arm, p
    where a cable, band or machine pulls.
    """
    names = np.array([v.variant for v in variants], dtype=str)
    held = np.array([v.model.support in HELD for v in variants], dtype=float)
    free = np.array([v.model.support == FREE for v in variants], dtype=float)
    pulled = np.array([v.implement in PULLED for v in variants], dtype=float)
    shared = number("model", "shared_frac")
    same = names[:, None] == names
    return np.asarray(
        model_sd**2 * (shared * same + (1 - shared) * np.eye(len(names)))
        + log_sd("support") ** 2 * np.outer(held, held)
        + body_help_sd(lifter) ** 2 * np.outer(free, free)
        + log_sd("stack") ** 2 * np.diag(pulled)
        + np.diag(np.asarray(reading_sd, dtype=float) ** 2)
    )


def body_help_sd(lifter: str | None) -> float:
    """Spread of what swing and lean add to free setups.

    Parameters
    ----------
    lifter : str or None
        None for a cohort's mean.

    Returns
    -------
    log_sd : float
        Wider for one lifter, by the spread between lifters. [1]
    """
    if lifter is None:
        return log_sd("body_help")
    return math.hypot(log_sd("body_help"), number("body_help", "lifter_log_sd"))


def model_sds() -> tuple[float, ...]:
    """Sizes of the model term that are as likely, the least first.

    Returns
    -------
    model_sd : tuple of float
        From ``data/spread.toml``. [1]
    """
    return (log_sd("model"), *map(float, spread_table()["model"]["larger"].split()))
