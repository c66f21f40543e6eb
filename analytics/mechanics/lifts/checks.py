"""Predictions of every family beside measured people, the failures among them.

The planar squat must fail here: as long as it does, no multi-joint lift has a limit
load.
"""

from __future__ import annotations

import numpy as np
import pandas as pd

from analytics.catalogue import Body, Joint, load_catalogue, make_body
from analytics.intervals import QUANTILES
from analytics.mechanics.curves import CURVES, Floats
from analytics.mechanics.draws import SEED, make_draws
from analytics.mechanics.lifts.demand import standing_moments
from analytics.mechanics.lifts.posture import knots, stand
from analytics.mechanics.predictions import log_ratio_draws
from analytics.mechanics.torque_angle.drawn import DrawnTorque
from analytics.mechanics.torque_angle.muscles import total_nm
from analytics.mechanics.torque_angle.strength import published

DRAWS = 600
POOR_MISFIT = 2.0  # standard deviations
WIDE = 1.6  # high over low, beyond which hardly anything could have failed
FINE = 401  # steps of a squat that turns between those of its posture
SQUAT_DEPTHS_DEG = (100.0, 110.0, 120.0, 150.0)  # the last one below every posture
# What opposes each joint in the table of measured torques, and its tested angles.
_STRENGTH = {
    "hip": ("hip_extension", (-29.0, 74.0)),
    "knee": ("knee_extension", (0.0, 103.0)),
    "ankle": ("ankle_plantar_flexion", (-34.0, 29.0)),
}


def predicted_squat_kg(
    variant: str,
    *,
    body: Body | None = None,
    deepest_knee_deg: float = 180.0,
    run_on: bool = False,
) -> tuple[float, str]:
    """Load that published torques would allow in a squat, and the joint that limits.

    Parameters
    ----------
    variant : str
        A lift that stands, with a tabled posture.
    body : Body or None
        The default body when None.
    deepest_knee_deg : float
        Knee flexion where the squat turns, where it comes before the tabled one. [deg]
    run_on : bool
        Carry the regression on beyond the tested angles, instead of holding the
        strength of the last one.

    Returns
    -------
    load_kg, joint : float, str
        Wrong, and kept to show it: see `family_table`. Below 0 where not even the body
        would rise. [kg]

    Notes
    -----
    Two legs of young men's torques, each joint by its own angle alone.
    """
    size, tabled = body or make_body(), knots(variant)
    first, second, _ = tabled.at(np.linspace(0.0, 1.0, FINE))
    stood = stand(tabled.form, first, second, size)
    moments = standing_moments(tabled.form, stood, size)
    passed = moments["knee"][0] <= deepest_knee_deg
    limits = {}
    for joint, (angle, per_kg, own) in moments.items():
        action, tested = _STRENGTH[joint]
        row = published(action, "men")
        at = angle if run_on else np.clip(angle, *tested)
        spare = 2 * row.level_nm * row.relative(at) - own
        asked = (per_kg > 0) & passed
        limits[joint] = np.min(spare[asked] / per_kg[asked], initial=np.inf)
    joint = min(limits, key=lambda name: limits[name])
    return float(limits[joint]), joint


def squat_table() -> pd.DataFrame:
    """Show how the planar squat fails, by depth and by what is beyond tested angles.

    Returns
    -------
    table : DataFrame
        ``beyond_tested`` (``held``, ``run on``), ``deepest_knee_deg``,
        ``half_over_deep``, ``front_over_back``; no number where one of both could not
        raise the body alone. [deg], [1]
    """
    names = ("half_squat", "deep_squat", "front_squat", "back_squat")
    rows = []
    for beyond in ("held", "run on"):
        for deepest in SQUAT_DEPTHS_DEG:
            half, deep, front, back = (
                predicted_squat_kg(
                    name, deepest_knee_deg=deepest, run_on=beyond == "run on"
                )[0]
                for name in names
            )
            rows.append(
                {
                    "beyond_tested": beyond,
                    "deepest_knee_deg": deepest,
                    "half_over_deep": half / deep if min(half, deep) > 0 else np.nan,
                    "front_over_back": front / back if min(front, back) > 0 else np.nan,
                }
            )
    return pd.DataFrame(rows)


def family_table() -> pd.DataFrame:
    """Set predicted ratios of every family beside measured ones.

    Returns
    -------
    table : DataFrame
        One row a comparison: ``family, comparison, measured, n, predicted, low, high``
        (90 %), ``misfit`` (log measured less predicted over the root of both
        variances), ``verdict`` (``fits``, ``fails``, ``too wide to fail``, ``only a
        direction measured``), ``source``. [1], [SD]
    """
    table, rows = load_catalogue().tables["family_checks"], []
    for i, how in enumerate(table.columns["how"]):
        cells = {
            name: table.numbers(name)[i]
            if table.units[name]
            else table.columns[name][i]
            for name in table.columns
        }
        logs = _PREDICTED[how](cells)
        low, middle, high = np.exp(np.quantile(logs, QUANTILES))
        error = float(np.hypot(cells["se"], np.std(logs)))
        misfit = float((np.log(cells["measured"]) - np.mean(logs)) / error)
        rows.append(
            {
                "family": cells["family"],
                "comparison": cells["comparison"],
                "measured": cells["measured"],
                "n": int(cells["n"]),
                "predicted": middle,
                "low": low,
                "high": high,
                "misfit": misfit,
                "verdict": _verdict(misfit, high / low),
                "source": cells["origin"],
            }
        )
    return pd.DataFrame(rows)


def _verdict(misfit: float, width: float) -> str:
    if np.isnan(misfit):
        return "only a direction measured"
    if abs(misfit) > POOR_MISFIT:
        return "fails"
    return "too wide to fail" if width > WIDE else "fits"


def _joint(cells: dict[str, object]) -> Joint:
    return load_catalogue().joints[str(cells["joint"])]


def _torque(cells: dict[str, object]) -> Floats:
    """Log ratios of drawn strength at two postures."""
    joint, near = _joint(cells), load_catalogue()
    draws = make_draws(DRAWS, joint=joint, seed=SEED)
    limb = DrawnTorque(joint, draws, body=make_body())
    mine = near.variants[near.modelled_in(joint.joint)[0]]
    logs = []
    for end in ("first", "second"):
        beside = float(str(cells[f"{end}_neighbour"]))
        path = tuple((angle, beside) for angle in joint.grid_deg)
        moment = limb.capability_nm(mine.bent(path=path))
        flexion = joint.flexion_deg(joint.grid())
        at = int(np.argmin(np.abs(flexion - float(str(cells[f"{end}_flexion"])))))
        logs.append(np.log(moment[:, at].astype(float)))
    return np.asarray(logs[0] - logs[1])


def _muscles(cells: dict[str, object]) -> Floats:
    """Log ratios of the muscle model, one a curve."""
    joint = _joint(cells)
    moments = [
        [
            total_nm(
                joint,
                float(str(cells[f"{end}_flexion"])),
                float(str(cells[f"{end}_neighbour"])),
                curve=curve,
            )
            for curve in CURVES
        ]
        for end in ("first", "second")
    ]
    return np.asarray(np.log(moments[0]) - np.log(moments[1]))


def _variant(cells: dict[str, object]) -> Floats:
    """Log ratios of drawn limit loads."""
    first, second = str(cells["first"]), str(cells["second"])
    return log_ratio_draws([first], reference=second, n_draws=DRAWS)[:, 0]


def _squat(cells: dict[str, object]) -> Floats:
    """Log ratio of two squats by published torques, with no spread of its own."""
    over, under = (
        predicted_squat_kg(str(cells[end]))[0] for end in ("first", "second")
    )
    return np.array([np.log(over / under)])


_PREDICTED = {
    "torque": _torque,
    "muscles": _muscles,
    "variant": _variant,
    "squat": _squat,
}
