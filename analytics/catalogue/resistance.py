"""What resists a lift: a weight, a cable, a band or a machine."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Discriminator

from analytics.catalogue.fields import Ahead, Length, Path, Ratio, Slack, entry


@entry
class Gravity:
    """A weight in the hand."""

    kind: Literal["gravity"] = "gravity"


@entry
class Anchored:
    """A pull towards a place in the room: ahead of the hips, above the floor."""

    anchor_forward_m: Ahead
    anchor_height_m: Length


@entry
class Cable(Anchored):
    """A pull that does not change.

    Its ratio is the tension at the handle over the weight of the stack: 0.5 where the
    stack hangs on two strands, which then rises half as far as the handle.
    """

    kind: Literal["cable"] = "cable"
    pulley_ratio: Ratio = 1.0


@entry
class Band(Anchored):
    """A pull that grows beyond a slack length.

    Its table gives tension over the rated one by elongation over the slack length;
    without one they are proportional.
    """

    kind: Literal["band"] = "band"
    slack_m: Slack
    table: Path | None = None


@entry
class Constant:
    """A machine whose moment does not change."""

    kind: Literal["constant"] = "constant"
    load_arm_m: Length


@entry
class Cam:
    """A machine whose table gives the moment arm in m by joint angle in degrees."""

    kind: Literal["cam"] = "cam"
    table: Path


RESISTANCES: dict[str, type] = {
    "gravity": Gravity,
    "cable": Cable,
    "band": Band,
    "constant": Constant,
    "cam": Cam,
}
Resistance = Annotated[Gravity | Cable | Band | Constant | Cam, Discriminator("kind")]


def moving_mass_kg(resistance: Resistance, load_kg: float) -> float:
    """Mass that the hand has to speed up along the line of pull.

    Parameters
    ----------
    resistance : Gravity, Cable, Band, Constant or Cam
        What resists.
    load_kg : float
        Per working arm. [kg]

    Returns
    -------
    mass_kg : float
        All of a weight; of a stack the pulley's ratio squared, since it rises that
        much slower and pulls by that much less; a machine's at its moment arm; none of
        a band. [kg]
    """
    if isinstance(resistance, Band):
        return 0.0
    if isinstance(resistance, Cable):
        return load_kg * resistance.pulley_ratio**2
    return load_kg
