"""What a catalogue holds once it has been read and checked."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Annotated, Any, Literal, TypeVar, dataclass_transform

import numpy as np
from numpy.typing import ArrayLike, NDArray
from pydantic import (
    AfterValidator,
    BeforeValidator,
    ConfigDict,
    Discriminator,
    StringConstraints,
    with_config,
)

from analytics.errors import InputError

Kind = Literal["measured", "pooled", "fitted", "predicted", "assumed"]
Text = Annotated[str, StringConstraints(min_length=1)]
Range = tuple[float, float]
T = TypeVar("T")
Knots = tuple[tuple[float, float], ...]
LONGEST_M = 10.0  # no gym is longer


@dataclass_transform(frozen_default=True, kw_only_default=True)
def entry(kind: type[T]) -> type[T]:
    """Make a frozen dataclass of a data file, which takes no other names."""
    made = dataclass(frozen=True, slots=True, kw_only=True)(kind)
    return with_config(ConfigDict(extra="forbid"))(made)


def _from_to(low: float = -math.inf, high: float = math.inf) -> BeforeValidator:
    limits = "" if math.isinf(high) else f" from {low:g} to {high:g}"

    def check(value: object) -> float:
        number = isinstance(value, int | float) and not isinstance(value, bool)
        if number and low <= value <= high and math.isfinite(value):  # type: ignore[operator,arg-type]
            return float(value)  # type: ignore[arg-type]
        raise ValueError(f"expected a number{limits}")

    return BeforeValidator(check)


def _rising(knots: Knots) -> Knots:
    if len(knots) < 2 or any(b[0] <= a[0] for a, b in pairwise(knots)):
        raise ValueError("expected two or more pairs with rising first numbers")
    return knots


Number = Annotated[float, _from_to()]
Share = Annotated[float, _from_to(0, 1)]
RightAngle = Annotated[float, _from_to(-90, 90)]
Tilt = Annotated[float, _from_to(0, 90)]
Ahead = Annotated[float, _from_to(-LONGEST_M, LONGEST_M)]
Length = Annotated[float, _from_to(0, LONGEST_M)]
Slack = Annotated[float, _from_to(0.01, LONGEST_M)]
Path = Annotated[tuple[tuple[Number, Number], ...], AfterValidator(_rising)]


@entry
class Gravity:
    """A weight in the hand."""

    kind: Literal["gravity"] = "gravity"


@entry
class Anchored:
    """A pull towards a place ahead of the shoulder joint and above the floor."""

    anchor_forward_m: Ahead
    anchor_height_m: Length


@entry
class Cable(Anchored):
    """A pull that does not change."""

    kind: Literal["cable"] = "cable"


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
    lever_m: Length


@entry
class Cam:
    """A machine whose table gives the lever in m by joint angle in degrees."""

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


@entry
class Joint:
    """A joint that has muscle sets.

    Attributes
    ----------
    joint, title, zero : str
        Identifier, name on screens, what an angle of 0 is.
    range_deg, grid_deg, curve_deg : tuple of float
        What it can take; where strength is worked out, a degree apart; where muscle
        tables are at their best. [deg]
    shoulder_deg, rotation_deg : tuple of float
        What the neighbouring angles of a posture may be. [deg]
    muscle_sets : tuple of str
        Published models of its muscles.
    muscles, named_muscles, main_muscle, main_title : str or tuple of str
        What moves the joint in words, those that charts name, and the one whose length
        they show with its title.
    titles : tuple of (str, str)
        Muscles and muscle sets in words.
    kind, source, note : str
        Evidence, key in ``sources.toml``, and what to know.
    """

    joint: Text
    title: Text
    zero: Text
    range_deg: Range
    grid_deg: Range
    curve_deg: Range
    shoulder_deg: Range
    rotation_deg: Range
    muscle_sets: tuple[Text, ...]
    muscles: Text
    named_muscles: tuple[Text, ...]
    main_muscle: Text
    main_title: Text
    titles: tuple[tuple[Text, Text], ...]
    kind: Kind
    source: Text
    note: Text

    @property
    def column(self) -> str:
        """Name of its angle in tables."""
        return f"{self.joint}_deg"

    @property
    def axis(self) -> str:
        """Its angle in words."""
        return f"{self.title} angle, 0 = {self.zero}"

    def flexed(self, joint_deg: float) -> str:
        """Say an angle."""
        return f"{joint_deg:.0f}° of {self.title.lower()} flexion"

    def grid(self) -> NDArray[np.float64]:
        """Angles at which strength is worked out, a degree apart."""
        return np.arange(self.grid_deg[0], self.grid_deg[1] + 1)


@entry
class Movement:
    """A family of variants whose strength can be compared.

    Attributes
    ----------
    movement : str
        Identifier.
    title : str
        Name on screens.
    joint : str or None
        Whose angle its ranges and charts speak of.
    chain : str or None
        Linked segments that move.
    each : str or None
        What one of its exercises is called.
    reference : str or None
        Variant the ratios are given against, if the movement has one.
    """

    movement: Text
    title: Text
    joint: Text | None = None
    chain: Text | None = None
    each: Text | None = None
    reference: Text | None = None


@entry
class Mechanics:
    """Posture and resistance of a variant.

    Attributes
    ----------
    joint : Joint
        The joint that is modelled.
    trunk_deg : float
        Trunk from vertical, forward lean positive. [deg]
    path : tuple of (float, float)
        Knots of joint angle and shoulder angle, straight lines between. [deg]
    rotation_deg : float
        Forearm, +90 supinated, 0 neutral, -90 pronated. [deg]
    support : str
        What holds the upper arm.
    resistance : Gravity, Cable, Band, Constant or Cam
        Where the external load pulls, and how its pull changes.
    range_from_deg, range_to_deg : float
        First and last joint angle when a log does not say. [deg]
    pad_deg, bench_deg : float or None
        Pad from the hanging upper arm; bench back from horizontal; None where there
        is none. [deg]
    """

    joint: Joint
    trunk_deg: RightAngle
    path: Path
    rotation_deg: RightAngle
    support: Literal["none", "pad", "bench", "thigh"]
    resistance: Resistance
    range_from_deg: Number
    range_to_deg: Number
    pad_deg: Tilt | None = None
    bench_deg: Tilt | None = None

    @property
    def range_deg(self) -> Range:
        """First and last joint angle when a log does not say."""
        return self.range_from_deg, self.range_to_deg

    def shoulder_deg(self, joint_deg: ArrayLike) -> NDArray[np.float64]:
        """Shoulder angle on the posture path, held at the end knots outside them."""
        return np.interp(np.asarray(joint_deg, dtype=float), *np.array(self.path).T)

    def arm_deg(self, joint_deg: ArrayLike) -> NDArray[np.float64]:
        """Upper arm from hanging on the posture path, forward positive."""
        return self.shoulder_deg(joint_deg) - self.trunk_deg

    def problem(self) -> str | None:
        """Say what two or more fields contradict, or None."""
        low, high = self.joint.range_deg
        if not low <= self.range_from_deg < self.range_to_deg <= high:
            return (
                "range_from_deg must be smaller than range_to_deg, both from "
                f"{low:g} to {high:g}"
            )
        low, high = self.joint.shoulder_deg
        if any(not low <= shoulder <= high for _, shoulder in self.path):
            return f"shoulder angles of the path must be from {low:g} to {high:g}"
        arms = [shoulder - self.trunk_deg for _, shoulder in self.path]
        pad, bench = self.pad_deg, self.bench_deg
        if pad is not None and any(abs(arm - pad) > 0.5 for arm in arms):
            return f"path minus trunk_deg must equal pad_deg ({pad:g}) at every knot"
        if bench is not None and abs(abs(self.trunk_deg) - (90 - bench)) > 0.5:
            return f"trunk_deg must be 90 - bench_deg ({90 - bench:g}) or its negative"
        return None


@entry
class Variant:
    """One way of doing a movement: posture, implement and resistance.

    Attributes
    ----------
    variant, movement, title : str
        Identifier, family and name on screens.
    implement : str
        ``bar``, ``dumbbell``, ``cable``, ``band``, ``machine`` or ``body``.
    arms : int
        Arms that work at once.
    load_convention : str
        ``total`` or ``per_hand``: what the logged load counts.
    arms_share : float
        The logged load divided by this is the load per working arm. [1]
    body_share : float
        Fraction of body mass lifted as well. [1]
    stance : str
        How the body stands or sits.
    kind : str
        Evidence for posture and path: ``measured``, ``pooled``, ``fitted``,
        ``predicted`` or ``assumed``.
    source : str
        Key in ``sources.toml``.
    note : str
        Where the path comes from, and what to know.
    mechanics : Mechanics or None
        None means logged only.
    """

    variant: Text
    movement: Text
    title: Text
    implement: Literal["bar", "dumbbell", "cable", "band", "machine", "body"]
    arms: Literal[1, 2]
    load_convention: Literal["total", "per_hand"]
    arms_share: Annotated[float, _from_to(1, 2)]
    body_share: Share
    stance: Literal["parallel", "split", "seated", "prone", "hanging"]
    kind: Kind
    source: Text
    note: Text
    mechanics: Mechanics | None = None

    @property
    def modelled(self) -> bool:
        """Whether it has mechanics."""
        return self.mechanics is not None

    @property
    def model(self) -> Mechanics:
        """The mechanics; a variant that is logged only is refused."""
        if self.mechanics is None:
            raise InputError(f"{self.variant!r} is logged, not modelled")
        return self.mechanics

    def bent(self, **changes: Any) -> Variant:
        """Return the variant with other fields of its mechanics, unchecked."""
        return replace(self, mechanics=replace(self.model, **changes))
