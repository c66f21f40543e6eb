"""The elbow: its flexors, the forearm at rest and as a moving limb.

What the rest of the mechanics asks of a joint (`analytics.mechanics.joints`) is here
under the names it asks for.
"""

from collections.abc import Sequence

from analytics.catalogue import Mechanics
from analytics.mechanics.curves import Floats
from analytics.mechanics.elbow.drawn import DrawnElbow as drawn
from analytics.mechanics.elbow.load_arms import able, asked, hand_m, load_arms
from analytics.mechanics.elbow.moved import moved
from analytics.mechanics.elbow.muscles import muscle_set
from analytics.mechanics.elbow.strength_curve import capability, muscle_work, strength

__all__ = [
    "able",
    "asked",
    "capability",
    "drawn",
    "hand_m",
    "load_arms",
    "moved",
    "muscle_arms_m",
    "muscle_work",
    "parameters_of",
    "strength",
]


def muscle_arms_m(joint_deg: Floats, *, model: Mechanics) -> dict[str, Floats]:
    """Give the moment arm of each muscle of the first published set."""
    return {
        muscle.name: muscle.moment_arm_m(joint_deg, model.rotation_deg)
        for muscle in muscle_set(model.joint.muscle_sets[0])
    }


def parameters_of(model: Mechanics) -> Sequence[str]:
    """Name the parameters of muscles and forearm that are drawn."""
    muscles = muscle_set("printed")  # holds those of the other set
    groups = dict.fromkeys(muscle.arm_group for muscle in muscles)
    names = [f"moment_arm.{group}" for group in groups]
    for kind in ("peak_force", "optimal_fibre", "tendon_slack", "own_angle"):
        names += [f"{kind}.{muscle.name}" for muscle in muscles]
    names += ["optimal_angle", "personal_angle", "shoulder_arm"]
    names += ["profile_tilt", "profile_straight", "grip_distance", "forearm_and_hand"]
    for joint in model.free[1:]:
        kinds = ("torque_level", "torque_slope", "torque_reverse")
        own = [f"{kind}.{joint}" for kind in kinds]
        names += ["grip_force"] if joint == "grip" else own
    names += ["neutral_grip"] if model.rotation_deg < 90 else []
    return [*names, "grip"] if model.rotation_deg < 0 else names
