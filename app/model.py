"""What pages ask of the mechanics: one posture, its curves and its figures."""

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from analytics import mechanics
from analytics.catalogue import Variant, load_catalogue
from analytics.errors import InputError
from app.state import Choice, kept, variant_titles


@dataclass(frozen=True, slots=True, kw_only=True)
class Posture:
    """A variant as the sliders bend it, its load and whose body it is.

    Attributes
    ----------
    variant : Variant
        With the chosen trunk and shoulder path.
    load_kg : float
        As it is logged. [kg]
    range_deg : tuple of int
        First and last elbow angle. [deg]
    elbow_deg : int
        Angle of the drawn figure. [deg]
    body_mass_kg, stature_m : float
        Of the whole body. [kg], [m]
    sex : str or None
        Segment table; None is pooled.
    """

    variant: Variant
    load_kg: float
    range_deg: tuple[int, int]
    elbow_deg: int
    body_mass_kg: float
    stature_m: float
    sex: str | None

    @property
    def arm_load_kg(self) -> float:
        """Load per working arm, in kg."""
        return self.load_kg / self.variant.arms_share

    @property
    def body(self) -> mechanics.Body:
        """Segments of the chosen body."""
        return mechanics.make_body(
            body_mass_kg=self.body_mass_kg, stature_m=self.stature_m, sex=self.sex
        )


def bent(variant: Variant, *, trunk_deg: float, shoulder_deg: float) -> Variant:
    """Return the variant with another trunk and its shoulder path moved.

    Parameters
    ----------
    variant : Variant
        From the catalogue.
    trunk_deg : float
        Trunk from vertical. [deg]
    shoulder_deg : float
        Added to every knot of the path. [deg]
    """
    path = tuple((elbow, shoulder + shoulder_deg) for elbow, shoulder in variant.path)
    return replace(variant, trunk_deg=float(trunk_deg), path=path)


def modelled_titles(choice: Choice) -> dict[str, str]:
    """Return titles of the modelled variants of the chosen movement."""
    titles = variant_titles()
    return {
        name: titles[name]
        for name, variant in load_catalogue().variants.items()
        if variant.modelled and variant.movement == choice.movement
    }


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
            body_mass_kg=posture.body_mass_kg,
            stature_m=posture.stature_m,
            sex=posture.sex,
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

    return kept("range_curve", replace(posture, elbow_deg=0), make)


def hardest(posture: Posture) -> pd.DataFrame:
    """Return where the posture is hardest, how much it allows and how evenly."""

    def make() -> pd.DataFrame:
        table = mechanics.hardest(
            [posture.variant], range_deg=posture.range_deg, body=posture.body
        )
        return table.assign(source="modelled")

    return kept("hardest", replace(posture, load_kg=0.0, elbow_deg=0), make)


def all_hardest(choice: Choice) -> pd.DataFrame:
    """Return where every modelled variant is hardest over its own range."""
    names = tuple(modelled_titles(choice))
    return kept("all_hardest", names, lambda: mechanics.hardest(list(names)))


def at_angle(curve: pd.DataFrame, elbow_deg: int) -> tuple[pd.DataFrame, str]:
    """Return the row of one angle and what it says in words."""
    row = curve[curve["elbow_deg"].round() == elbow_deg]
    if row.empty:
        return row, "the chosen range is left"
    use = row["utilisation"].iloc[0]
    if use > 1:
        return row, "the load is more than the muscles can give"
    return row, f"the load takes {use:.0%} of what the muscles can give"


def muscle_work(posture: Posture) -> pd.DataFrame:
    """Return each muscle's share and fibre length over the range."""
    elbow = np.arange(posture.range_deg[0], posture.range_deg[1] + 1, 2.0)
    chosen = posture.variant
    return mechanics.muscle_work(
        elbow,
        shoulder_deg=chosen.shoulder_deg(elbow),
        rotation_deg=chosen.rotation_deg,
    )


def fibre_spans(choice: Choice) -> pd.DataFrame:
    """Return the fibre lengths of the biceps' long head in every variant's range."""

    def make() -> pd.DataFrame:
        parts = []
        for name in modelled_titles(choice):
            chosen = variant(name)
            elbow = np.arange(chosen.range_from_deg, chosen.range_to_deg + 1, 2.0)
            work = mechanics.muscle_work(
                elbow,
                shoulder_deg=chosen.shoulder_deg(elbow),
                rotation_deg=chosen.rotation_deg,
            )
            parts.append(work.assign(variant=name))
        rows = pd.concat(parts, ignore_index=True)
        long_head = rows["muscle"].str.contains("long")
        return rows.loc[long_head, ["variant", "elbow_deg", "fibre_length", "zone"]]

    return kept("fibre_spans", choice.movement, make)


def settings(posture: Posture) -> tuple[pd.DataFrame | None, pd.DataFrame | None]:
    """Return every equipment setting tried and the search, None if nothing adjusts."""

    def make() -> tuple[pd.DataFrame | None, pd.DataFrame | None]:
        name = posture.variant.variant
        try:
            sweep = mechanics.sweep_setups(name, body=posture.body)
        except InputError:
            return None, None
        found = mechanics.search_setups(name, body=posture.body)
        return sweep.dropna(subset="evenness"), found

    key = (posture.variant.variant, posture.body_mass_kg, posture.stature_m)
    return kept("settings", (*key, posture.sex), make)


def all_out_reps(posture: Posture) -> pd.DataFrame:
    """Return elbow speed by angle at loads around the limit."""

    def make() -> pd.DataFrame:
        parts = [
            mechanics.dynamic_rep(
                posture.variant,
                load_ratio=ratio,
                range_deg=posture.range_deg,
                body=posture.body,
            ).motion.assign(load=f"{ratio:.0%} of the limit load")
            for ratio in (0.8, 0.95, 1.1)
        ]
        rows = pd.concat(parts, ignore_index=True)
        return rows.assign(order=rows.groupby("load").cumcount())

    return kept("all_out", replace(posture, load_kg=0.0, elbow_deg=0), make)


def balance(
    posture: Posture, stance: str
) -> tuple[pd.DataFrame, pd.DataFrame, pd.DataFrame]:
    """Return all stances under the load, and the picture of one."""
    size = {"body_mass_kg": posture.body_mass_kg, "stature_m": posture.stature_m}
    rows = mechanics.balance(posture.load_kg, **size)
    return rows, *mechanics.balance_figure(posture.load_kg, stance=stance, **size)


def balance_sentence(rows: pd.DataFrame, stance: str, load_kg: float) -> str:
    """Say how much lean a stance needs under the load."""
    row = rows[rows["stance"] == stance].iloc[0]
    return (
        f"{load_kg:g} kg in a {stance} stance needs {row['lean_deg']:.1f}° of lean; "
        f"without lean it holds {row['largest_load_kg']:.0f} kg"
    )
