"""What a catalogue holds once it has been read and checked."""

from __future__ import annotations

from dataclasses import replace
from typing import Annotated, Any, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from analytics.catalogue.fields import (
    Around,
    Kind,
    Length,
    Number,
    Path,
    Range,
    RightAngle,
    Share,
    Text,
    Tilt,
    entry,
    from_to,
)
from analytics.catalogue.resistance import Cam, Constant, Resistance
from analytics.errors import InputError


@entry
class Joint:
    """A joint that has muscle sets.

    Attributes
    ----------
    joint, title, zero : str
        Identifier, name on screens, what an angle of 0, or of ``straight_deg``, is.
    range_deg, grid_deg, curve_deg : tuple of float
        What it can take; where strength is worked out, a degree apart; where muscle
        tables are at their best. [deg]
    shoulder_deg, rotation_deg : tuple of float
        What the neighbouring angles of a posture may be: that of ``neighbour``,
        whatever joint it is, and the forearm's. [deg]
    muscle_sets : tuple of str
        Published models of its muscles.
    muscles, named_muscles, main_muscle, main_title : str or tuple of str
        What moves the joint in words, those that charts name, and the one whose length
        they show with its title.
    titles : tuple of (str, str)
        Muscles and muscle sets in words.
    kind, source, note : str
        Evidence, key in ``sources.toml``, and what to know.
    anatomy : str or None
        Folder of the mechanics that answers for it; that of its own name when None.
    neighbour : str
        Joint that its two-joint muscles cross as well.
    straight_deg : float or None
        Angle at which flexion is 0, where a lift extends and the angle is that between
        the two segments; None where the angle is flexion. [deg]
    contradicted_deg, contradicted : tuple of float, str or None
        Angles where measured people contradict what is predicted, and how. [deg]
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
    anatomy: Text | None = None
    neighbour: Text = "shoulder"
    straight_deg: Number | None = None
    contradicted_deg: Range | None = None
    contradicted: Text | None = None

    @property
    def column(self) -> str:
        """Name of its angle in tables."""
        return f"{self.joint}_deg"

    @property
    def axis(self) -> str:
        """Its angle in words."""
        return f"{self.title} angle, {self.straight_deg or 0:g} = {self.zero}"

    def flexion_deg(self, joint_deg: ArrayLike) -> NDArray[np.float64]:
        """Flexion at an angle; of the ankle, dorsiflexion."""
        angle = np.asarray(joint_deg, dtype=float)
        return angle if self.straight_deg is None else self.straight_deg - angle

    def flexed(self, joint_deg: float) -> str:
        """Say an angle."""
        if self.straight_deg is not None:
            article = "an" if self.title[0] in "AE" else "a"
            return f"{article} {self.title.lower()} angle of {joint_deg:.0f}°"
        return f"{joint_deg:.0f}° of {self.title.lower()} flexion"

    def grid(self) -> NDArray[np.float64]:
        """Angles at which strength is worked out, a degree apart."""
        return np.arange(self.grid_deg[0], self.grid_deg[1] + 1)


@entry
class Link:
    """One link of a chain: what is rigid between two joints.

    Attributes
    ----------
    joint : str
        At its near end.
    segments : tuple of str
        Parts of the body tables, outward.
    sign : int
        1 where a larger angle turns the link forward, -1 where backward.
    range_deg : tuple of float
        What the joint can take. [deg]
    turn_deg : float
        Turn of the link at an angle of 0, forward positive. [deg]
    reach_frac : float
        Where the last link's load acts, over the length of its first segment; a hand's
        is its grip. [1]
    """

    joint: Text
    segments: tuple[Text, ...]
    sign: Literal[1, -1] = 1
    range_deg: Range
    turn_deg: Number = 0.0
    reach_frac: Share = 1.0


@entry
class Chain:
    """Links that move, from the trunk outward to the grip.

    Attributes
    ----------
    chain, title, lead : str
        Identifier, name on screens, joint whose angle a path is a function of.
    links : tuple of Link
        From the trunk outward.
    pushes : bool
        Whether the load comes as a push upwards, as of the ground.
    kind, source, note : str
        Evidence, key in ``sources.toml``, and what to know.
    """

    chain: Text
    title: Text
    lead: Text
    links: tuple[Link, ...]
    pushes: bool = False
    kind: Kind
    source: Text
    note: Text


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
        The joint that is modelled: its chain's lead.
    chain : Chain
        What it moves.
    trunk_deg : float
        Trunk from vertical, forward lean positive. [deg]
    hip_m : float or None
        Hips above the floor; those of a standing body when None. [m]
    path : tuple of (float, float)
        Knots of joint angle and shoulder angle, straight lines between. [deg]
    rotation_deg : float
        Forearm, +90 supinated, 0 neutral, -90 pronated. [deg]
    support : str
        What supports upper arm or trunk.
    holds : tuple of str
        Joints that the support holds, whatever moment they need.
    drift_deg, lean_deg : tuple of float
        How far a lifter may move the upper arm off the path, forward positive, and
        lean the trunk without cheating. [deg]
    hangs_on_grip : bool
        Whether the load hangs from the fingers and not on the palm.
    resistance : Gravity, Cable, Band, Constant or Cam
        Where the external load pulls, and how its pull changes.
    range_from_deg, range_to_deg : float
        First and last joint angle when a log does not say. [deg]
    pad_deg, bench_deg : float or None
        Pad from the hanging upper arm; bench back from horizontal; None where there
        is none. [deg]
    """

    joint: Joint
    chain: Chain
    trunk_deg: RightAngle
    path: Path
    rotation_deg: RightAngle
    support: Literal["none", "pad", "bench", "thigh"]
    resistance: Resistance
    range_from_deg: Number
    range_to_deg: Number
    hip_m: Length | None = None
    holds: tuple[Text, ...] = ()
    drift_deg: Around = (0.0, 0.0)
    lean_deg: Around = (0.0, 0.0)
    hangs_on_grip: bool = False
    pad_deg: Tilt | None = None
    bench_deg: Tilt | None = None

    @property
    def range_deg(self) -> Range:
        """First and last joint angle when a log does not say."""
        return self.range_from_deg, self.range_to_deg

    @property
    def free(self) -> tuple[str, ...]:
        """What muscles have to balance: the lead joint, others that move, the grip.

        A machine whose moment is tabled holds all but the lead.
        """
        if isinstance(self.resistance, Constant | Cam):
            return (self.chain.lead,)
        held = (*self.holds, self.chain.lead)
        others = [x.joint for x in self.chain.links if x.joint not in held]
        return self.chain.lead, *others, *(["grip"] if self.hangs_on_grip else [])

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
        others = [x.joint for x in self.chain.links if x.joint != self.chain.lead]
        if unknown := set(self.holds) - set(others):
            return f"holds {unknown.pop()!r}: accepted are {', '.join(others)}"
        if self.joint.anatomy is not None and len(self.free) > 1:
            return (
                f"holds must name {' and '.join(others)}: here only "
                f"{self.joint.joint!r} has a strength"
            )
        if self.holds and self.drift_deg != (0.0, 0.0):
            return "drift_deg: an upper arm that is held cannot drift"
        low, high = self.joint.shoulder_deg
        if any(not low <= shoulder <= high for _, shoulder in self.path):
            near = self.joint.neighbour
            return f"{near} angles of the path must be from {low:g} to {high:g}"
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
    arms_share: Annotated[float, from_to(1, 2)]
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
