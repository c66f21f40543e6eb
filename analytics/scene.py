"""What a drawing of a lift is made of, for every joint alike."""

from dataclasses import dataclass

import pandas as pd


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SideView:
    """A lift seen from the side, facing right, in metres of the room.

    Attributes
    ----------
    fixed : DataFrame
        ``part, order, x_m, y_m``: what does not move, and where the pull is anchored.
    moving : DataFrame
        The joint's angle and the same, of bones, cable, load and moment arms.
    muscles : DataFrame
        The joint's angle, ``muscle, order, x_m, y_m, active, fibre_length, zone``.
    arms : DataFrame
        The joint's angle, ``load_arm_m, muscle_arm_m``, the latter of the main muscle.
    bones : tuple of str
        Parts of `moving` that are bones, that before the joint first.
    seen_from, pull : str
        What lengths forward are counted from, and the load's pull, in words.
    ring_m : float
        Radius of what is held.
    """

    fixed: pd.DataFrame
    moving: pd.DataFrame
    muscles: pd.DataFrame
    arms: pd.DataFrame
    bones: tuple[str, ...]
    seen_from: str
    pull: str
    ring_m: float
