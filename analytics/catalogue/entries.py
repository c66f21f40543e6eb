"""What a catalogue holds once it has been read and checked."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Annotated, Any, Literal

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
Knots = tuple[tuple[float, float], ...]
LONGEST_M = 10.0  # no gym is longer

entry = with_config(ConfigDict(extra="forbid"))


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
@dataclass(frozen=True, slots=True, kw_only=True)
class Gravity:
    """A weight in the hand."""

    kind: Literal["gravity"] = "gravity"


@entry
@dataclass(frozen=True, slots=True, kw_only=True)
class Anchored:
    """A pull towards a pulley or the anchor of a band.

    Attributes
    ----------
    anchor_forward_m : float
        Ahead of the shoulder joint, behind is negative. [m]
    anchor_height_m : float
        Above the floor. [m]
    """

    anchor_forward_m: Ahead
    anchor_height_m: Length


@entry
@dataclass(frozen=True, slots=True, kw_only=True)
class Cable(Anchored):
    """A pull that does not change."""

    kind: Literal["cable"] = "cable"


@entry
@dataclass(frozen=True, slots=True, kw_only=True)
class Band(Anchored):
    """A pull that grows with the stretch.

    Attributes
    ----------
    slack_m : float
        Length at which a band begins to pull. [m]
    table : tuple of (float, float) or None
        Elongation as a fraction of the slack length and tension as a fraction of the
        rated tension; proportional when None.
    """

    kind: Literal["band"] = "band"
    slack_m: Slack
    table: Path | None = None


@entry
@dataclass(frozen=True, slots=True, kw_only=True)
class Constant:
    """A machine whose moment does not change.

    Attributes
    ----------
    lever_m : float
        Its lever. [m]
    """

    kind: Literal["constant"] = "constant"
    lever_m: Length


@entry
@dataclass(frozen=True, slots=True, kw_only=True)
class Cam:
    """A machine whose lever follows the joint angle.

    Attributes
    ----------
    table : tuple of (float, float)
        Joint angle [deg] and lever [m].
    """

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
@dataclass(frozen=True, slots=True, kw_only=True)
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

    def grid(self) -> NDArray[np.float64]:
        """Angles at which strength is worked out, a degree apart."""
        return np.arange(self.grid_deg[0], self.grid_deg[1] + 1)


@entry
@dataclass(frozen=True, slots=True, kw_only=True)
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
    reference : str or None
        Variant the ratios are given against, if the movement has one.
    """

    movement: Text
    title: Text
    joint: Text | None = None
    chain: Text | None = None
    reference: Text | None = None


@entry
@dataclass(frozen=True, slots=True, kw_only=True)
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
        """Shoulder angle on the posture path.

        Parameters
        ----------
        joint_deg : array_like, shape (...)
            Joint angle. [deg]

        Returns
        -------
        shoulder_deg : ndarray, shape (...)
            Held at the end knots outside them. [deg]
        """
        return np.interp(np.asarray(joint_deg, dtype=float), *np.array(self.path).T)

    def arm_deg(self, joint_deg: ArrayLike) -> NDArray[np.float64]:
        """Upper arm from hanging on the posture path.

        Parameters
        ----------
        joint_deg : array_like, shape (...)
            Joint angle. [deg]

        Returns
        -------
        arm_deg : ndarray, shape (...)
            Forward positive. [deg]
        """
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
@dataclass(frozen=True, slots=True, kw_only=True)
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
        """Return the variant with other mechanics.

        Parameters
        ----------
        changes : any
            Fields of `Mechanics`; they are not checked.

        Returns
        -------
        variant : Variant
        """
        return replace(self, mechanics=replace(self.model, **changes))
