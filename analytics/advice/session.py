"""The loads of a whole session, and the cautions all of them share."""

from collections.abc import Iterable, Mapping

import numpy as np
import pandas as pd

from analytics.advice.loads import COLUMNS, next_load, usual_step_kg
from analytics.errors import InputError
from analytics.strength import StrengthFit
from analytics.units import KG_PER_LB

REPS, RIR = 8, 2  # where nobody says otherwise; common practice
LB_STEP = 5.0  # a pair of plates of 2.5 lb, a step of dumbbells; common practice


def session(
    exercises: Iterable[tuple[StrengthFit, str]],
    lifter: str,
    *,
    sets: pd.DataFrame,
    reps: int,
    rir: float = 2,
    steps_kg: Mapping[str, float] | None = None,
) -> pd.DataFrame:
    """Return the loads for a lifter's next session.

    Parameters
    ----------
    exercises : iterable of (StrengthFit, str)
        Each a fit of the exercise's movement, and its setup or variant.
    lifter : str
        Code.
    sets : DataFrame
        Stored sets; those of other movements are searched for pain only.
    reps : int
        Reps to do. [1]
    rir : float
        Reps to leave in reserve. [1]
    steps_kg : mapping of str to float, optional
        Smallest change of load by exercise; that of its implement if not given. [kg]

    Returns
    -------
    loads : DataFrame
        Of :func:`next_load`, a row per exercise. Where one exercise can have no load,
        ``caution`` says why and the others keep theirs.

    Raises
    ------
    InputError
        If no exercise can be told a load, with the reason of the first.
    """
    parts: list[pd.DataFrame] = []
    refused: list[InputError] = []
    for fit, name in exercises:
        try:
            parts.append(
                next_load(
                    fit,
                    lifter,
                    name,
                    sets=sets,
                    reps=reps,
                    rir=rir,
                    step_kg=(steps_kg or {}).get(name),
                )
            )
        except InputError as error:
            row = [name, reps, rir, np.nan, np.nan, np.nan, "", str(error)]
            parts.append(pd.DataFrame([row], columns=COLUMNS))
            refused.append(error)
    if refused and len(refused) == len(parts):
        raise refused[0]
    return (
        pd.concat(parts, ignore_index=True) if parts else pd.DataFrame(columns=COLUMNS)
    )


def split_cautions(loads: pd.DataFrame) -> tuple[list[list[str]], list[str]]:
    """Part the cautions of one exercise from those that stand with every load.

    Parameters
    ----------
    loads : DataFrame
        Of :func:`session`.

    Returns
    -------
    own : list of list of str
        By row.
    every : list of str
        Those of all rows, where there are several.
    """
    said = [[s for s in text.split(". ") if s] for text in loads["caution"]]
    shared = set(said[0]).intersection(*said) if len(said) > 1 else set()
    own = [[s for s in parts if s not in shared] for parts in said]
    return own, [s for s in said[0] if s in shared] if said else []


def usual_step(fit: StrengthFit, setup: str, *, unit: str) -> float:
    """Smallest change of load of a setup's implement in the unit of the plates.

    Parameters
    ----------
    fit : StrengthFit
        Of the movement.
    setup : str
        Setup or variant.
    unit : str
        ``kg`` or ``lb``.

    Returns
    -------
    step : float
        In that unit; in pounds the nearest multiple of five, common practice.
    """
    step_kg = usual_step_kg(fit, setup)
    if unit == "kg":
        return step_kg
    return max(round(step_kg / KG_PER_LB / LB_STEP), 1) * LB_STEP
