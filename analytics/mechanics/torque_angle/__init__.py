"""Joints whose strength is a measured torque by angle.

`of_joint` gives what the rest of the mechanics asks of a joint
(`analytics.mechanics.joints`).
"""

from analytics.mechanics.torque_angle.model import TorqueAngle, of_joint

__all__ = ["TorqueAngle", "of_joint"]
