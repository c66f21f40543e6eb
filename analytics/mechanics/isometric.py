"""Isometric strength by joint angle, for holds and failures at known angles."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from analytics.catalogue import Body, Variant
from analytics.mechanics.joints import find_variant
from analytics.mechanics.limits import drawn_limb


def strength_at_angle(
    joint_deg: ArrayLike,
    *,
    variant: str | Variant,
    shape: str = "peaked",
    n_draws: int = 3000,
    seed: int = 1,
    body: Body | None = None,
) -> NDArray[np.float64]:
    """Isometric capability over its own peak, by joint angle, in draws.

    Parameters
    ----------
    joint_deg : array_like, shape (n_angles,)
        Joint angle, within the joint's grid. [deg]
    variant : str or Variant
        Whose shoulder path and forearm rotation hold.
    shape : str
        ``peaked`` or a rival, as in `reshaped`.
    n_draws, seed : int
        Parameter draws over all muscle sets and curves.
    body : Body or None
        The default body when None.

    Returns
    -------
    relative : ndarray, shape (n_draws, n_angles)
        Moment over the greatest moment on the joint's grid; NaN outside. [1]

    Raises
    ------
    InputError
        If the variant or shape cannot be used.
    """
    chosen = find_variant(variant)
    joint, grid = chosen.model.joint, chosen.model.joint.grid()
    arm = drawn_limb(joint, n_draws=n_draws, seed=seed, body=body, shape=shape)
    moment = arm.capability_nm(chosen)
    relative = moment / moment.max(axis=1, keepdims=True)
    angle = np.atleast_1d(np.asarray(joint_deg, dtype=float))
    place = angle - grid[0]
    below = np.clip(np.floor(np.nan_to_num(place)), 0, grid.size - 2).astype(int)
    part = place - below
    value = relative[:, below] * (1 - part) + relative[:, below + 1] * part
    valid = (angle >= grid[0]) & (angle <= grid[-1])
    return np.where(valid, value, np.nan)
