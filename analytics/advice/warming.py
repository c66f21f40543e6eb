"""Steps before the first working set."""

import numpy as np
import pandas as pd

from analytics.advice.rules import warm_up_steps
from analytics.units import KG_PER_UNIT


def warm_up(load_kg: float, *, step_kg: float = 2.5) -> pd.DataFrame:
    """Return the steps before the first working set.

    Parameters
    ----------
    load_kg : float
        Working load. [kg]
    step_kg : float
        Smallest change of load the equipment allows. [kg]

    Returns
    -------
    steps : DataFrame
        ``load_kg, reps``, rounded down; a step that rounds to nothing is left
        out. No rows if there is no working load.
    """
    rows = [
        {"load_kg": np.floor(frac * load_kg / step_kg + 1e-9) * step_kg, "reps": reps}
        for frac, reps in warm_up_steps()
    ]
    steps = pd.DataFrame(rows, columns=["load_kg", "reps"])
    steps = steps[steps["load_kg"] > 0].drop_duplicates("load_kg")  # each a step up
    return steps.reset_index(drop=True)


def warm_up_sentence(load_kg: float, *, step_kg: float = 2.5, unit: str = "kg") -> str:
    """Say the steps before the first working set, and that set, in one unit.

    Parameters
    ----------
    load_kg : float
        Working load. [kg]
    step_kg : float
        Smallest change of load the equipment allows. [kg]
    unit : str
        ``kg`` or ``lb``.

    Returns
    -------
    sentence : str
        Empty if there is no working load.
    """
    if not load_kg > 0:
        return ""
    steps = warm_up(load_kg, step_kg=step_kg)
    said = [
        f"{kg / KG_PER_UNIT[unit]:.4g} {unit} for {reps:.0f}"
        for kg, reps in zip(steps["load_kg"], steps["reps"], strict=True)
    ]
    return (
        ", ".join(
            ["warm up: " + said[0], *said[1:]] if said else ["no warm-up step fits"]
        )
        + f"; then {load_kg / KG_PER_UNIT[unit]:.4g} {unit}"
    )
