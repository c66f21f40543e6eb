"""Spread of log ratios that neither sampling nor muscle parameters explain."""

import tomllib
from functools import cache
from importlib.resources import files

import numpy as np
from numpy.typing import ArrayLike, NDArray

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


def unexplained_cov(
    held: ArrayLike, pulled: ArrayLike, share: ArrayLike, reading_sd: ArrayLike
) -> NDArray[np.float64]:
    r"""Covariance of log ratios beyond sampling and parameters.

    Parameters
    ----------
    held : array_like, shape (n,)
        1 where the upper arm is held and the reference's is not, -1 the other
        way round, else 0. [1]
    pulled : array_like, shape (n,)
        Whether a cable, band or machine pulls. [1]
    share : array_like, shape (n,)
        Share of all sets done in the setup less the reference's share. [1]
    reading_sd : array_like, shape (n,)
        Spread because angles are read or assumed. [1]

    Returns
    -------
    cov : ndarray, shape (n, n)
        Covariance to add to those of log and parameters. [1]

    Notes
    -----
    .. math:: D = \sigma_m^2 (I + 1 1^T) + \sigma_h^2 h h^T + \sigma_p^2 diag(p)
              + \sigma_s^2 s s^T + diag(r^2)

    The model term is shared between setups because they share the reference.
    """
    h, p, s, r = (np.asarray(x, dtype=float) for x in (held, pulled, share, reading_sd))
    model = log_sd("model") ** 2 * (np.eye(len(h)) + 1.0)
    return np.asarray(
        model
        + log_sd("support") ** 2 * np.outer(h, h)
        + log_sd("stack") ** 2 * np.diag(p)
        + log_sd("specificity") ** 2 * np.outer(s, s)
        + np.diag(r**2)
    )


def further_spreads(
    spread: NDArray[np.float64], shared: NDArray[np.float64]
) -> tuple[NDArray[np.float64], ...]:
    """Larger sizes of the model term of an unexplained covariance.

    Parameters
    ----------
    spread : ndarray, shape (n, n)
        Covariance with the model term at its least size. [1]
    shared : ndarray, shape (n, n)
        1 where two ratios have the same denominator. [1]

    Returns
    -------
    further : tuple of ndarray, shape (n, n)
        One per larger size in ``data/spread.toml``. [1]
    """
    unit = np.eye(len(shared)) + shared
    least = log_sd("model") ** 2
    larger = spread_table()["model"]["larger"].split()
    return tuple(spread + (float(sd) ** 2 - least) * unit for sd in larger)
