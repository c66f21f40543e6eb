"""Which muscle works how much, and on which part of its length–strength curve."""

from collections.abc import Sequence

import numpy as np
import pandas as pd

from analytics.catalogue import Joint, Variant
from analytics.mechanics.joints import find_variant, muscle_work

STEP_DEG = 2.0
SHOULDER_DEG = (-45.0, 90.0)  # of the map over both joints, where the shoulder is one
OTHERS = "the others"


def family_shares(
    variant: str | Variant, *, range_deg: tuple[float, float]
) -> pd.DataFrame:
    """Share of the moment each named group of muscles can give, by angle.

    Parameters
    ----------
    variant : str or Variant
        One that is modelled.
    range_deg : tuple of float
        First and last joint angle. [deg]

    Returns
    -------
    shares : DataFrame
        The joint's angle, ``family, share_frac, mean_frac``, the last over the range.
    """
    chosen = find_variant(variant)
    joint = chosen.model.joint
    angle = np.arange(range_deg[0], range_deg[1] + 1, STEP_DEG)
    work = muscle_work(angle, variant=chosen)
    family = [_family(muscle, joint.named_muscles) for muscle in work["muscle"]]
    rows = work.assign(family=family)
    rows = rows.groupby([joint.column, "family"], as_index=False)["share_frac"].sum()
    mean = rows.groupby("family")["share_frac"].transform("mean")
    return rows.assign(mean_frac=mean)


def _family(muscle: str, named: tuple[str, ...]) -> str:
    return next((name for name in named if muscle.startswith(name)), OTHERS)


def fibre_spans(variants: Sequence[str]) -> pd.DataFrame:
    """Which part of its curve the main muscle works on, each variant over its range.

    Parameters
    ----------
    variants : sequence of str
        Ids of modelled variants.

    Returns
    -------
    spans : DataFrame
        ``variant, zone, shortest, longest, from_deg, to_deg``; lengths over optimal.
    """
    parts = []
    for name in variants:
        model = find_variant(name).model
        angle = np.arange(model.range_from_deg, model.range_to_deg + 1)
        work = muscle_work(angle, variant=name)
        work = work[work["muscle"] == model.joint.main_muscle]
        work = work.rename(columns={model.joint.column: "joint_deg"})
        parts.append(work.assign(variant=name))
    rows = pd.concat(parts, ignore_index=True)
    return rows.groupby(["variant", "zone"], as_index=False, sort=False).agg(
        shortest=("fibre_length", "min"),
        longest=("fibre_length", "max"),
        from_deg=("joint_deg", "min"),
        to_deg=("joint_deg", "max"),
    )


def strong_regions(variant: str | Variant) -> pd.DataFrame:
    """Active force of the main muscle over its joint and the shoulder.

    Parameters
    ----------
    variant : str or Variant
        Whose forearm rotation holds.

    Returns
    -------
    regions : DataFrame
        The joint's angle, ``shoulder_deg, fibre_length, active, zone``.
    """
    chosen = find_variant(variant)
    joint, (first, last) = chosen.model.joint, chosen.model.joint.grid_deg
    near = SHOULDER_DEG if joint.neighbour == "shoulder" else joint.shoulder_deg
    angle, shoulder = np.meshgrid(
        np.arange(first, last + 1, 5), np.arange(near[0], near[1] + 1, 7.5)
    )
    work = muscle_work(angle, variant=chosen, shoulder_deg=shoulder)
    names = [joint.column, "shoulder_deg", "fibre_length", "active", "zone"]
    return work.loc[work["muscle"] == joint.main_muscle, names]


def strong_sentence(regions: pd.DataFrame, *, joint: Joint) -> str:
    """Say where the main muscle is at its best length with three arm positions.

    Parameters
    ----------
    regions : DataFrame
        Of :func:`strong_regions`.
    joint : Joint
        Whose.

    Returns
    -------
    sentence : str
        Without a full stop.
    """
    best = regions.loc[regions.groupby("shoulder_deg")["active"].idxmax()]
    at = best.set_index("shoulder_deg")[joint.column]
    if joint.neighbour != "shoulder":
        low, high = float(at.index.min()), float(at.index.max())
        return (
            f"The {joint.main_title} is at its best length near "
            f"{joint.flexed(at[low])} with the {joint.neighbour} at {low:.0f}°, and "
            f"near {at[high]:.0f}° with it at {high:.0f}°"
        )
    return (
        f"The {joint.main_title} is at its best length near "
        f"{joint.flexed(at[-45])} with the arm 45° behind the trunk, "
        f"{at[0]:.0f}° with it hanging and {at[45]:.0f}° with it 45° in front"
    )
