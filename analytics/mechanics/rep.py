"""One all-out rep run forward in time: where it slows and where it stalls."""

from __future__ import annotations

from dataclasses import dataclass
from typing import cast

import pandas as pd

from analytics.catalogue import Body, Variant
from analytics.mechanics.joints import find_variant, joint_model
from analytics.mechanics.limits import Range


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DynamicRep:
    """One simulated rep.

    Attributes
    ----------
    variant : str
        Id.
    load_kg, load_ratio : float
        Per working arm; over the limit load of the same range. [kg], [1]
    completed : bool
        False where it stalled.
    stalled_deg : float
        Highest joint angle reached, NaN where completed. [deg]
    peak1_deg, low_deg, peak2_deg : float
        Joint angle at the velocity maxima around the minimum; NaN where the velocity
        has no minimum between two maxima. [deg]
    motion : DataFrame
        ``time_s``, the joint's angle, ``velocity_deg_per_s, activation, moment_nm,
        demand_nm, energy_j``, work of the joint and of the shoulder; demand as at
        rest.
    """

    variant: str
    load_kg: float
    load_ratio: float
    completed: bool
    stalled_deg: float
    peak1_deg: float
    low_deg: float
    peak2_deg: float
    motion: pd.DataFrame


def dynamic_rep(
    variant: str | Variant,
    *,
    load_ratio: float = 0.95,
    range_deg: Range | None = None,
    body: Body | None = None,
    muscles: str | None = None,
    curve: str = "thelen",
) -> DynamicRep:
    r"""Simulate one all-out rep from rest.

    Parameters
    ----------
    variant : str or Variant
        Posture path and resistance.
    load_ratio : float
        Load over the limit load of the same range. [1]
    range_deg : tuple of float or None
        First and last joint angle; the variant's own when None. [deg]
    body : Body or None
        From `make_body`; the default body when None.
    muscles, curve : str
        Published muscle set, the joint's first when None, and curve.

    Returns
    -------
    rep : DynamicRep
        Motion, and where it slows or stalls.

    Raises
    ------
    InputError
        If the variant, range or load cannot be used.

    Notes
    -----
    The rep starts where the resistance begins to resist: a cable that first helps is
    followed, not lifted. From the activation that just holds the load, the muscles are
    driven fully:

    .. math:: \dot a = (1 - a) / (t_{act} (0.5 + 1.5 a))

    Each muscle's active force is the isometric one, tendon in balance, times activation
    and the published force-velocity factor at the fibre speed of a stiff tendon. No
    antagonist, no fatigue, no help from the body.

    References
    ----------
    de_groote_2016; thelen_2003; winter_2009.
    """
    chosen = find_variant(variant)
    rep = joint_model(chosen.model.joint).dynamic_rep(
        chosen,
        load_ratio=load_ratio,
        range_deg=range_deg,
        body=body,
        muscles=muscles or chosen.model.joint.muscle_sets[0],
        curve=curve,
    )
    return cast(DynamicRep, rep)
