"""Logged lean, heave and stance against load and fatigue.

What the coach saw is set beside what the balance model says is needed.
"""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy import stats

from analytics import mechanics
from analytics.advice.rules import rule
from analytics.catalogue import load_catalogue
from analytics.errors import InputError

INTERVAL = 0.90
_STARTS = np.round(np.arange(0.50, 1.01, 0.01), 2)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LeanStart:
    """Relative load at which lean begins.

    Attributes
    ----------
    start_frac, low_frac, high_frac : float
        Load over that day's one-repetition maximum, with its interval; NaN if
        lean does not rise with load in this log. [1]
    deg_per_frac : float
        Rise of lean per unit of relative load beyond the start. [deg]
    deg_per_set : float
        Rise of lean from one set to the next of the same exercise. [deg]
    p_value : float
        Of the rise with load against lean that depends on set number only.
    sets : int
        Sets with a lean written down.
    """

    start_frac: float
    low_frac: float
    high_frac: float
    deg_per_frac: float
    deg_per_set: float
    p_value: float
    sets: int


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Technique:
    """Lean, heave and stance of one lifter or of all.

    Attributes
    ----------
    sets : DataFrame
        Sets with lean, heave or stance: ``set_id, lifter, performed_on, variant,
        stance, load_kg, held_kg`` (both hands together), ``relative_load,
        set_number, lean_deg, heave``.
    by_load : DataFrame
        ``stance, relative_load`` (middle of a tenth), ``sets, lean_deg,
        heave_frac``.
    start : LeanStart
        Where lean begins.
    model : DataFrame
        :func:`analytics.mechanics.balance` at the heaviest of these loads: what
        each stance carries, and the lean it needs.
    interval : float
        Level of the interval. [1]
    sentences : tuple of str
        In words.
    """

    sets: pd.DataFrame
    by_load: pd.DataFrame
    start: LeanStart
    model: pd.DataFrame
    interval: float
    sentences: tuple[str, ...]


def lean_start(
    relative_load: NDArray[np.float64],
    lean_deg: NDArray[np.float64],
    *,
    set_number: NDArray[np.float64],
) -> LeanStart:
    r"""Find the relative load at which lean begins.

    Parameters
    ----------
    relative_load : ndarray, shape (n,)
        Load over that day's one-repetition maximum. [1]
    lean_deg : ndarray, shape (n,)
        Lean written down. [deg]
    set_number : ndarray, shape (n,)
        Number of the set in its exercise, from 1. [1]

    Returns
    -------
    start : LeanStart
        NaN where lean does not rise with load (p above 0.05) or fewer than 12
        sets say.

    Notes
    -----
    .. math:: y = a + b \max(0, x - c) + d k

    by least squares over a grid of c; the interval holds every c whose residual
    sum of squares passes the F test against the best one.
    """
    n = len(lean_deg)
    nothing = LeanStart(
        start_frac=np.nan,
        low_frac=np.nan,
        high_frac=np.nan,
        deg_per_frac=np.nan,
        deg_per_set=np.nan,
        p_value=np.nan,
        sets=n,
    )
    if n < 12:
        return nothing
    base = np.column_stack([np.ones(n), set_number])
    flat = _residual_square(base, lean_deg)[0]
    fits = [
        _residual_square(
            np.column_stack([base, np.maximum(0, relative_load - c)]), lean_deg
        )
        for c in _STARTS
    ]
    squares = np.array([square for square, _ in fits])
    # A start so high that only a set or two lies beyond it is no start.
    beyond = (relative_load[None, :] > _STARTS[:, None]).sum(axis=1)
    rising = np.array([beta[2] > 0 for _, beta in fits]) & (beyond >= 4)
    if not rising.any():
        return nothing
    squares = np.where(rising, squares, np.inf)
    best = int(np.argmin(squares))
    dof = n - 4
    scale = squares[best] / dof
    p_value = float(stats.f.sf((flat - squares[best]) / 2 / scale, 2, dof))
    if p_value > 0.05:
        return nothing
    inside = _STARTS[squares <= squares[best] + scale * stats.f.ppf(INTERVAL, 1, dof)]
    beta = fits[best][1]
    return LeanStart(
        start_frac=float(_STARTS[best]),
        low_frac=float(inside.min()),
        high_frac=float(inside.max()),
        deg_per_frac=float(beta[2]),
        deg_per_set=float(beta[1]),
        p_value=p_value,
        sets=n,
    )


def _residual_square(
    design: NDArray[np.float64], value: NDArray[np.float64]
) -> tuple[float, NDArray[np.float64]]:
    beta, *_ = np.linalg.lstsq(design, value, rcond=None)
    return float(((value - design @ beta) ** 2).sum()), np.asarray(beta, dtype=float)


def seen_sets(sets: pd.DataFrame, trend: pd.DataFrame) -> pd.DataFrame:
    """Return sets somebody watched, with the load relative to the strength of the day.

    Parameters
    ----------
    sets : DataFrame
        Stored sets of one movement.
    trend : DataFrame
        ``trend`` of the strength fit of that movement.

    Returns
    -------
    seen : DataFrame
        See :class:`Technique`; the set number counts the sets of the exercise
        that day in the order of the file.
    """
    order = sets.sort_values(["intake_id", "source_row"])
    number = order.groupby(["lifter", "performed_on", "variant", "side"]).cumcount() + 1
    frame = sets.assign(set_number=number.reindex(sets.index))
    seen = frame[
        (frame["flag"] == "")
        & (frame["lean_deg"].notna() | frame["heave"].fillna(False).astype(bool))
    ]
    strength = trend[["lifter", "variant", "equipment", "date", "strength_kg"]]
    strength = strength.drop_duplicates(["lifter", "variant", "equipment", "date"])
    seen = seen.merge(
        strength,
        left_on=["lifter", "variant", "equipment", "performed_on"],
        right_on=["lifter", "variant", "equipment", "date"],
        how="inner",
    )
    seen = seen.assign(
        relative_load=seen["load_kg"] / seen["strength_kg"],
        held_kg=seen["load_kg"] * seen["variant"].map(_implements).astype(float),
        heave=seen["heave"].fillna(False).astype(bool),
        stance=seen["stance"].replace("", "not written"),
    )
    kept = ["set_id", "lifter", "performed_on", "variant", "stance", "load_kg"]
    kept += ["held_kg", "relative_load", "set_number", "lean_deg", "heave"]
    return seen[kept]


def _implements(variant: str) -> float:
    """How many of the logged load are held at once: two dumbbells, one bar."""
    entry = load_catalogue().variants.get(variant)
    return float(entry.arms / entry.arms_share) if entry else 1.0


def technique(
    sets: pd.DataFrame,
    trend: pd.DataFrame,
    *,
    lifter: str | None = None,
    body_mass_kg: float = 75.0,
    stature_m: float = 1.75,
) -> Technique:
    """Say at which relative load lean starts, and what heave and stance do.

    Parameters
    ----------
    sets : DataFrame
        Stored sets of one movement.
    trend : DataFrame
        ``trend`` of the strength fit of that movement.
    lifter : str or None
        One lifter, or all.
    body_mass_kg, stature_m : float
        For the balance model. [kg], [m]

    Returns
    -------
    technique : Technique
        Logged lean beside what the balance model asks for.

    Raises
    ------
    InputError
        If the lifter has no sets.
    """
    if lifter is not None:
        sets = sets[sets["lifter"] == lifter]
        if sets.empty:
            raise InputError(f"no sets of lifter '{lifter}' in this movement")
    seen = seen_sets(sets, trend)
    leaning = seen[seen["lean_deg"].notna()]
    start = lean_start(
        leaning["relative_load"].to_numpy(float),
        leaning["lean_deg"].to_numpy(float),
        set_number=leaning["set_number"].to_numpy(float),
    )
    tenth = (np.floor(seen["relative_load"] * 10) / 10 + 0.05).round(2)
    by_load = (
        seen.assign(relative_load=tenth)
        .groupby(["stance", "relative_load"], as_index=False)
        .agg(
            sets=("set_id", "size"),
            lean_deg=("lean_deg", "mean"),
            heave_frac=("heave", "mean"),
        )
    )
    model = mechanics.balance(
        float(seen["held_kg"].max()) if len(seen) else 0.0,
        body_mass_kg=body_mass_kg,
        stature_m=stature_m,
    )
    return Technique(
        sets=seen,
        by_load=by_load,
        start=start,
        model=model,
        interval=INTERVAL,
        sentences=(*_sentences(seen, start), *_balance_sentences(seen, model)),
    )


def _balance_sentences(seen: pd.DataFrame, model: pd.DataFrame) -> tuple[str, ...]:
    """Say what the model thinks a stance carries, and what was seen in each."""
    if seen.empty:
        return ()
    rows = model.set_index("stance")
    parallel, split = rows.loc["parallel"], rows.loc["split"]
    said = [
        f"Modelled: {parallel['largest_load_kg']:.0f} kg can be held in front without "
        f"lean in a parallel stance, {split['largest_load_kg']:.0f} kg in a split one; "
        f"a support takes the balance away as a limit. The heaviest load here, "
        f"{seen['held_kg'].max():.0f} kg, needs {parallel['lean_deg']:.1f}° in a "
        f"parallel stance and {split['lean_deg']:.1f}° in a split one."
    ]
    mean = seen.groupby("stance")["lean_deg"].agg(["mean", "count"])
    known = mean[(mean["count"] >= 12) & (mean.index != "not written")]
    if len(known) > 1:
        listed = "; ".join(
            f"{stance} {row['mean']:.1f}° over {row['count']:.0f} sets"
            for stance, row in known.iterrows()
        )
        said.append(
            f"Mean lean seen: {listed}. The loads differ, so this shows no cause."
        )
    return tuple(said)


def _sentences(seen: pd.DataFrame, start: LeanStart) -> tuple[str, ...]:
    if start.sets < 12:
        return (
            f"Lean: not enough data yet ({start.sets} sets with a lean), about "
            f"{12 - start.sets} more sets.",
        )
    if np.isnan(start.start_frac):
        return (f"In {start.sets} sets lean does not rise with load.",)
    per_set_deg = round(start.deg_per_set, 1) + 0.0  # no -0.0
    said = [
        f"Lean starts at about {start.start_frac:.0%} of the day's one-repetition "
        f"maximum ({start.low_frac:.0%} to {start.high_frac:.0%}, {start.sets} sets).",
        f"From one set to the next it changes by {per_set_deg:+.1f}°.",
    ]
    heavy = seen[seen["relative_load"] >= start.start_frac]
    said.append(
        f"Beyond that load {heavy['heave'].mean():.0%} of the sets were heaved and "
        f"{(heavy['lean_deg'] >= rule('lean_flag_deg')).mean():.0%} leaned "
        f"{rule('lean_flag_deg'):g}° or more."
    )
    return tuple(said)
