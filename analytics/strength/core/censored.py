"""What one set says about strength, and what that does to a belief about it.

A set is a mixture of components. Each is a normal density about the implied
log strength, times (for censored sets) a normal distribution function: the
normal/half-normal frontier and the censored normal are special cases. All
moments are closed forms.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import log_ndtr

Floats = NDArray[np.float64]

_LOG_2PI = float(np.log(2 * np.pi))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Component:
    """One way a set came about: ``weight N(z; centre, variance) Phi(a + b z)``.

    Attributes
    ----------
    log_weight, centre, variance : ndarray, shape (n,)
        ``variance`` None means the normal factor is 1.
    a, b : ndarray or None
        Arguments of the distribution function; None means the factor is 1.
    """

    log_weight: Floats
    centre: Floats
    variance: Floats | None
    a: Floats | None = None
    b: Floats | None = None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Tilted:
    """Belief after the set.

    Attributes
    ----------
    log_z : ndarray, shape (n,)
        Log probability of the set under the belief before it.
    mean, variance : ndarray, shape (n,)
    shares : ndarray, shape (n_components, n)
        Posterior probability of each component.
    """

    log_z: Floats
    mean: Floats
    variance: Floats
    shares: Floats


def tilt(mean: Floats, variance: Floats, components: list[Component]) -> Tilted:
    """Combine a normal belief with one set each.

    Parameters
    ----------
    mean, variance : ndarray, shape (n,)
        Belief about the log strength the set measures; variance 0 evaluates
        the set's own log likelihood at ``mean``.
    components : list of Component
        The set's density.

    Returns
    -------
    tilted : Tilted
        Evidence and the first two moments.

    Notes
    -----
    Product of normals, then for the factor Phi(a + b z) with
    kappa = (a + b m) / sqrt(1 + b^2 v): log Phi(kappa), mean shift
    v b r / sqrt(1 + b^2 v) with r = phi(kappa) / Phi(kappa), and variance loss
    v^2 b^2 r (kappa + r) / (1 + b^2 v) (Aigner, Lovell and Schmidt 1977;
    Jondrow et al. 1982 give the same moments for a half-normal shortfall).
    """
    logs, means, variances = [], [], []
    for c in components:
        log_z, m, v = c.log_weight, mean, variance
        if c.variance is not None:
            total = variance + c.variance
            gain, off = variance / total, c.centre - mean
            log_z = log_z - 0.5 * (_LOG_2PI + np.log(total) + off**2 / total)
            m, v = mean + gain * off, variance * (1 - gain)
        if c.a is not None and c.b is not None:
            root = np.sqrt(1 + c.b**2 * v)
            kappa = (c.a + c.b * m) / root
            log_phi = log_ndtr(kappa)
            r = np.exp(-0.5 * kappa**2 - 0.5 * _LOG_2PI - log_phi)
            log_z = log_z + log_phi
            m = m + v * c.b * r / root
            v = v - (v * c.b / root) ** 2 * r * (kappa + r)
        logs.append(log_z)
        means.append(m)
        variances.append(v)
    largest = np.max(logs, axis=0)
    shares = np.exp(np.array(logs) - largest)
    whole = shares.sum(axis=0)
    shares /= whole
    m = (shares * means).sum(axis=0)
    second = (shares * (np.array(variances) + (np.array(means) - m) ** 2)).sum(axis=0)
    log_z = largest + np.log(whole)
    return Tilted(log_z=log_z, mean=m, variance=second, shares=shares)


def normal_component(log_weight: float, centre: Floats, variance: Floats) -> Component:
    """Two-sided: the strength implied by the set, with noise."""
    return Component(
        log_weight=np.full(len(centre), log_weight), centre=centre, variance=variance
    )


def shortfall_component(
    log_weight: float | Floats,
    bound: Floats,
    *,
    noise_variance: Floats,
    shortfall_mean: Floats,
    shortfall_sd: float | Floats,
) -> Component:
    """Right-censored: the bound lies below strength by a truncated normal shortfall.

    Parameters
    ----------
    log_weight : float or ndarray, shape (n,)
        Log of the component's probability. [1]
    bound : ndarray, shape (n,)
        Log strength shown at least.
    noise_variance : ndarray, shape (n,)
        Variance of the symmetric noise of the bound.
    shortfall_mean : ndarray, shape (n,)
        Mean of the normal before truncation at 0; 0 gives the half-normal.
    shortfall_sd : float or ndarray
        Its standard deviation.

    Returns
    -------
    component : Component
        ``y = z - u + e`` with ``u >= 0`` integrated out, as a function of z.
    """
    s2 = np.square(shortfall_sd) * np.ones_like(bound)
    total = noise_variance + s2
    inner = np.sqrt(noise_variance * s2 / total)
    centre = bound + shortfall_mean
    slope = s2 / total
    # mean of u given z is shortfall_mean + slope (z - centre), its SD is inner
    return Component(
        log_weight=log_weight - log_ndtr(shortfall_mean / np.sqrt(s2)),
        centre=centre,
        variance=total,
        a=(shortfall_mean - slope * centre) / inner,
        b=slope / inner,
    )


def below_component(load: Floats, sd: Floats) -> Component:
    """Left-censored: the load was not lifted once, so strength lies below it."""
    return Component(
        log_weight=np.zeros(len(load)),
        centre=load,
        variance=None,
        a=load / sd,
        b=-1 / sd,
    )
