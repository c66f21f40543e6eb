"""What a multi-joint lift asks of its joints through the way up: demand only."""

from __future__ import annotations

import numpy as np
import pandas as pd

from analytics.catalogue import (
    BODY_MASS_KG,
    STATURE_M,
    Body,
    load_catalogue,
    make_body,
)
from analytics.mechanics.curves import Floats
from analytics.mechanics.demand import checked_load
from analytics.mechanics.lifts.posture import (
    ON_BACK,
    STANDING,
    Knots,
    Stood,
    knots,
    mid_foot_m,
    stand,
)
from analytics.units import STANDARD_GRAVITY_M_PER_S2

STEPS = 51
FRONT_LEG_FRAC = 0.75  # of a split stance; common practice says most, not how much


def lifts() -> tuple[str, ...]:
    """Return the lifts whose demand is known, by id.

    Returns
    -------
    variants : tuple of str
    """
    return tuple(
        dict.fromkeys(load_catalogue().tables["lift_postures"].columns["variant"])
    )


def lift_demand(
    variant: str,
    load_kg: float,
    *,
    body_mass_kg: float = BODY_MASS_KG,
    stature_m: float = STATURE_M,
    sex: str | None = None,
) -> pd.DataFrame:
    """Moment that each joint is asked for through a multi-joint lift.

    Parameters
    ----------
    variant : str
        One of `lifts`.
    load_kg : float
        All of the load: the bar, or both dumbbells. [kg]
    body_mass_kg, stature_m : float
        Of the whole body. [kg], [m]
    sex : str, optional
        ``female`` or ``male``.

    Returns
    -------
    demand : DataFrame
        A row for each joint and place of the way up: ``progress`` (0 bottom, 1 top),
        ``joint, joint_deg, per_kg_nm`` (of a kilogram of load), ``own_nm`` (of the
        body's weight), ``moment_nm`` of both sides together, extension positive; and
        ``centre_of_pressure_m`` ahead of the ankles, NaN where nobody stands.

    Raises
    ------
    InputError
        If there is no posture of the lift, or the load or body is impossible.

    Notes
    -----
    Static and planar, on the postures of the table; what the load does to the posture,
    speed, sideways forces and antagonists are left out. No limit load follows.
    """
    load, tabled = float(checked_load(load_kg)), knots(variant)
    body = make_body(body_mass_kg=body_mass_kg, stature_m=stature_m, sex=sex)
    progress = np.linspace(0.0, 1.0, STEPS)
    centre = np.full(STEPS, np.nan)
    if tabled.form in STANDING:
        first, second, _ = tabled.at(progress)
        stood = stand(tabled.form, first, second, body)
        joints = standing_moments(tabled.form, stood, body)
        centre = _pressure_m(stood, tabled.form, body, load)
    elif tabled.form in ON_BACK:
        joints = _thrust(tabled, progress, body)
    else:
        joints = _press(tabled, progress, body)
        if tabled.form == "overhead":
            centre = np.full(STEPS, mid_foot_m(body))
    parts = [
        pd.DataFrame(
            {
                "progress": progress,
                "joint": name,
                "joint_deg": angle,
                "per_kg_nm": per_kg,
                "own_nm": own,
                "moment_nm": own + load * per_kg,
                "centre_of_pressure_m": centre,
            }
        )
        for name, (angle, per_kg, own) in joints.items()
    ]
    return pd.concat(parts, ignore_index=True)


Moments = dict[str, tuple[Floats, Floats, Floats]]


def _above(stood: Stood, form: str, body: Body) -> dict[str, tuple[float, Floats]]:
    """Mass and place ahead of what each segment of both sides weighs."""
    kg, com = body.segment_kg, body.com_frac
    hip, shoulder, knee = stood.hip[0], stood.shoulder[0], stood.knee[0]
    arms = 2 * (kg["upper_arm"] + kg["forearm"] + kg["hand"])
    head = shoulder + 0.15 * (shoulder - hip) / 0.5
    # Measured from its upper end, as the tables do.
    trunk = shoulder + com["trunk"] * (hip - shoulder)
    return {
        "trunk": (kg["trunk"], trunk),
        "head": (kg["head_neck"], head),
        "arms": (arms, shoulder if form == "hands" else (shoulder + stood.bar[0]) / 2),
        "thighs": (2 * kg["thigh"], hip + com["thigh"] * (knee - hip)),
        "shanks": (2 * kg["shank"], knee * (1 - com["shank"])),
    }


def standing_moments(form: str, stood: Stood, body: Body) -> Moments:
    """Angle, moment of a kilogram and of the body for hip, knee and ankle.

    Parameters
    ----------
    form : str
        Where the bar is; ``split`` gives the front leg's.
    stood : Stood
        Posture.
    body : Body
        Segment sizes.

    Returns
    -------
    moments : dict of str to tuple of ndarray
        Both sides together. [deg], [N m/kg], [N m]
    """
    g, bar = STANDARD_GRAVITY_M_PER_S2, stood.bar[0]
    parts = _above(stood, form, body)
    places = {
        "hip": (stood.hip[0], 1, ("trunk", "head", "arms")),
        "knee": (stood.knee[0], -1, ("trunk", "head", "arms", "thighs")),
        "ankle": (0.0 * bar, 1, tuple(parts)),
    }
    angle = {
        "hip": stood.thigh_deg + stood.trunk_deg,
        "knee": stood.thigh_deg + stood.shank_deg,
        "ankle": stood.shank_deg,
    }
    share = FRONT_LEG_FRAC if form == "split" else 1.0
    return {
        joint: (
            angle[joint],
            share * g * sign * (bar - at),
            share * g * sign * sum(parts[p][0] * (parts[p][1] - at) for p in above),
        )
        for joint, (at, sign, above) in places.items()
    }


def _pressure_m(stood: Stood, form: str, body: Body, load_kg: float) -> Floats:
    """Centre of pressure ahead of the ankles."""
    if form == "split":
        return np.full(stood.bar.shape[1], np.nan)
    parts = [*_above(stood, form, body).values(), (load_kg, stood.bar[0])]
    parts.append((2 * body.segment_kg["foot"], np.full_like(stood.bar[0], 0.04)))
    total = sum(kg for kg, _ in parts)
    return np.asarray(sum(kg * at for kg, at in parts) / total)


def _thrust(tabled: Knots, progress: Floats, body: Body) -> Moments:
    """Hip and knee with the upper back on a bench or the floor, the bar on the hips.

    Bench and floor push up only, so the two forces follow from the weights.
    """
    _, thigh_deg, trunk_deg = tabled.at(progress)
    g, kg, com = STANDARD_GRAVITY_M_PER_S2, body.segment_kg, body.com_frac
    thigh, trunk = np.deg2rad(thigh_deg), np.deg2rad(trunk_deg)
    hip = body.length_m["trunk"] * np.cos(trunk)
    knee = hip + body.length_m["thigh"] * np.cos(thigh)
    foot = knee  # shanks upright
    upper = kg["trunk"] + kg["head_neck"]
    arms = 2 * (kg["upper_arm"] + kg["forearm"] + kg["hand"])
    weights = (
        (upper, com["trunk"] * hip),
        (arms, 0.0 * hip),
        (2 * kg["thigh"], hip + com["thigh"] * (knee - hip)),
        (2 * kg["shank"], knee),
    )
    bench_n = sum(m * g * (foot - at) for m, at in weights) / foot
    own = bench_n * hip - g * (upper * (hip - com["trunk"] * hip) + arms * hip)
    per_kg = g * (foot - hip) / foot * hip
    flexion = np.clip(thigh_deg - trunk_deg, 0, None)
    if tabled.form == "floor":
        flexion = np.clip(90 - thigh_deg - trunk_deg, 0, None)
    return {
        "hip": (flexion, per_kg, own),
        "knee": (90 + thigh_deg, 0.0 * per_kg, 0.0 * own),
    }


def _press(tabled: Knots, progress: Floats, body: Body) -> Moments:
    """Shoulder and elbow in the plane of the arm, the load pulling down."""
    first, _, third = tabled.at(progress)
    g, upper, fore = STANDARD_GRAVITY_M_PER_S2, body.length_m["upper_arm"], body.grip_m
    raised = np.deg2rad(first)
    hand, elbow = third * body.stature_m, upper * np.sin(raised)
    out = np.arcsin(np.clip((hand - elbow) / fore, -1, 1))
    kg, com = body.segment_kg, body.com_frac
    lower = 2 * (kg["forearm"] + kg["hand"])
    first_m = 2 * body.forearm_and_hand_kg_m / lower
    shoulder_own = 2 * kg["upper_arm"] * com["upper_arm"] * elbow
    shoulder_own = shoulder_own + lower * (elbow + first_m * np.sin(out))
    return {
        "shoulder": (first, g * (elbow + fore * np.sin(out)), g * shoulder_own),
        "elbow": (
            np.clip(first - np.rad2deg(out), 0, None),
            -g * fore * np.sin(out),
            -g * lower * first_m * np.sin(out),
        ),
    }


def most_asked(demand: pd.DataFrame) -> pd.DataFrame:
    """Say where each joint is asked most.

    Parameters
    ----------
    demand : DataFrame
        Of `lift_demand`.

    Returns
    -------
    most : DataFrame
        One row a joint: ``joint, progress, joint_deg, per_kg_nm, moment_nm,
        centre_of_pressure_m``.
    """
    at = demand.groupby("joint", sort=False)["moment_nm"].idxmax()
    columns = ["joint", "progress", "joint_deg", "per_kg_nm", "moment_nm"]
    return demand.loc[at, [*columns, "centre_of_pressure_m"]].reset_index(drop=True)


def asked_table(load_kg: float = 100.0) -> pd.DataFrame:
    """Say where every lift asks each joint most.

    Parameters
    ----------
    load_kg : float
        All of the load. [kg]

    Returns
    -------
    table : DataFrame
        ``variant`` and the columns of `most_asked`.
    """
    parts = [
        most_asked(lift_demand(name, load_kg)).assign(variant=name) for name in lifts()
    ]
    table = pd.concat(parts, ignore_index=True)
    return table[["variant", *table.columns.drop("variant")]]
