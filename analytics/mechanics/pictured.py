"""Tables that figures draw: starts on a pad, repetitions, lean."""

from typing import Any

import numpy as np
import pandas as pd

from analytics.catalogue import Body, Variant, load_as_logged
from analytics.mechanics.balance import balance
from analytics.mechanics.joints import find_variant
from analytics.mechanics.predictions import hardest
from analytics.mechanics.rep import dynamic_rep

LOAD_RATIOS = (0.8, 0.95, 1.05)
MOST_POINTS = 120  # of one repetition: no screen shows more
PAD_STARTS_DEG = (10, 20, 30, 40)


def pad_starts(
    variant: str | Variant, *, range_deg: tuple[float, float], body: Body
) -> pd.DataFrame:
    """Limit load from other starts of the range; none where no pad holds the arm.

    Parameters
    ----------
    variant : str or Variant
        One that is modelled.
    range_deg : tuple of float
        First and last joint angle. [deg]
    body : Body
        Whose.

    Returns
    -------
    starts : DataFrame
        ``start_deg, limit_load_kg``, the load as logged.
    """
    chosen = find_variant(variant)
    starts = [start for start in PAD_STARTS_DEG if start < range_deg[1] - 10]
    if chosen.model.support != "pad":
        starts = []
    kg = [
        hardest([chosen], range_deg=(start, range_deg[1]), body=body)
        .loc[0, "limit_load_kg"]
        for start in starts
    ]  # fmt: skip
    logged = load_as_logged(np.array(kg, dtype=float), chosen.arms_share)
    return pd.DataFrame({"start_deg": starts, "limit_load_kg": logged})


def all_out_reps(
    variant: str | Variant, *, range_deg: tuple[float, float], body: Body
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Repetitions with all force at loads around the limit load.

    Parameters
    ----------
    variant : str or Variant
        One that is modelled.
    range_deg : tuple of float
        First and last joint angle. [deg]
    body : Body
        Whose.

    Returns
    -------
    motion : DataFrame
        ``load, order`` and the motion of each, thinned.
    reps : DataFrame
        ``load, load_kg, completed, stalled_deg, sticking_from_deg, slowest_deg,
        sticking_to_deg, duration_s``; loads as logged.

    Raises
    ------
    InputError
        If the variant or range cannot be used.
    """
    chosen = find_variant(variant)
    motions, rows = [], []
    for ratio in LOAD_RATIOS:
        rep = dynamic_rep(chosen, load_ratio=ratio, range_deg=range_deg, body=body)
        label = f"{ratio:.0%} of the limit load"
        thin = rep.motion.iloc[:: max(1, len(rep.motion) // MOST_POINTS)]
        motion = pd.concat([thin, rep.motion.tail(1)])
        motions.append(motion.assign(load=label, order=np.arange(len(motion))))
        rows.append(
            {
                "load": label,
                "load_kg": load_as_logged(rep.load_kg, chosen.arms_share),
                "completed": rep.completed,
                "stalled_deg": rep.stalled_deg,
                "sticking_from_deg": rep.peak1_deg,
                "slowest_deg": rep.low_deg,
                "sticking_to_deg": rep.peak2_deg,
                "duration_s": rep.motion["time_s"].iloc[-1],
            }
        )
    return pd.concat(motions, ignore_index=True), pd.DataFrame(rows)


def leans(size: dict[str, Any], *, most_kg: float = 150.0) -> pd.DataFrame:
    """Backward lean that each free stance needs, by load.

    Parameters
    ----------
    size : dict
        ``body_mass_kg, stature_m, sex`` as :func:`balance` takes them.
    most_kg : float
        Heaviest load. [kg]

    Returns
    -------
    leans : DataFrame
        Rows of :func:`balance` with ``load_kg``.
    """
    parts = [
        balance(load, **size).assign(load_kg=load)
        for load in np.arange(0.0, most_kg + 1, 5.0)
    ]
    rows = pd.concat(parts, ignore_index=True)
    return rows[rows["stance"] != "supported"]
