"""Segment lengths and masses of one body, from stature, mass and sex."""

from __future__ import annotations

from dataclasses import dataclass

from analytics.catalogue.load import load_catalogue
from analytics.errors import InputError

# Which published table serves whom: sexes pooled when none is given.
SEGMENT_TABLES = {
    None: "segments_winter",
    "female": "segments_female",
    "male": "segments_male",
}
# Beyond these most likely centimetres, grams or pounds were meant: common practice.
BODY_LIMITS = {
    "body_mass_kg": (20.0, 400.0),
    "stature_m": (0.9, 2.6),
    "forearm_m": (0.1, 0.5),
}
# Whose body it is where nobody was measured (assumed).
BODY_MASS_KG, STATURE_M = 75.0, 1.75


@dataclass(frozen=True, slots=True, kw_only=True)
class Body:
    """Segments as mechanics needs them.

    Attributes
    ----------
    mass_kg, stature_m : float
        Of the whole body. [kg], [m]
    sex : str or None
        ``female``, ``male`` or None for the pooled table.
    length_m : dict of str to float
        Segment lengths; also ``shoulder_height`` and ``hip_height``. [m]
    segment_kg : dict of str to float
        Mass of one segment of each kind. [kg]
    com_frac : dict of str to float
        Centre of mass from the proximal end over segment length. [1]
    """

    mass_kg: float
    stature_m: float
    sex: str | None
    length_m: dict[str, float]
    segment_kg: dict[str, float]
    com_frac: dict[str, float]

    @property
    def grip_m(self) -> float:
        """Upper end of the forearm to the middle of the grip."""
        table = load_catalogue().tables["segments_winter"]
        hand = table.columns["segment"].index("hand")
        # The grip is taken at the hand's centre of mass of the pooled table.
        return self.length_m["forearm"] + float(
            self.length_m["hand"] * table.numbers("com")[hand]
        )

    @property
    def forearm_and_hand_kg_m(self) -> float:
        """First moment of forearm and hand about the forearm's upper end, in kg m."""
        forearm = self.length_m["forearm"]
        hand = forearm + self.length_m["hand"] * self.com_frac["hand"]
        return (
            self.segment_kg["forearm"] * forearm * self.com_frac["forearm"]
            + self.segment_kg["hand"] * hand
        )


def make_body(
    *,
    body_mass_kg: float = BODY_MASS_KG,
    stature_m: float = STATURE_M,
    sex: str | None = None,
    forearm_m: float | None = None,
) -> Body:
    """Scale the segment tables to one body.

    Parameters
    ----------
    body_mass_kg, stature_m : float
        Of the whole body. [kg], [m]
    sex : str or None
        ``female`` or ``male`` for the tables of that sex, None for the pooled one.
    forearm_m : float or None
        Measured forearm; from stature when None. [m]

    Returns
    -------
    body : Body
        Lengths, masses and centres of mass.

    Raises
    ------
    InputError
        If a size is none of a human body or there is no table for ``sex``.

    References
    ----------
    winter_2009; de_leva_1996; drillis_contini_1966.
    """
    sizes = {"body_mass_kg": body_mass_kg, "stature_m": stature_m}
    if forearm_m is not None:
        sizes["forearm_m"] = forearm_m
    for name, value in sizes.items():
        low, high = BODY_LIMITS[name]
        if not low <= value <= high:
            raise InputError(f"{name} must be from {low:g} to {high:g}, got {value:g}")
    if sex not in SEGMENT_TABLES:
        raise InputError(f"no segment table for sex {sex!r}; there are: female, male")
    tables = load_catalogue().tables
    lengths, segments = tables["segment_lengths"], tables[SEGMENT_TABLES[sex]]
    length_m = dict(
        zip(
            lengths.columns["segment"],
            map(float, lengths.numbers("length") * stature_m),
            strict=True,
        )
    )
    if forearm_m is not None:
        length_m["forearm"] = float(forearm_m)
    names = segments.columns["segment"]
    return Body(
        mass_kg=float(body_mass_kg),
        stature_m=float(stature_m),
        sex=sex,
        length_m=length_m,
        segment_kg=dict(
            zip(names, map(float, segments.numbers("mass") * body_mass_kg), strict=True)
        ),
        com_frac=dict(zip(names, map(float, segments.numbers("com")), strict=True)),
    )
