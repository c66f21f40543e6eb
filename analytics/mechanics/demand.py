"""Demand: the external joint moment a posture, a load and a body ask for."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from analytics.catalogue import Body, Variant, make_body
from analytics.errors import InputError
from analytics.mechanics.joints import find_variant, joint_model
from analytics.units import STANDARD_GRAVITY_M_PER_S2


def checked_load(load_kg: ArrayLike) -> NDArray[np.float64]:
    """Return loads that can be lifted, or refuse them."""
    load = np.asarray(load_kg, dtype=float)
    if np.any(load < 0) or np.any(np.isinf(load)):
        bad = load[(load < 0) | np.isinf(load)].flat[0]
        raise InputError(f"load_kg must be 0 or more, got {bad:g}")
    return load


def demand(
    joint_deg: ArrayLike,
    *,
    variant: str | Variant,
    load_kg: ArrayLike,
    body: Body | None = None,
) -> NDArray[np.float64]:
    """External moment to overcome at the lead joint, one arm.

    Parameters
    ----------
    joint_deg : array_like, shape (...)
        Joint angle. [deg]
    variant : str or Variant
        Posture path and resistance.
    load_kg : array_like, broadcastable to ``joint_deg``
        External load per working arm; a band's rated tension. [kg]
    body : Body or None
        From `make_body`; the default body when None.

    Returns
    -------
    moment_nm : ndarray, shape (...)
        Load and limb; positive where it opens the joint. [N m]

    Raises
    ------
    InputError
        If the load is negative or the variant unknown.

    Notes
    -----
    NaN outside what the joint can take.

    References
    ----------
    winter_2009; de_leva_1996; drillis_contini_1966.
    """
    load, model = checked_load(load_kg), find_variant(variant).model
    load_arm, own = joint_model(model.joint).asked(
        joint_deg, model=model, body=body or make_body()
    )
    return np.asarray(load * STANDARD_GRAVITY_M_PER_S2 * load_arm[0] + own[0])
