"""Isometric strength by elbow angle, for holds and failures at known angles."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from analytics.catalogue import Variant
from analytics.mechanics.body import Body, make_body
from analytics.mechanics.demand import find_variant
from analytics.mechanics.draws import GRID_DEG, DrawnArm, make_draws


def strength_at_angle(
    elbow_deg: ArrayLike,
    *,
    variant: str | Variant,
    shape: str = "peaked",
    n_draws: int = 3000,
    seed: int = 1,
    body: Body | None = None,
) -> NDArray[np.float64]:
    """Isometric capability over its own peak, by elbow angle, in draws.

    Parameters
    ----------
    elbow_deg : array_like, shape (n_angles,)
        Elbow, from 0 to 140. [deg]
    variant : str or Variant
        Whose shoulder path and forearm rotation hold.
    shape : str
        ``peaked``, ``flat``, ``inverted`` or ``leverage``, as in `capability`.
    n_draws, seed : int
        Parameter draws over all muscle sets and curves.
    body : Body or None
        The default body when None.

    Returns
    -------
    relative : ndarray, shape (n_draws, n_angles)
        Moment over the greatest moment from 0 to 140; NaN outside. [1]

    Raises
    ------
    InputError
        If the variant or shape cannot be used.
    """
    arm = DrawnArm(
        make_draws(n_draws, seed=seed), body=body or make_body(), shape=shape
    )
    moment = arm.capability_nm(find_variant(variant))
    relative = moment / moment.max(axis=1, keepdims=True)
    angle = np.atleast_1d(np.asarray(elbow_deg, dtype=float))
    below = np.clip(np.floor(np.nan_to_num(angle)), 0, GRID_DEG[-2]).astype(int)
    part = angle - below
    value = relative[:, below] * (1 - part) + relative[:, below + 1] * part
    valid = (angle >= GRID_DEG[0]) & (angle <= GRID_DEG[-1])
    return np.where(valid, value, np.nan)
