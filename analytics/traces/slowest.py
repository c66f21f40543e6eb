"""Where one lift is slowest, and how sure that is, from its samples as they came.

Where lifts begin and end is found in `reps`.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import BSpline

Floats = NDArray[np.float64]

FEWEST_SAMPLES = 12
PAD_FRAC = 0.05  # of the lift, on either side: a spline is least sure at its ends
SMALLEST_DIP_FRAC = 0.06  # assumed: a shallower one hinders nobody
# A dip counts when the velocity at both peaks exceeds that between them by so many
# standard deviations: no false one in 1,900 lifts without a dip (simulated).
SMALLEST_DIP_SD = 4.0
# The ends of a lift are abrupt and make its whole curve rough, so that the slowest
# point is sought again between the peaks, less their own corners.
INNER_FRAC = 0.85
# The roughness of the curve is itself estimated: the errors of hard traces were 1.5
# times the spread of the draws (simulated).
SPREAD_FACTOR = 1.5
# A curve as stiff as this still follows a dip of a third of the lift. Of dips twice as
# deep as the noise alone asks for, nine in ten were found (simulated).
STIFFEST_WITH_DIP = 1.0
SURELY_FOUND = 2.0
ROUNDING_FRAC = 3e-4  # of the rise: what numbers in a file are rounded to

DEGREE = 5  # the velocity is then a quartic spline
ORDER = 4  # of the differences that are penalised: a parabolic velocity costs nothing
PIECES = 20
N_BASIS = PIECES + DEGREE
_KNOTS = np.arange(-DEGREE, PIECES + DEGREE + 1) / PIECES
_SPLINE = BSpline(_KNOTS, np.eye(N_BASIS), DEGREE)
_FINE = 2048
_BASIS = _SPLINE(np.linspace(0, 1, _FINE + 1))
_GRID = (np.arange(84) + 0.5) / 84
_VELOCITY = _SPLINE.derivative()(_GRID)
_ROUGH = np.diff(np.eye(N_BASIS), ORDER, axis=0)
_PENALTY = _ROUGH.T @ _ROUGH
_NORMAL = np.random.default_rng(20250106).standard_normal((32, N_BASIS))
_WEIGHTS = np.geomspace(1e-5, 1e7, 20)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Slowest:
    """The dip of the velocity of one lift.

    Attributes
    ----------
    found : bool
        Whether the velocity has a minimum between two maxima.
    peak1_s, low_s, peak2_s : float
        First maximum, minimum, second maximum. [s]
    low_draws_s : ndarray, shape (n_draws,)
        Where the minimum may be instead; empty if not found. [s]
    dip_frac : float
        Fall from the first maximum to the minimum, as a part of that maximum. [1]
    smallest_dip_frac : float
        Dip that nine times in ten would have been found at this noise; at most 1. [1]
    """

    found: bool
    peak1_s: float
    low_s: float
    peak2_s: float
    low_draws_s: Floats
    dip_frac: float
    smallest_dip_frac: float


def slowest_point(
    time_s: Floats, values: Floats, *, start_s: float, end_s: float
) -> Slowest | None:
    r"""Find the velocity minimum of one lift with its uncertainty.

    Parameters
    ----------
    time_s : ndarray, shape (n,)
        Of the samples of the set, rising, even or not. [s]
    values : ndarray, shape (n,)
        Angle or height. [unit of the signal]
    start_s, end_s : float
        Of the lift. [s]

    Returns
    -------
    slowest : Slowest or None
        None with fewer than 12 samples in the lift.

    Notes
    -----
    Penalised spline of 20 pieces, :math:`P` from fourth differences, its weight
    :math:`\lambda` by restricted maximum likelihood; the coefficients then have the
    covariance :math:`\sigma^2 (B^T B + \lambda P)^{-1}`, from which curves are drawn.
    One decomposition serves every weight. Uneven samples and drop-outs need no
    bridging: where nothing was measured the draws spread.

    References
    ----------
    eilers_marx_1996; wood_2017, section 6.2
    """
    pad_s = PAD_FRAC * (end_s - start_s)
    lift = _fit(time_s, values, start_s - pad_s, end_s + pad_s)
    if lift is None:
        return None
    low = int(_deepest(lift.velocity))
    peak1 = int(np.argmax(lift.velocity[: low + 1]))
    peak2 = low + int(np.argmax(lift.velocity[low:]))
    peaks = [peak1, peak2]
    falls = lift.velocity[peaks] - lift.velocity[low]
    sure = np.linalg.norm(lift.root[peaks] - lift.root[low], axis=1)
    top = lift.velocity.max()
    found = (falls > SMALLEST_DIP_FRAC * top) & (falls > SMALLEST_DIP_SD * sure)
    asked = SURELY_FOUND * SMALLEST_DIP_SD * np.sqrt(2) * np.median(lift.spread) / top
    low_s, draws_s = float(lift.time_s[low]), []
    if found.all():
        from_s, to_s = low_s + INNER_FRAC * (lift.time_s[peaks] - low_s)
        dip = _fit(time_s, values, from_s, to_s) or lift
        draws = dip.velocity + _NORMAL @ dip.root.T
        low_s, *draws_s = _lowest_s(dip.time_s, np.vstack([dip.velocity, draws]))
    return Slowest(
        found=bool(found.all()),
        peak1_s=float(lift.time_s[peak1]),
        low_s=float(low_s),
        peak2_s=float(lift.time_s[peak2]),
        low_draws_s=np.array(draws_s),
        dip_frac=float(falls[0] / lift.velocity[peak1]),
        smallest_dip_frac=float(np.clip(asked, SMALLEST_DIP_FRAC, 1.0)),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Fit:
    """Velocity on an even grid, a root of its covariance, and what a dip would have.

    ``spread`` is the deviation of the velocity were the curve no stiffer than a dip.
    """

    time_s: Floats
    velocity: Floats
    root: Floats
    spread: Floats


def _fit(time_s: Floats, values: Floats, from_s: float, to_s: float) -> _Fit | None:
    """Penalised spline of the samples between two times, None with too few."""
    inside = (time_s >= from_s) & (time_s <= to_s)
    n = int(inside.sum())
    if n < FEWEST_SAMPLES:
        return None
    y = values[inside]
    rise = float(np.ptp(y))
    y = (y - y.mean()) / rise
    place = np.rint(_FINE * (time_s[inside] - from_s) / (to_s - from_s)).astype(int)
    basis = _BASIS[place]
    weights = _WEIGHTS * n / N_BASIS
    root = np.linalg.inv(np.linalg.cholesky(basis.T @ basis + weights[0] * _PENALTY))
    stiffness, turn = np.linalg.eigh(root @ _PENALTY @ root.T)
    back = root.T @ turn
    score = back.T @ (basis.T @ y)
    shrink = 1 + (weights[:, None] - weights[0]) * np.maximum(stiffness, 0)
    variance = np.maximum(y @ y - (score**2 / shrink).sum(axis=1), 0) / (n - ORDER)
    variance += ROUNDING_FRAC**2
    cost = (
        (n - ORDER) * np.log(variance)
        + np.log(shrink).sum(axis=1)
        - (N_BASIS - ORDER) * np.log(weights)
    )
    best = int(np.argmin(cost))
    slope = _VELOCITY @ back * rise / (to_s - from_s)
    noise = float(np.sqrt(variance[best]))
    with_dip = min(best, int(np.searchsorted(_WEIGHTS, STIFFEST_WITH_DIP)))
    return _Fit(
        time_s=from_s + _GRID * (to_s - from_s),
        velocity=slope @ (score / shrink[best]),
        root=noise * slope / np.sqrt(shrink[best]),
        spread=noise * np.linalg.norm(slope / np.sqrt(shrink[with_dip]), axis=1),
    )


def _deepest(velocity: Floats) -> NDArray[np.intp]:
    """Index where each curve lies deepest under the lower maximum beside it."""
    before = np.maximum.accumulate(velocity, axis=-1)
    after = np.maximum.accumulate(velocity[..., ::-1], axis=-1)[..., ::-1]
    return np.argmax(np.minimum(before, after) - velocity, axis=-1)


def _lowest_s(time_s: Floats, velocity: Floats) -> Floats:
    """Time of the slowest point of each curve, by a parabola between grid points."""
    row = np.arange(len(velocity))
    low = np.clip(_deepest(velocity), 1, len(time_s) - 2)
    before, here, after = (velocity[row, low + i] for i in (-1, 0, 1))
    bend = before - 2 * here + after
    shift = np.divide(before - after, 2 * bend, out=np.zeros(len(row)), where=bend > 0)
    return time_s[low] + np.clip(shift, -1, 1) * (time_s[1] - time_s[0])
