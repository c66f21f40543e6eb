"""From raw samples to position, velocity and acceleration without lag.

Resampling, drop-outs and the low-pass filter; no idea of repetitions here.
"""

from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from scipy import signal

Floats = NDArray[np.float64]

LONGEST_BRIDGED_GAP_S = 0.25  # assumed: longer ones hide a velocity minimum
SPECTRUM_BINS = 1024
FROZEN_SAMPLES = 5
LOWEST_CUTOFF_HZ, HIGHEST_CUTOFF_HZ = (
    3.0,
    10.0,
)  # kinematics of lifts: 4 to 8 Hz is usual
# A step no joint or bar makes, so that a sensor that fell to 0 or froze is seen.
LARGEST_SPEED = {"elbow_deg": 900.0, "height_m": 6.0, "trunk_deg": 900.0}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Smoothed:
    """One signal of one set on an even time grid.

    Attributes
    ----------
    time_s : ndarray, shape (n,)
        Even grid. [s]
    position, velocity, acceleration : ndarray, shape (n,)
        Filtered signal and its time derivatives. [unit of the signal, per s, per s²]
    gap : ndarray of bool, shape (n,)
        True in a drop-out too long to bridge: a straight line stands there.
    cutoff_hz : float
        Cut-off of the two passes together. [Hz]
    rate_hz : float
        Of the grid. [Hz]
    noise : float
        Standard deviation of the white noise of a raw sample. [unit of the signal]
    """

    time_s: Floats
    position: Floats
    velocity: Floats
    acceleration: Floats
    gap: NDArray[np.bool_]
    cutoff_hz: float
    rate_hz: float
    noise: float


def two_pass_correction(*, order: int = 2, passes: int = 2) -> float:
    r"""Factor from the wanted cut-off to that of each Butterworth pass.

    Parameters
    ----------
    order : int
        Order of one pass.
    passes : int
        Number of passes.

    Returns
    -------
    correction : float
        The design cut-off is the wanted one divided by this, in :math:`\tan` units. [1]

    Notes
    -----
    .. math:: C = (2^{1/n} - 1)^{1/(2m)}

    for :math:`n` passes of order :math:`m`; 0.802 for two of second order. The bilinear
    transform warps frequency, so it is :math:`\tan(\pi f/f_s)` that is divided by it.

    References
    ----------
    winter_2009, section 3.4.4.2
    """
    return float((2 ** (1 / passes) - 1) ** (1 / (2 * order)))


@lru_cache(maxsize=512)
def butterworth(cutoff_hz: float, rate_hz: float) -> Floats:
    """Second-order sections of one pass, so that two passes are -3 dB at the cut-off.

    Parameters
    ----------
    cutoff_hz : float
        Wanted -3 dB frequency of forward and backward pass together. [Hz]
    rate_hz : float
        Sampling rate. [Hz]

    Returns
    -------
    sos : ndarray, shape (1, 6)
        For `scipy.signal.sosfiltfilt`.
    """
    warped = np.tan(np.pi * cutoff_hz / rate_hz) / two_pass_correction()
    return signal.butter(2, 2 * np.arctan(warped) / np.pi, output="sos")


def low_pass(values: Floats, *, cutoff_hz: float, rate_hz: float) -> Floats:
    """Zero-phase fourth-order Butterworth low-pass.

    Parameters
    ----------
    values : ndarray, shape (n,)
        Evenly sampled.
    cutoff_hz : float
        -3 dB of the two passes together. [Hz]
    rate_hz : float
        Sampling rate. [Hz]

    Returns
    -------
    filtered : ndarray, shape (n,)
        Same length, no lag.

    References
    ----------
    winter_2009, section 3.4.4.2
    """
    pad = min(len(values) - 1, int(rate_hz))
    return signal.sosfiltfilt(butterworth(cutoff_hz, rate_hz), values, padlen=pad)


@lru_cache(maxsize=64)
def _residual_gains(rate_hz: float) -> tuple[Floats, Floats]:
    """Candidate cut-offs, and what each passes over per bin of the spectrum."""
    bins_hz = (np.arange(SPECTRUM_BINS) + 0.5) * rate_hz / 2 / SPECTRUM_BINS
    cutoff = np.arange(1.5, min(20.0, 0.42 * rate_hz), 0.5)
    edge = np.tan(np.pi * cutoff / rate_hz)[:, None] / two_pass_correction()
    passed = 1 / (1 + np.square(np.square(np.tan(np.pi * bins_hz / rate_hz) / edge)))
    return cutoff, np.square(1 - passed)


def residual_cutoff(values: Floats, *, rate_hz: float) -> tuple[float, float]:
    r"""Cut-off by residual analysis, and the noise it sees.

    Parameters
    ----------
    values : ndarray, shape (n,)
        Evenly sampled raw signal.
    rate_hz : float
        Sampling rate. [Hz]

    Returns
    -------
    cutoff_hz : float
        Where the residual meets the noise line's intercept, within 3 to 10 Hz. [Hz]
    noise : float
        Standard deviation of white noise with the density seen above the movement.

    Notes
    -----
    The residual :math:`R(f_c)` is the RMS of raw minus filtered. Its straight part at
    high :math:`f_c` is noise alone; carried back to :math:`f_c = 0` it gives the noise
    passed over, and the cut-off is where :math:`R` equals that. All candidates are
    filtered at once by multiplying the spectrum of the odd-extended signal with the
    squared magnitude response, which is what the two passes do away from the ends.
    The noise is a median over frequencies, scaled by the median of chi-square with one
    degree of freedom, 0.4549, because an odd signal has a one-component spectrum.

    References
    ----------
    winter_2009, section 3.4.4.3
    """
    odd = np.concatenate([values, 2 * values[-1] - values[-2:0:-1]])
    odd -= np.linspace(odd[0], odd[-1], len(odd))
    power = np.square(np.abs(np.fft.rfft(odd))) / len(odd)
    cutoff, passed_over = _residual_gains(rate_hz)
    bins = np.arange(len(power)) * SPECTRUM_BINS // len(power)
    binned = np.bincount(bins, weights=power, minlength=SPECTRUM_BINS)
    residual = np.sqrt(2 * (passed_over @ binned) / len(odd))
    above = int(len(power) * max(0.5, min(20.0 / rate_hz, 0.8)))
    noise = float(np.sqrt(np.median(power[above:]) / 0.4549))
    straight = cutoff > 0.5 * cutoff[-1]
    x, y = cutoff[straight], residual[straight]
    slope = np.dot(x - x.mean(), y - y.mean()) / np.square(x - x.mean()).sum()
    intercept = y.mean() - slope * x.mean()
    below = np.flatnonzero(residual <= max(intercept, 0.0))
    chosen = float(cutoff[below[0]]) if below.size and slope < 0 else HIGHEST_CUTOFF_HZ
    limit = min(HIGHEST_CUTOFF_HZ, float(cutoff[-1]))
    return float(np.clip(chosen, min(LOWEST_CUTOFF_HZ, limit), limit)), noise


@lru_cache(maxsize=512)
def derivative_noise(
    order: int, cutoff_hz: float, rate_hz: float, blur_s: float = 0.0
) -> float:
    """Noise of a filtered derivative per unit of white noise in a raw sample.

    Parameters
    ----------
    order : int
        1 for velocity, 2 for acceleration.
    cutoff_hz : float
        Cut-off of the two passes together. [Hz]
    rate_hz : float
        Sampling rate. [Hz]
    blur_s : float
        Standard deviation of a Gaussian G; the velocity is smoothed with 2 G - G G
        afterwards. [s]

    Returns
    -------
    gain : float
        Standard deviation for a sample noise of 1. [1/s or 1/s2]
    """
    frequency = np.linspace(0, rate_hz / 2, 2001)
    _, response = signal.sosfreqz(
        butterworth(cutoff_hz, rate_hz), frequency, fs=rate_hz
    )
    omega = rate_hz * np.sin(2 * np.pi * frequency / rate_hz)  # central difference
    once = np.exp(-np.square(2 * np.pi * frequency * blur_s) / 2)
    blur = np.square(2 * once - once**2)
    return float(np.sqrt(np.mean(omega ** (2 * order) * np.abs(response) ** 4 * blur)))


def _noise_of_residual(left: Floats, cutoff_hz: float, rate_hz: float) -> float:
    """White noise whose passed-over part has the spread of what the filter left."""
    frequency = np.linspace(0, rate_hz / 2, 500)
    sos = butterworth(cutoff_hz, rate_hz)
    gain = np.abs(signal.sosfreqz(sos, frequency, fs=rate_hz)[1]) ** 2
    spread = float(np.median(np.abs(left))) / 0.6745
    return spread / float(np.sqrt(np.mean(np.square(1 - gain))))


def dropped(
    time_s: Floats, values: Floats, *, largest_speed: float
) -> NDArray[np.bool_]:
    """Mark samples a sensor did not measure: empty, fallen away or frozen.

    Parameters
    ----------
    time_s : ndarray, shape (n,)
        Rising. [s]
    values : ndarray, shape (n,)
        Raw signal, NaN where empty.
    largest_speed : float
        What the body cannot exceed. [unit of the signal per s]

    Returns
    -------
    lost : ndarray of bool, shape (n,)
        True for a NaN; for a run of at most 1 s between a jump away and a jump back;
        and for five or more equal samples, where the rest of the signal is never
        that still or where the run ends in a leap.
    """
    lost = ~np.isfinite(values)
    kept = np.flatnonzero(~lost)
    if len(kept) < 10:
        return lost
    step = np.diff(values[kept])
    size = np.abs(step)
    usual = float(np.median(size)) / 0.6745
    limit = largest_speed * np.diff(time_s[kept]) + 6 * usual
    for first, second in pairwise(np.flatnonzero(size > limit)):
        run = kept[first + 1 : second + 1]
        opposite = step[first] * step[second] < 0
        if opposite and time_s[run[-1]] - time_s[run[0]] <= 1.0:
            lost[run] = True
    still = np.flatnonzero(size == 0)
    if still.size in (0, len(size)):
        return lost
    runs = np.split(still, np.flatnonzero(np.diff(still) > 1) + 1)
    frozen = [run for run in runs if len(run) >= FROZEN_SAMPLES - 1]
    long = sum(map(len, frozen))
    shaking = np.median(np.abs(np.diff(step))) > 0.3 * np.median(size)
    never_still = (
        shaking and still.size - long < 0.05 * len(size) and long < 0.5 * len(size)
    )
    usual = max(usual, float(size[size > 0].min()))
    for run in frozen:
        after = size[run[-1] + 1 : run[-1] + 3]
        leap = len(after) == 2 and after[0] > 2 * max(after[1], usual)
        if leap or never_still:
            lost[kept[run[0] : run[-1] + 2]] = True
    return lost


def smooth(
    time_s: Floats,
    values: Floats,
    *,
    largest_speed: float,
    cutoff_hz: float | None = None,
) -> Smoothed:
    """Even grid, marked drop-outs, zero-phase filter and derivatives of one signal.

    Parameters
    ----------
    time_s : ndarray, shape (n,)
        Rising, may be uneven. [s]
    values : ndarray, shape (n,)
        Raw signal, NaN where the sensor dropped out.
    largest_speed : float
        Speed the body cannot exceed. [unit of the signal per s]
    cutoff_hz : float, optional
        Cut-off; by residual analysis if not given. [Hz]

    Returns
    -------
    smoothed : Smoothed
        On a grid at the median sampling interval.

    Notes
    -----
    Every drop-out is bridged by a straight line before filtering: a mean velocity lies
    between those at its ends, so that the bridge makes no minimum of its own. Those
    longer than 0.25 s (assumed) are marked in ``gap``.
    """
    interval = float(np.median(np.diff(time_s)))
    rate_hz = 1 / interval
    seen = ~dropped(time_s, values, largest_speed=largest_speed)
    grid = time_s[0] + interval * np.arange(
        int(np.floor((time_s[-1] - time_s[0]) / interval + 1e-6)) + 1
    )
    raw = np.interp(grid, time_s[seen], values[seen])
    known = time_s[seen]
    after = np.clip(np.searchsorted(known, grid, side="left"), 1, len(known) - 1)
    width = known[after] - known[after - 1]
    inside = (grid > known[after - 1] + 1e-9) & (grid < known[after] - 1e-9)
    outside = (grid < known[0] - 1e-9) | (grid > known[-1] + 1e-9)
    gap = (inside & (width > LONGEST_BRIDGED_GAP_S)) | outside
    chosen, noise = residual_cutoff(raw, rate_hz=rate_hz)
    cutoff = cutoff_hz or chosen
    position = low_pass(raw, cutoff_hz=cutoff, rate_hz=rate_hz)
    if np.mean(np.abs(np.diff(known) - interval) > 0.02 * interval) > 0.2:
        # Interpolating uneven samples hides their noise: ask the samples themselves.
        left = values[seen] - np.interp(known, grid, position)
        noise = max(noise, _noise_of_residual(left, cutoff, rate_hz))
    velocity = np.gradient(position, interval)
    return Smoothed(
        time_s=grid,
        position=position,
        velocity=velocity,
        acceleration=np.gradient(velocity, interval),
        gap=gap,
        cutoff_hz=cutoff,
        rate_hz=rate_hz,
        noise=noise,
    )
