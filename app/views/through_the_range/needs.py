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
    load_catalogue,
    load_per_arm,
    make_body,
    make_resistance,
)
from analytics.errors import InputError
from app.state import Choice, cached, variant_titles

PULLS = {
    "gravity": "free weight",
    "cable": "cable from a pulley",
    "band": "elastic band",
    "constant": "machine, one moment arm throughout",
    "cam": "machine, moment arm by table",
}
# What the widgets offer before anything is chosen; invented, for no real machine.
_START = {
    "anchor_forward_m": 0.5,
    "anchor_height_m": 0.1,
    "slack_m": 0.6,
    "load_arm_m": 0.3,
}
_TABLES = {
    "band": {"stretch_frac": [0.0, 1.0, 2.0], "pull_frac": [0.0, 1.0, 2.0]},
    "cam": {"joint_deg": [0.0, 70.0, 140.0], "load_arm_m": [0.2, 0.3, 0.2]},
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
    """Return demand, capability and utilisation with their 90 % intervals."""
    make = partial(
        mechanics.through_range,
        posture.variant,
        load_kg=posture.arm_load_kg,
        range_deg=posture.range_deg,
        **posture.size,
    )
    return cached("range_curve", posture, make)


def spare(posture: Posture, curve: pd.DataFrame, title: str) -> str:
    """Say whether the muscles can give what the load asks at every angle."""
    short = (curve["capability_nm"] < curve["demand_nm"]).any()
    told = "is short of it somewhere" if short else "stays above it everywhere"
    load = f"{posture.arm_load_kg:.1f} kg on each limb"
    return f"{title} with {load}: what the muscles can give {told}"


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
    sentences = [
        *mechanics.limit_sentences(row, posture.variant.arms_share),
        str(row["sentence"]),
        f"Evenness {row['evenness']:.2f} ({row['evenness_low']:.2f} to "
        f"{row['evenness_high']:.2f}); 1 would be as hard at every angle.",
    ]
    lowered = mechanics.speed_sentence(posture.joint)
    return sentences + _starts(posture) + [lowered] * bool(lowered)


def _starts(posture: Posture) -> list[str]:
    """Say, on a pad, what other starts of the range would allow."""
    where = {"range_deg": posture.range_deg, "body": posture.body}
    make = partial(mechanics.pad_starts, posture.variant, **where)
    starts = cached("starts", posture.unloaded, make)
    loads = ", ".join(
        f"{kg:.0f} kg from {start}°" for start, kg in starts.itertuples(index=False)
    )
    return [
        "On a pad the start of the range decides nearly everything: the limit load "
        f"would be {loads}. Here it starts at {posture.range_deg[0]}°; set where the "
        "lifter really starts."
    ] * bool(loads)


def sensitivity(posture: Posture) -> pd.DataFrame:
    """Return what each parameter does to the predictions, one row per parameter."""

    def make() -> pd.DataFrame:
        where = {"range_deg": posture.range_deg, "body": posture.body}
        return mechanics.sensitivity_ends(
            mechanics.sensitivity(posture.variant, **where)
        )

    return cached("sensitivity", posture.unloaded, make)


def all_hardest(choice: Choice) -> pd.DataFrame:
    """Return where every modelled variant is hardest over its own range."""
    return cached(*_all_hardest(choice))


def _all_hardest(choice: Choice) -> tuple[str, tuple[str, ...], Callable[[], Any]]:
    names = tuple(modelled_titles(choice))
    return "all_hardest", names, partial(mechanics.hardest, names)


def muscle_shares(posture: Posture) -> pd.DataFrame:
    """Return each muscle group's share of the moment over the range."""
    return mechanics.family_shares(posture.variant, range_deg=posture.range_deg)


def fibre_spans(choice: Choice) -> pd.DataFrame:
    """Return which part of its curve the main muscle works on in each variant."""
    return cached(*_fibre_spans(choice))


def _fibre_spans(choice: Choice) -> tuple[str, tuple[str, ...], Callable[[], Any]]:
    names = tuple(modelled_titles(choice))
    return "fibre_spans", names, partial(mechanics.fibre_spans, names)


def strong_regions(posture: Posture) -> tuple[pd.DataFrame, pd.DataFrame, str]:
    """Return the main muscle's active factor by joint and shoulder, path and words."""
    joint, model = posture.joint, posture.variant.model
    make = partial(mechanics.strong_regions, posture.variant)
    rows = cached("strong_regions", (joint.joint, model.rotation_deg), make)
    angle = np.arange(posture.range_deg[0], posture.range_deg[1] + 1, 5.0)
    path = {joint.column: angle, "shoulder_deg": model.shoulder_deg(angle)}
    return rows, pd.DataFrame(path), mechanics.strong_sentence(rows, joint=joint)


SETTINGS = {
    "anchor_height_m": "anchor height [m]",
    "anchor_forward_m": "anchor ahead of the hips [m]",
    "pad_deg": "angle of the pad [°]",
    "bench_deg": "angle of the bench [°]",
    "range_from_deg": "range from [°]",
    "range_to_deg": "range to [°]",
}


def settings(posture: Posture) -> tuple[pd.DataFrame | None, pd.DataFrame | None]:
    """Return every equipment setting tried and the search, None if nothing adjusts."""

    def make() -> tuple[pd.DataFrame | None, pd.DataFrame | None]:
        chosen = {"range_deg": posture.range_deg, "body": posture.body}
        try:
            sweep = mechanics.sweep_setups(posture.variant, **chosen)
        except InputError:
            return None, None
        found = mechanics.search_setups(posture.variant, body=posture.body)
        sweep = sweep.dropna(subset="evenness")
        return sweep.replace({"setting": SETTINGS}), found.replace(
            {"setting": SETTINGS}
        )

    return cached("settings", posture.unloaded, make)


def all_out_reps(posture: Posture) -> tuple[pd.DataFrame, pd.DataFrame] | str:
    """Return speed by angle at loads around the limit and a row a rep, or why not."""

    def make() -> tuple[pd.DataFrame, pd.DataFrame] | str:
        where = {"range_deg": posture.range_deg, "body": posture.body}
        try:
            return mechanics.all_out_reps(posture.variant, **where)
        except InputError as error:
            return str(error)

    return cached("all_out", posture.unloaded, make)


def balance(
    posture: Posture, stance: str
) -> tuple[pd.DataFrame, pd.DataFrame, pd.DataFrame]:
    """Return all stances under the load, and the picture of one."""
    size = posture.size
    size.pop("forearm_m")
    rows = mechanics.balance(posture.load_kg, **size)
    return rows, *mechanics.balance_figure(posture.load_kg, stance=stance, **size)


def leans(posture: Posture) -> pd.DataFrame:
    """Return the lean each standing stance needs by load."""
    size = posture.size
    size.pop("forearm_m")
    return cached("leans", tuple(size.values()), partial(mechanics.leans, size))


def lift_balance(posture: Posture) -> pd.DataFrame | str:
    """Return balance over the progress of the lift, or why it is not shown."""

    def make() -> pd.DataFrame | str:
        size = posture.size
        size.pop("forearm_m")
        where = {"range_deg": posture.range_deg, **size}
        try:
            return mechanics.lift_balance(posture.variant, posture.load_kg, **where)
        except InputError as error:
            return str(error)

    return cached("lift_balance", posture, make)


def balance_sentence(rows: pd.DataFrame, stance: str, load_kg: float) -> str:
    """Say how much lean a stance needs under the load."""
    row = rows[rows["stance"] == stance].iloc[0]
    need = f"{row['lean_deg']:.1f}° of lean" if row["lean_deg"] > 0 else "no lean"
    return (
        f"{load_kg:g} kg in a {stance} stance needs {need}; "
        f"without lean it holds {row['largest_load_kg']:.0f} kg"
    )
