"""What mechanics asks of a joint; each joint answers in a folder of its own name."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from importlib import import_module
from typing import Any, Protocol, cast

import pandas as pd
from numpy.typing import ArrayLike

from analytics.catalogue import Body, Joint, Mechanics, Variant, load_catalogue
from analytics.errors import InputError
from analytics.mechanics.chain.rows import Rows
from analytics.mechanics.curves import Floats
from analytics.mechanics.draws import Block, Draws, Single
from analytics.mechanics.moving import Moved


class Drawn(Protocol):
    """Capability and demand under many draws, on the joint's grid."""

    draws: Draws
    body: Body

    def capability_nm(self, variant: Variant) -> Single:
        """Moment of all muscles, shape (n_draws, n_grid)."""

    def rows(
        self,
        variant: Variant,
        piece: Block,
        *,
        posture_deg: tuple[float, float] | None = None,
    ) -> Rows:
        """Free joints for one piece of the draws; drift and lean as drawn or given."""


class JointModel(Protocol):
    """Anatomy and posture of one joint."""

    def asked(
        self, joint_deg: ArrayLike, *, model: Mechanics, body: Body
    ) -> tuple[tuple[Floats, ...], tuple[Floats, ...]]:
        """Moment arm of the load and moment of the limb by free joint, lead first."""

    def able(
        self, joint_deg: ArrayLike, *, model: Mechanics, muscles: str, curve: str
    ) -> tuple[tuple[Any, ...], tuple[Any, ...]]:
        """Least and largest moment in N m that each free joint can give."""

    def hand_m(
        self, joint_deg: ArrayLike, *, model: Mechanics, body: Body
    ) -> tuple[Floats, Floats]:
        """Where the load is held: ahead of the hips and above the floor, in m."""

    def moved(self, variant: Variant, *, body: Body) -> Moved:
        """Give what a lift sets in motion, on the joint's grid."""

    def strength(
        self,
        joint_deg: ArrayLike,
        *,
        model: Mechanics,
        muscles: str,
        curve: str,
    ) -> Floats:
        """Moment the muscles can hold, in N m."""

    def muscle_work(
        self,
        joint_deg: ArrayLike,
        *,
        shoulder_deg: ArrayLike,
        rotation_deg: ArrayLike,
    ) -> pd.DataFrame:
        """Which muscle gives how much, and how long its fibres are."""

    def muscle_arms_m(
        self, joint_deg: Floats, *, model: Mechanics
    ) -> dict[str, Floats]:
        """Give the published moment arm of each muscle that is drawn."""

    def drawn(self, draws: Draws, *, body: Body, shape: str) -> Drawn:
        """Strength and demand under many draws."""

    def parameters_of(self, model: Mechanics) -> Sequence[str]:
        """Name the parameters of muscles and limb that are drawn."""


def joint_model(joint: Joint) -> JointModel:
    """Return the anatomy of a joint of the catalogue.

    Parameters
    ----------
    joint : Joint
        With a folder of its name, or of its ``anatomy``, beside this module.

    Returns
    -------
    model : JointModel
        Its package, or what the anatomy's package makes of the joint.
    """
    if joint.anatomy is None:
        return cast(JointModel, import_module(f"{__package__}.{joint.joint}"))
    anatomy = import_module(f"{__package__}.{joint.anatomy}")
    return cast(JointModel, anatomy.of_joint(joint))


def posture_rows(
    joint_deg: ArrayLike, *, model: Mechanics, body: Body, muscles: str, curve: str
) -> Rows:
    """Give what every free joint is asked and can give on a posture path.

    Parameters
    ----------
    joint_deg : array_like, shape (...)
        Angle of the lead joint. [deg]
    model : Mechanics
        Posture path and resistance.
    body : Body
        Segment lengths and masses.
    muscles, curve : str
        Published muscle set and curve.

    Returns
    -------
    rows : Rows
        The lead first.
    """
    joint = joint_model(model.joint)
    load_arm, own = joint.asked(joint_deg, model=model, body=body)
    least, most = joint.able(joint_deg, model=model, muscles=muscles, curve=curve)
    return Rows(
        joints=model.free, load_arm_m=load_arm, own_nm=own, least_nm=least, most_nm=most
    )


def find_variant(variant: str | Variant) -> Variant:
    """Return a modelled variant by its id, or refuse with the ids that exist.

    Parameters
    ----------
    variant : str or Variant
        Id in the catalogue; a Variant passes through.

    Returns
    -------
    variant : Variant
        One that has mechanics.

    Raises
    ------
    InputError
        If there is none, or it has no mechanics.
    """
    catalogue = load_catalogue()
    known = ", ".join(catalogue.modelled)
    if not isinstance(variant, Variant):
        if variant not in catalogue.variants:
            raise InputError(f"no variant {variant!r}; there are: {known}")
        variant = catalogue.variants[variant]
    if not variant.modelled:
        raise InputError(
            f"{variant.variant!r} is logged, not modelled; modelled are: {known}"
        )
    return variant


def angle_column(variants: Iterable[Variant] | None = None) -> str:
    """Name the angle of a table: after the joint, where all have the same.

    Parameters
    ----------
    variants : iterable of Variant or None
        What the table is about; all that are modelled when None.

    Returns
    -------
    column : str
    """
    catalogue = load_catalogue()
    if variants is None:
        variants = (catalogue.variants[name] for name in catalogue.modelled)
    joints = {variant.model.joint.column for variant in variants}
    return joints.pop() if len(joints) == 1 else "joint_deg"


def muscle_work(
    joint_deg: ArrayLike,
    *,
    variant: str | Variant,
    shoulder_deg: ArrayLike | None = None,
) -> pd.DataFrame:
    """Which muscle gives how much, and how long its fibres are, by posture.

    Parameters
    ----------
    joint_deg : array_like, shape (...)
        Joint angle. [deg]
    variant : str or Variant
        Whose shoulder path and forearm rotation hold.
    shoulder_deg : array_like or None
        Upper arm to trunk, in place of the path. [deg]

    Returns
    -------
    work : DataFrame
        One row per posture and muscle: the joint's angle, ``shoulder_deg,
        rotation_deg, muscle, moment_nm, share_frac, fibre_length, active, zone``.

    Raises
    ------
    InputError
        If the variant or an angle cannot be used.
    """
    model = find_variant(variant).model
    if shoulder_deg is None:
        shoulder_deg = model.shoulder_deg(joint_deg)
    return joint_model(model.joint).muscle_work(
        joint_deg, shoulder_deg=shoulder_deg, rotation_deg=model.rotation_deg
    )
