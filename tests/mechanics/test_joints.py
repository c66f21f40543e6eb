"""Every joint of the catalogue can answer what the stages ask of it."""

import pytest

from analytics.catalogue import load_catalogue
from analytics.evidence.spread import spread_table
from analytics.mechanics.draws import structures
from analytics.mechanics.joints import JointModel, angle_column, joint_model

CATALOGUE = load_catalogue()


@pytest.mark.parametrize("joint", CATALOGUE.joints.values(), ids=CATALOGUE.joints)
def test_a_joint_has_its_folder_its_sets_and_its_endurance(joint):
    asked = [name for name in vars(JointModel) if not name.startswith("_")]
    assert [name for name in asked if not hasattr(joint_model(joint), name)] == []
    assert {"exponent", "whole_s"} <= set(spread_table()[f"endurance_{joint.joint}"])
    assert len(structures(joint)) == 3 * len(joint.muscle_sets)
    assert joint.range_deg[0] <= joint.grid_deg[0] < joint.curve_deg[0]
    assert joint.curve_deg[1] < joint.grid_deg[1] <= joint.range_deg[1]
    assert joint.main_muscle in dict(joint.titles)
    grid = joint.grid()
    assert (grid[0], grid[-1]) == joint.grid_deg


def test_the_angle_of_a_table_is_named_after_its_one_joint():
    variant = CATALOGUE.variants["hammer_curl"]
    assert angle_column([variant]) == "elbow_deg"
    assert angle_column() == angle_column([]) == "joint_deg"
