"""Draws of the uncertain parameters: centred, repeatable, each of them moved."""

import numpy as np
import pytest

from analytics.catalogue import load_catalogue
from analytics.mechanics import (
    SHAPES,
    log_ratio_draws,
    make_body,
    sensitivity,
    structures,
)
from analytics.mechanics.draws import make_draws
from analytics.mechanics.elbow import drawn
from analytics.mechanics.elbow.muscles import GRID_DEG, JOINT
from analytics.mechanics.heaviest import LARGEST_GAIN
from analytics.mechanics.joints import posture_rows

STRUCTURES = structures(JOINT)


@pytest.mark.analytic
def test_unmoved_draws_are_the_published_model():
    # No departure: the fast path must give `capability` and `load_arms` themselves.
    body = make_body()
    arm = drawn(make_draws(len(STRUCTURES), joint=JOINT, seed=None), body=body)
    for name in ("standing_barbell_curl", "reverse_curl", "behind_cable_curl"):
        variant = load_catalogue().variants[name]
        for (muscles, curve), piece in zip(STRUCTURES, arm.draws.pieces(), strict=True):
            exact = posture_rows(
                GRID_DEG, model=variant.model, body=body, muscles=muscles, curve=curve
            )
            fast = arm.rows(variant, piece)
            assert fast.joints == exact.joints
            for part in ("load_arm_m", "own_nm", "least_nm", "most_nm"):
                for ours, theirs in zip(
                    getattr(fast, part), getattr(exact, part), strict=True
                ):
                    pair = np.broadcast_arrays(ours, theirs)
                    np.testing.assert_allclose(*pair, rtol=2e-3, atol=1e-5)


def test_same_seed_gives_the_same_people_whatever_else_is_asked():
    alone = log_ratio_draws(
        ["hammer_curl"], reference="standing_barbell_curl", n_draws=60, seed=7
    )
    among = log_ratio_draws(
        ["band_curl", "hammer_curl", "preacher_curl_45"],
        reference="standing_barbell_curl",
        n_draws=60,
        seed=7,
    )
    np.testing.assert_array_equal(alone[:, 0], among[:, 1])
    other = log_ratio_draws(
        ["hammer_curl"], reference="standing_barbell_curl", n_draws=60, seed=8
    )
    assert not np.allclose(alone, other)


@pytest.mark.analytic
@pytest.mark.parametrize("shape", SHAPES)
def test_a_reference_against_itself_has_ratio_one_in_every_draw(shape):
    logs = log_ratio_draws(
        [("standing_barbell_curl", None), ("standing_barbell_curl", (30, 120))],
        reference="standing_barbell_curl",
        shape=shape,
        n_draws=300,
    )
    assert logs.shape == (300, 2)
    np.testing.assert_array_equal(logs[:, 0], 0)
    # A part of a range never holds less; its lift has less way to gain speed.
    assert np.median(logs[:, 1]) > -0.005
    assert logs[:, 1].min() > -np.log(LARGEST_GAIN)
    assert np.isfinite(logs).all()


def test_sensitivity_moves_each_parameter_and_each_structure():
    moved = sensitivity("preacher_curl_45")
    assert moved.iloc[0][["parameter", "limit_load_ratio"]].tolist() == ["none", 1.0]
    up = moved[moved["change"] == 1].set_index("parameter")["limit_load_ratio"]
    assert up["peak_force.brachialis"] > 1
    assert up["moment_arm.biceps"] > 1
    assert up["grip_distance"] < 1
    structures = moved[moved["change"].isna()]
    assert len(structures) == len(STRUCTURES) - 1
