"""Capability beside what was measured on people."""

import numpy as np
import pytest

from analytics.mechanics import CURVES
from analytics.mechanics.elbow import capability
from analytics.mechanics.elbow.muscles import JOINT, muscle_set

PAIRS = [(muscles, curve) for muscles in JOINT.muscle_sets for curve in CURVES]


@pytest.mark.published
@pytest.mark.parametrize(("muscles", "curve"), PAIRS)
def test_published_structures_peak_between_measured_groups(muscles, curve):
    # Tsunoda et al. 1993: group means greatest at 60 degrees in 18 men and 11
    # bodybuilders, at 90 in 15 women, of seven angles 15 apart.
    elbow = np.arange(141.0)
    moment = capability(
        elbow, shoulder_deg=0, rotation_deg=90, muscles=muscles, curve=curve
    )
    assert 60 <= elbow[np.argmax(moment)] <= 90


@pytest.mark.published
def test_biceps_lifts_the_hanging_upper_arm_and_nothing_beyond_sixty_degrees():
    # Pigeon et al. 1996: 29.21 mm; Landin et al. 2008, 30 adults, stimulated biceps:
    # elevation moment greatest at shoulder 0, near nil from 60 up. The short head of
    # Arm26 pulls backward there, which is why no shoulder moment of it is used.
    def arm_mm(muscle, shoulder):
        slope = muscle.shoulder_m.derivative()(np.asarray(shoulder, dtype=float))
        return -1000 * np.rad2deg(slope)

    biceps = muscle_set("printed")[0]
    np.testing.assert_allclose(arm_mm(biceps, [-45, -10]), 29.21, atol=0.005)
    assert 10 < arm_mm(biceps, 30) < 20
    np.testing.assert_allclose(arm_mm(biceps, [65, 90]), 0, atol=0.01)
    assert arm_mm(muscle_set("arm26")[1], 60) < -30
