"""Spread of log ratios that neither sampling nor muscle parameters explain."""

import tomllib
from collections.abc import Sequence
from functools import cache
from importlib.resources import files

import numpy as np
from numpy.typing import ArrayLike, NDArray

# A failure angle is read off by eye or video; one reading alone is no better.
READING_SD_DEG = 10.0
# What all readings of a source may share (assumed): a failure angle seen by eye is told
# to about 5 degrees, a sensor set to about 2.
SHARED_SD_DEG = {"logged": 5.0, "traced": 2.0}
PULLED = ("cable", "band", "machine")
HELD = ("pad", "thigh")


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
    return float(spread_table()[name]["log_sd"])


def setup_cov(
    variants: Sequence[str],
    held: ArrayLike,
    pulled: ArrayLike,
    reading_sd: ArrayLike,
    *,
    model_sd: float,
) -> NDArray[np.float64]:
    r"""Covariance of log limit loads beyond sampling and parameters.

    Parameters
    ----------
    variants : sequence of str
        Variant of each setup.
    held, pulled : array_like, shape (n,)
        Whether something holds the upper arm; whether a cable, band or machine
        pulls. [1]
    reading_sd : array_like, shape (n,)
        Spread because angles are read or assumed. [1]
    model_sd : float
        Size of the model term. [1]

    Returns
    -------
    cov : ndarray, shape (n, n)
        Ratios to a reference have ``A cov A'`` with A their differences. [1]

    Notes
    -----
    .. math:: C = \sigma_m^2 (\rho V + (1 - \rho) I) + \sigma_h^2 h h^T
              + \sigma_p^2 diag(p) + diag(r^2)

    with V 1 where two setups are of one variant: what posture, path and technique
    of the catalogue miss is mostly the same from another start, and cancels there.
    """
    names = np.asarray(variants, dtype=str)
    h, p, r = (np.asarray(x, dtype=float) for x in (held, pulled, reading_sd))
    shared = float(spread_table()["model"]["shared_frac"])
    same = names[:, None] == names
    return np.asarray(
        model_sd**2 * (shared * same + (1 - shared) * np.eye(len(h)))
        + log_sd("support") ** 2 * np.outer(h, h)
        + log_sd("stack") ** 2 * np.diag(p)
        + np.diag(r**2)
    )


def model_sds() -> tuple[float, ...]:
    """Sizes of the model term that are as likely, the least first.

    Returns
    -------
    model_sd : tuple of float
        From ``data/spread.toml``. [1]
    """
    return (log_sd("model"), *map(float, spread_table()["model"]["larger"].split()))
