"""The filter and the noise it takes away, against closed forms and SciPy."""

import numpy as np
import pytest
from elbow_reps import RATE_HZ, one_set
from scipy import signal

from analytics.traces.smoothing import (
    derivative_noise,
    low_pass,
    residual_cutoff,
    two_pass_correction,
)


@pytest.mark.published
def test_two_passes_of_second_order_need_the_published_correction():
    # Winter, section 3.4.4.2: C = (2^(1/2) - 1)^(1/4) = 0.802 (value from memory)
    assert round(two_pass_correction(), 3) == 0.802


@pytest.mark.analytic
@pytest.mark.parametrize("cutoff_hz", [2.0, 6.0, 15.0])
def test_a_sine_at_the_cutoff_comes_out_at_half_power(cutoff_hz):
    # -3 dB of both passes together: amplitude 1/sqrt(2), no shift in phase.
    t = np.arange(0, 20, 1 / RATE_HZ)
    sine = np.sin(2 * np.pi * cutoff_hz * t)
    out = low_pass(sine, cutoff_hz=cutoff_hz, rate_hz=RATE_HZ)
    middle = slice(500, 1500)
    np.testing.assert_allclose(
        out[middle], sine[middle] / np.sqrt(2), rtol=0, atol=2e-3
    )


@pytest.mark.external
def test_low_pass_is_scipys_forward_backward_filter_at_the_corrected_cutoff():
    # scipy.signal.sosfiltfilt with butter(2); correction in tan units (bilinear).
    values = np.cumsum(np.random.default_rng(3).standard_normal(800))
    warped = np.tan(np.pi * 6 / RATE_HZ) / (np.sqrt(2) - 1) ** 0.25
    sos = signal.butter(
        2, np.arctan(warped) / np.pi * RATE_HZ, fs=RATE_HZ, output="sos"
    )
    expected = signal.sosfiltfilt(sos, values, padlen=RATE_HZ)
    np.testing.assert_allclose(
        low_pass(values, cutoff_hz=6, rate_hz=RATE_HZ), expected, rtol=1e-10
    )


@pytest.mark.external
def test_residual_curve_from_the_spectrum_is_that_of_scipys_filter():
    # Residual analysis done the long way, with sosfiltfilt at every cut-off. Half a
    # hertz is the step of the cut-offs tried.
    trace, _ = one_set(4, noise=1.0)
    raw = trace["elbow_deg"].to_numpy()
    cutoff = np.arange(1.5, 20, 0.5)
    residual = [
        np.std(raw - low_pass(raw, cutoff_hz=f, rate_hz=RATE_HZ)) for f in cutoff
    ]
    straight = cutoff > 0.5 * cutoff[-1]
    _, intercept = np.polyfit(cutoff[straight], np.array(residual)[straight], 1)
    expected = cutoff[np.flatnonzero(residual <= intercept)[0]]
    found, _ = residual_cutoff(raw, rate_hz=RATE_HZ)
    assert found == pytest.approx(max(expected, 3.0), abs=0.5)


@pytest.mark.analytic
@pytest.mark.parametrize("noise", [0.2, 1.0, 3.0])
def test_white_noise_is_measured_and_its_velocity_foretold(noise):
    # The noise put in comes out; n samples know their deviation to 1/sqrt(2n).
    rng = np.random.default_rng(5)
    raw = noise * rng.standard_normal(20_000)
    _, found = residual_cutoff(raw, rate_hz=RATE_HZ)
    assert found == pytest.approx(noise, rel=0.03)
    velocity = np.gradient(low_pass(raw, cutoff_hz=5, rate_hz=RATE_HZ), 1 / RATE_HZ)
    assert velocity.std() == pytest.approx(
        noise * derivative_noise(1, 5.0, RATE_HZ), rel=0.05
    )


@pytest.mark.analytic
def test_the_filters_overshoot_on_a_step_is_below_the_smallest_dip():
    step = np.zeros(400)
    step[100:300] = 1.0
    out = low_pass(step, cutoff_hz=5, rate_hz=RATE_HZ)
    assert out.max() - 1 < 0.04  # the smallest dip that counts is 0.06 of the peak
