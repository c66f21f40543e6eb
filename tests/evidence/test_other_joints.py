"""Truths of the joints beyond the elbow flexors, and what is told of them."""

from pathlib import Path

import numpy as np
import pytest

from analytics.cli.bench import other_joints
from analytics.cli.bench.power import LOGS, simulate_power
from analytics.evidence import family_power_in_words, family_power_table

ALL = [(m, t) for m in other_joints.MOVEMENTS for t in other_joints.TRUTHS]


def drawn(truth: str, movement: str, logs: int = 50) -> other_joints.Joints:
    return other_joints.draw(truth, movement, logs, np.random.default_rng(3))


def test_the_truths_share_no_code_with_the_model():
    text = Path(other_joints.__file__).read_text("utf-8")
    assert "analytics.mechanics" not in text
    assert "analytics.catalogue" not in text


@pytest.mark.analytic
def test_a_flat_joint_lifts_moment_less_own_weight_over_the_wheel():
    # Leg extension: the shank is level at the straight end, 160 of 180 degrees:
    # the weight of 4.6 kg at 0.26 m asks 9.81 * 4.6 * 0.26 * sin(90 - 20) there.
    joints = drawn("flat", "knee_extension")
    joints.off_deg["leg_extension"][:] = 0.0
    beside = np.exp(joints.drawn["by_neighbour"] * 80 / 90)
    own = 9.81 * 4.6 * 0.26 * np.sin(np.radians(70))
    kg = (joints.drawn["peak_nm"] * beside - own) / (9.81 * 0.3)
    found = np.exp(other_joints.log_limit(joints, "leg_extension", None))
    np.testing.assert_allclose(found, kg[:, 0])


@pytest.mark.analytic
def test_a_weight_held_level_overhead_asks_for_the_whole_forearm():
    # Upper arm upright (180), elbow bent square: 0.35 m of load arm, 0.175 of own.
    joints = drawn("flat", "elbow_extension")
    joints.off_deg["lying_bar_extension"][:] = -5.0  # 185 in the table
    moment = joints.drawn["peak_nm"] * np.exp(joints.drawn["by_neighbour"] * 95 / 90)
    kg = (moment - 9.81 * 1.65 * 0.175) / (9.81 * 0.35)
    found = np.exp(other_joints.log_limit(joints, "lying_bar_extension", (90, 90)))
    np.testing.assert_allclose(found, kg[:, 0])


@pytest.mark.parametrize(("movement", "truth"), ALL)
def test_every_posture_has_a_limit_and_less_range_never_less_load(movement, truth):
    joints = drawn(truth, movement)
    for name, row in other_joints.POSTURE.items():
        if row["joint"] != movement:
            continue
        first, last = row["range_deg"]
        whole = other_joints.log_limit(joints, name, None)
        part = other_joints.log_limit(joints, name, (first + 10, last - 10))
        assert np.isfinite(whole).all()
        assert (part >= whole - 1e-9).all()


def test_the_shipped_table_says_of_every_joint_what_is_told():
    table = family_power_table()
    assert list(dict.fromkeys(table["movement"])) == list(other_joints.MOVEMENTS)
    assert set(table["truth"]) == set(other_joints.TRUTHS)
    assert (table["logs"] == LOGS).all()
    assert len(family_power_in_words(table)) == len(other_joints.MOVEMENTS)
    # A joint of another shape must not be called as published; a peaked one not
    # refuted. The bound is the project's own, with three standard errors.
    near = 3 * np.sqrt(0.05 * 0.95 / LOGS)
    wrong = table[table["truth"] != "peaked"]
    assert wrong["agrees"].max() <= 0.05 + near
    assert table.loc[table["truth"] == "peaked", "disagrees"].max() <= 0.05 + near


@pytest.mark.frozen
def test_the_shipped_table_comes_out_again():
    again = simulate_power(
        "knee_flexion", logs=LOGS, sets_each=(8,), names=("with holds",)
    )
    again = again[again["curve"] == "all"].set_index("truth")
    shipped = family_power_table().query(
        "movement == 'knee_flexion' and design == 'with holds' and sets == 72"
    )
    for row in shipped.itertuples():
        assert again.loc[row.truth, "agrees"] == pytest.approx(row.agrees, abs=0.01)
