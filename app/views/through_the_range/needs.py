"""What pages ask of the mechanics: one posture, its curves, muscles and findings."""

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial
from typing import Any

import numpy as np
import pandas as pd

from analytics import mechanics
from analytics.catalogue import (
    Body,
    Joint,
    Variant,
    load_as_logged,
    load_catalogue,
    load_per_arm,
    make_body,
    make_resistance,
)
from app.state import Choice, cached, soon, variant_titles

PULLS = {
    "gravity": "free weight",
    "cable": "cable from a pulley",
    "band": "elastic band",
    "constant": "machine, one lever throughout",
    "cam": "machine, lever by table",
}
# What the widgets offer before anything is chosen; invented, for no real machine.
_START = {
    "anchor_forward_m": 0.5,
    "anchor_height_m": 0.1,
    "slack_m": 0.6,
    "lever_m": 0.3,
}
_TABLES = {
    "band": {"stretch_frac": [0.0, 1.0, 2.0], "pull_frac": [0.0, 1.0, 2.0]},
    "cam": {"joint_deg": [0.0, 70.0, 140.0], "lever_m": [0.2, 0.3, 0.2]},
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Posture:
    """A variant as the sliders bend it, its load and whose body it is.

    Attributes
    ----------
    variant : Variant
        With the chosen trunk, shoulder path, forearm and resistance.
    load_kg : float
        As it is logged. [kg]
    range_deg : tuple of int
        First and last joint angle. [deg]
    body_mass_kg, stature_m : float
        Of the whole body. [kg], [m]
    sex : str or None
        Segment table; None is pooled.
    forearm_m : float or None
        Measured forearm; None is from stature. [m]
    """

    variant: Variant
    load_kg: float
    range_deg: tuple[int, int]
    body_mass_kg: float
    stature_m: float
    sex: str | None
    forearm_m: float | None

    @property
    def arm_load_kg(self) -> float:
        """Load per working arm, in kg."""
        return float(load_per_arm(self.load_kg, self.variant.arms_share))

    @property
    def joint(self) -> Joint:
        """The joint that is modelled."""
        return self.variant.model.joint

    @property
    def size(self) -> dict[str, float | str | None]:
        """Sizes as mechanics takes them."""
        return {
            "body_mass_kg": self.body_mass_kg,
            "stature_m": self.stature_m,
            "sex": self.sex,
            "forearm_m": self.forearm_m,
        }

    @property
    def body(self) -> Body:
        """Segments of the chosen body."""
        return make_body(**self.size)

    @property
    def unloaded(self) -> "Posture":
        """The posture without its load, which changes no limit."""
        return replace(self, load_kg=0.0)


def bent(
    variant: Variant, *, trunk_deg: float, shoulder_deg: float, rotation_deg: float
) -> Variant:
    """Return the variant with another trunk, its path moved, and another forearm."""
    path = tuple((at, shoulder + shoulder_deg) for at, shoulder in variant.model.path)
    trunk, turned = float(trunk_deg), float(rotation_deg)
    return variant.bent(trunk_deg=trunk, path=path, rotation_deg=turned)


def shoulder_room(variant: Variant) -> tuple[int, int]:
    """Return how far the upper arm may move from its path, in degrees."""
    shoulder = [angle for _, angle in variant.model.path]
    low, high = variant.model.joint.shoulder_deg
    return (
        max(-40, math.ceil(low - min(shoulder))),
        min(40, math.floor(high - max(shoulder))),
    )


def pull_value(variant: Variant, name: str) -> float:
    """Return where a slider of the resistance starts."""
    return float(getattr(variant.model.resistance, name, _START[name]))


def pull_table(variant: Variant, kind: str) -> pd.DataFrame:
    """Return the table a band or cam starts from."""
    given, start = variant.model.resistance, pd.DataFrame(_TABLES[kind])
    own = getattr(given, "table", None) if given.kind == kind else None
    return start if own is None else pd.DataFrame(own, columns=start.columns)


def pulled(
    variant: Variant, kind: str, numbers: dict[str, float], table: pd.DataFrame | None
) -> Variant:
    """Return the variant with another resistance.

    Parameters
    ----------
    variant : Variant
        One that is modelled.
    kind : str
        Key of ``PULLS``.
    numbers : dict
        Lengths the kind needs, in metres.
    table : DataFrame or None
        Two columns, as `pull_table` gives them; rows that are not full are left out.
    """
    rows = [] if table is None else table.dropna().sort_values(table.columns[0])
    pairs = tuple(map(tuple, np.asarray(rows, dtype=float).tolist()))
    fields = {"kind": kind, **numbers} | ({} if table is None else {"table": pairs})
    return variant.bent(resistance=make_resistance(**fields))


def modelled_titles(choice: Choice) -> dict[str, str]:
    """Return titles of the modelled variants of the chosen movement."""
    titles = variant_titles()
    return {
        name: titles[name]
        for name, variant in load_catalogue().variants.items()
        if variant.modelled and variant.movement == choice.movement
    }


def modelled_movements() -> str:
    """Return the movements that have mechanics, in words."""
    movements, joints = load_catalogue().movements.values(), load_catalogue().joints
    return " or ".join(x.title.lower() for x in movements if x.joint in joints)


def variant(name: str) -> Variant:
    """Return one variant of the catalogue."""
    return load_catalogue().variants[name]


def range_curve(posture: Posture) -> pd.DataFrame:
    """Return demand, capability and utilisation with their 90 % bands."""

    def make() -> pd.DataFrame:
        curve = mechanics.through_range(
            posture.variant,
            load_kg=posture.arm_load_kg,
            range_deg=posture.range_deg,
            **posture.size,
        )
        band = mechanics.range_band(
            posture.variant,
            load_kg=posture.arm_load_kg,
            range_deg=posture.range_deg,
            body=posture.body,
        )
        names = {
            f"{name}_{end}{unit}": band[f"{name}{unit}_{end}"].to_numpy()
            for name, unit in (("capability", "_nm"), ("utilisation", ""))
            for end in ("low", "high")
        }
        return curve.assign(**names)

    return cached("range_curve", posture, make)


def hardest(posture: Posture) -> pd.DataFrame:
    """Return where the posture is hardest, how much it allows and how evenly."""

    def make() -> pd.DataFrame:
        table = mechanics.hardest(
            [posture.variant], range_deg=posture.range_deg, body=posture.body
        )
        return table.assign(source="modelled")

    return cached("hardest", posture.unloaded, make)


def refusal(posture: Posture) -> str:
    """Say why a posture has no limit, or nothing."""
    row = hardest(posture).iloc[0]
    return str(row["sentence"]) if math.isnan(row["limit_load_kg"]) else ""


def limits(posture: Posture) -> list[str]:
    """Say limit load, hardest angle and evenness, each with its 90 % interval."""
    row = hardest(posture).iloc[0]
    names = ["limit_load_low_kg", "limit_load_kg", "limit_load_high_kg"]
    low, middle, high = load_as_logged(row[names], posture.variant.arms_share)
    sentences = [
        f"Limit load from {row['range_from_deg']:.0f}° to {row['range_to_deg']:.0f}°: "
        f"{middle:.0f} kg as logged (90 % interval {low:.0f} to "
        f"{high:.0f}) for an average adult; per working arm "
        f"{row['limit_load_ratio']:.2f} ({row['ratio_low']:.2f} to "
        f"{row['ratio_high']:.2f}) of the reference variant's.",
        str(row["sentence"]),
        f"Evenness {row['evenness']:.2f} ({row['evenness_low']:.2f} to "
        f"{row['evenness_high']:.2f}); 1 would be as hard at every angle.",
    ]
    return sentences + _starts(posture)


def _starts(posture: Posture) -> list[str]:
    """Say, on a pad, what other starts of the range would allow."""
    first, last = posture.range_deg
    starts = [start for start in (10, 20, 30, 40) if start < last - 10]
    if posture.variant.model.support != "pad" or not starts:
        return []

    def make() -> list[str]:
        arm_kg = [
            mechanics.hardest(
                [posture.variant],
                range_deg=(start, last),
                body=posture.body,
                n_draws=600,
            )["limit_load_kg"].iloc[0]
            for start in starts
        ]
        kg = [load_as_logged(one, posture.variant.arms_share) for one in arm_kg]
        loads = ", ".join(
            f"{load:.0f} kg from {start}°"
            for load, start in zip(kg, starts, strict=True)
        )
        return [
            "On a pad the start of the range decides nearly everything: the limit load "
            f"would be {loads}. Here it starts at {first}°; set where the lifter "
            "really starts."
        ]

    return cached("starts", posture.unloaded, make)


def sensitivity(posture: Posture) -> pd.DataFrame:
    """Return what each parameter does to the predictions, one row per parameter."""

    def make() -> pd.DataFrame:
        rows = mechanics.sensitivity(
            posture.variant, range_deg=posture.range_deg, body=posture.body
        )
        rows = rows.iloc[1:].assign(structure=rows["change"].isna())
        values = ["limit_load_ratio", "sticking_deg", "evenness"]
        each = rows.groupby(["parameter", "structure"], sort=False)
        ends = each[values].agg(["min", "max"])
        ends.columns = [
            name.replace("_deg", "") + {"min": "_low", "max": "_high"}[end] + unit
            for name, end in ends.columns
            for unit in ["_deg" if name.endswith("_deg") else ""]
        ]
        return ends.reset_index()

    return cached("sensitivity", posture.unloaded, make)


def all_hardest(choice: Choice) -> pd.DataFrame:
    """Return where every modelled variant is hardest over its own range."""
    return cached(*_all_hardest(choice))


def _all_hardest(choice: Choice) -> tuple[str, tuple[str, ...], Callable[[], Any]]:
    names = tuple(modelled_titles(choice))
    return "all_hardest", names, partial(mechanics.hardest, names)


def compare_soon(choice: Choice) -> None:
    """Compare every modelled variant beside the pages, before its page is opened."""
    if modelled_titles(choice):
        soon(*_all_hardest(choice))
        soon(*_fibre_spans(choice))


def at_angle(
    curve: pd.DataFrame, joint: Joint, joint_deg: int
) -> tuple[pd.DataFrame, str]:
    """Return the row of one angle and what it says in words."""
    row = curve[curve[joint.column].round() == joint_deg]
    if row.empty:
        return row, "the chosen range is left"
    use = row["utilisation"].iloc[0]
    if use > 1:
        return row, "the load is more than the muscles can give"
    return row, f"the load takes {use:.0%} of what the muscles can give"


def muscle_work(posture: Posture) -> pd.DataFrame:
    """Return each muscle's share and fibre length over the range."""
    angle = np.arange(posture.range_deg[0], posture.range_deg[1] + 1, 2.0)
    return mechanics.muscle_work(angle, variant=posture.variant)


def fibre_spans(choice: Choice) -> pd.DataFrame:
    """Return which part of its curve the main muscle works on in each variant."""
    return cached(*_fibre_spans(choice))


def _fibre_spans(choice: Choice) -> tuple[str, tuple[str, ...], Callable[[], Any]]:
    names = tuple(modelled_titles(choice))

    def make() -> pd.DataFrame:
        parts = []
        for name in names:
            model = variant(name).model
            angle = np.arange(model.range_from_deg, model.range_to_deg + 1)
            work = mechanics.muscle_work(angle, variant=name)
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

    return "fibre_spans", names, make


def strong_regions(posture: Posture) -> tuple[pd.DataFrame, pd.DataFrame, str]:
    """Return the main muscle's active factor by joint and shoulder, path and words."""
    joint = posture.joint

    def make() -> tuple[pd.DataFrame, str]:
        first, last = joint.grid_deg
        angle, shoulder = np.meshgrid(
            np.arange(first, last + 1, 5), np.arange(-45.0, 91, 7.5)
        )
        work = mechanics.muscle_work(
            angle, variant=posture.variant, shoulder_deg=shoulder
        )
        rows = work.loc[
            work["muscle"] == joint.main_muscle,
            [joint.column, "shoulder_deg", "fibre_length", "active", "zone"],
        ]
        best = rows.loc[rows.groupby("shoulder_deg")["active"].idxmax()]
        best = best.set_index("shoulder_deg")[joint.column]
        return rows, (
            f"The {joint.main_title} is at its best length near "
            f"{joint.flexed(best[-45])} with the arm 45° behind the trunk, "
            f"{best[0]:.0f}° with it hanging and {best[45]:.0f}° with it 45° in front"
        )

    key = joint.joint, posture.variant.model.rotation_deg
    rows, finding = cached("strong_regions", key, make)
    angle = np.arange(posture.range_deg[0], posture.range_deg[1] + 1, 5.0)
    shoulder = posture.variant.model.shoulder_deg(angle)
    path = pd.DataFrame({joint.column: angle, "shoulder_deg": shoulder})
    return rows, path, finding
