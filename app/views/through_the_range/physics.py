"""What the range page asks of setups, the all-out rep and balance."""

import numpy as np
import pandas as pd

from analytics import mechanics
from analytics.catalogue import load_as_logged
from analytics.errors import InputError
from app.state import cached
from app.views.through_the_range.needs import Posture

LOAD_RATIOS = (0.8, 0.95, 1.05)

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
        try:
            return simulate()
        except InputError as error:
            return str(error)

    def simulate() -> tuple[pd.DataFrame, pd.DataFrame]:
        motions, rows = [], []
        for ratio in LOAD_RATIOS:
            rep = mechanics.dynamic_rep(
                posture.variant,
                load_ratio=ratio,
                range_deg=posture.range_deg,
                body=posture.body,
            )
            label = f"{ratio:.0%} of the limit load"
            thin = rep.motion.iloc[:: max(1, len(rep.motion) // 120)]
            motions.append(
                pd.concat([thin, rep.motion.tail(1)]).assign(
                    load=label, order=lambda rows: np.arange(len(rows))
                )
            )
            rows.append(
                {
                    "load": label,
                    "load_kg": load_as_logged(rep.load_kg, posture.variant.arms_share),
                    "completed": rep.completed,
                    "stalled_deg": rep.stalled_deg,
                    "sticking_from_deg": rep.peak1_deg,
                    "slowest_deg": rep.low_deg,
                    "sticking_to_deg": rep.peak2_deg,
                    "duration_s": rep.motion["time_s"].iloc[-1],
                }
            )
        return pd.concat(motions, ignore_index=True), pd.DataFrame(rows)

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

    def make() -> pd.DataFrame:
        parts = [
            mechanics.balance(load, **size).assign(load_kg=load)
            for load in np.arange(0.0, 151.0, 5.0)
        ]
        rows = pd.concat(parts, ignore_index=True)
        return rows[rows["stance"] != "supported"]

    return cached("leans", tuple(size.values()), make)


def balance_sentence(rows: pd.DataFrame, stance: str, load_kg: float) -> str:
    """Say how much lean a stance needs under the load."""
    row = rows[rows["stance"] == stance].iloc[0]
    need = f"{row['lean_deg']:.1f}° of lean" if row["lean_deg"] > 0 else "no lean"
    return (
        f"{load_kg:g} kg in a {stance} stance needs {need}; "
        f"without lean it holds {row['largest_load_kg']:.0f} kg"
    )
