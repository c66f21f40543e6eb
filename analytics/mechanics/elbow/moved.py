"""What a lift sets in motion about the elbow, on the joint's grid."""

import numpy as np

from analytics.catalogue import Body, Gravity, Mechanics, Variant
from analytics.mechanics.curves import CURVES, Floats
from analytics.mechanics.elbow.limb import Limb
from analytics.mechanics.elbow.muscles import GRID_DEG, JOINT, muscle_set
from analytics.mechanics.moving import Moved

# By variant id, with what it was worked out for: every shape and range asks again.
_MOVED: dict[str, tuple[Variant, Body, Moved]] = {}
LEAST_INERTIA_FRAC = 0.1  # of the arm kept still; below, the elbow alone moves nothing


def moved(variant: Variant, *, body: Body) -> Moved:
    """Give what the elbow sets in motion on a variant's path.

    Parameters
    ----------
    variant : Variant
        Path and resistance.
    body : Body
        Segment sizes.

    Returns
    -------
    moved : Moved
        On the joint's grid, shape (n_grid,).

    Notes
    -----
    Where the pull passes the joint or runs with the shoulder, the elbow alone would
    move next to nothing; a tenth of the limb's and of a hand-held load's inertia then
    stands in, so that no speed grows beyond bounds.
    """
    known = _MOVED.get(variant.variant)
    if known is None or known[0] != variant or known[1] != body:
        known = _MOVED[variant.variant] = (variant, body, _moved(variant, body))
    return known[2]


def _moved(variant: Variant, body: Body) -> Moved:
    elbow = np.deg2rad(GRID_DEG)
    empty, loaded = (Limb(variant, load_kg, body) for load_kg in (0.0, 1.0))
    own, bias = empty.inertia_kg_m2(elbow), empty.bias_kg_m2(elbow)
    per_kg = loaded.inertia_kg_m2(elbow) - own
    bias_per_kg = loaded.bias_kg_m2(elbow) - bias
    if isinstance(variant.model.resistance, Gravity):
        per_kg = np.maximum(per_kg, LEAST_INERTIA_FRAC * body.grip_m**2)
    return Moved(
        inertia=np.maximum(own, LEAST_INERTIA_FRAC * empty.inertia),
        inertia_per_kg=np.maximum(per_kg, 0.0),
        bias=bias,
        bias_per_kg=bias_per_kg,
        shortening=_shortening(variant.model),
        hand_m=np.full_like(elbow, body.grip_m),
    )


def _shortening(model: Mechanics) -> Floats:
    """Of the flexors in optimal lengths per rad, weighted by what each gives."""
    shoulder = model.shoulder_deg(GRID_DEG)
    given, shortened = np.zeros_like(GRID_DEG), np.zeros_like(GRID_DEG)
    for muscle in muscle_set(JOINT.muscle_sets[0]):
        balance = muscle.balance(CURVES[0])
        stretch = muscle.stretch(GRID_DEG, shoulder, model.rotation_deg)
        arm_m = muscle.moment_arm_m(GRID_DEG, model.rotation_deg)
        moment = muscle.peak_force_n * arm_m
        moment = moment * np.interp(stretch, balance.stretch, balance.active)
        given += moment
        shortened -= moment * np.gradient(stretch, np.deg2rad(GRID_DEG))
    return shortened / given
