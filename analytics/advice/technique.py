"""Logged lean, cheating and stance against load and fatigue.

What the coach saw is set beside what the balance model says is needed.
"""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from scipy import stats

from analytics import mechanics
from analytics.advice.lean import ENOUGH, LeanStart, lean_start, least_squares
from analytics.advice.person import measured_body
from analytics.catalogue import load_catalogue, load_per_arm
from analytics.errors import InputError
from analytics.intervals import LEVEL


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Technique:
    """Lean, cheating and stance of one lifter or of all.

    Attributes
    ----------
    sets : DataFrame
        Sets with a lean, or with cheating or none, noted: ``set_id, lifter,
        performed_on, variant, stance, load_kg, held_kg`` (both hands together),
        ``relative_load, set_number, lean_deg, cheat``.
    by_load : DataFrame
        ``stance, relative_load`` (middle of a tenth), ``sets, lean_deg,
        cheat_frac``.
    start : LeanStart
        Where lean begins.
    model : DataFrame
        :func:`analytics.mechanics.balance` at the heaviest load lifted standing free:
        what each stance carries, and the lean it needs; no rows without such a load.
    model_start_frac : float
        Load above which a parallel stance needs lean by that model, over the latest
        one-repetition maximum of one lifter's most logged free variant; else NaN. [1]
    interval : float
        Level of the interval. [1]
    sentences : tuple of str
        In words.
    """

    sets: pd.DataFrame
    by_load: pd.DataFrame
    start: LeanStart
    model: pd.DataFrame
    model_start_frac: float
    interval: float
    sentences: tuple[str, ...]


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
        (frame["flag"] == "") & (frame["lean_deg"].notna() | frame["cheat"].notna())
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
        cheat=noted_cheat(seen),
        stance=seen["stance"].replace("", "not written"),
    )
    kept = ["set_id", "lifter", "performed_on", "variant", "stance", "load_kg"]
    kept += ["held_kg", "relative_load", "set_number", "lean_deg", "cheat"]
    return seen[kept]


def noted_cheat(sets: pd.DataFrame) -> pd.Series:
    """Whether each set was cheated; unknown where nobody watched it.

    Parameters
    ----------
    sets : DataFrame
        ``cheat, lean_deg``.

    Returns
    -------
    cheat : Series of boolean
        A blank beside a lean is a no: somebody watched and noted no cheating.
    """
    return (
        sets["cheat"]
        .astype("boolean")
        .fillna(
            pd.Series(False, sets.index, dtype="boolean").where(
                sets["lean_deg"].notna()
            )
        )
    )


def _implements(variant: str) -> float:
    """How many of the logged load are held at once: two dumbbells, one bar."""
    entry = load_catalogue().variants.get(variant)
    return entry.arms * load_per_arm(1.0, entry.arms_share) if entry else 1.0


def technique(
    sets: pd.DataFrame,
    trend: pd.DataFrame,
    *,
    lifter: str | None = None,
    bodies: pd.DataFrame | None = None,
) -> Technique:
    """Say at which relative load lean starts, and what cheating and stance do.

    Parameters
    ----------
    sets : DataFrame
        Stored sets of one movement.
    trend : DataFrame
        ``trend`` of the strength fit of that movement.
    lifter : str or None
        One lifter, or all.
    bodies : DataFrame, optional
        The lifter's measurements, for the balance model; else 75 kg and 1.75 m.

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
        seen.assign(relative_load=tenth, cheat=seen["cheat"].astype("Float64"))
        .groupby(["stance", "relative_load"], as_index=False)
        .agg(
            sets=("set_id", "size"),
            lean_deg=("lean_deg", "mean"),
            cheat_frac=("cheat", "mean"),
        )
    )
    own = trend[trend["lifter"] == lifter]
    model, needed, said = _balance(
        sets, own, pd.DataFrame() if bodies is None else bodies
    )
    return Technique(
        sets=seen,
        by_load=by_load,
        start=start,
        model=model,
        model_start_frac=needed,
        interval=LEVEL,
        sentences=(
            *_lean_sentences(start, needed),
            *_cheat_sentences(seen, start),
            *said,
            *_stance_sentences(leaning, start),
        ),
    )


def _stands_free(variant: str) -> bool:
    """Whether a variant is a free weight lifted by somebody who may fall over."""
    entry = load_catalogue().variants.get(variant)
    return (
        entry is not None
        and entry.mechanics is not None
        and entry.mechanics.support == "none"
        and entry.implement in ("bar", "dumbbell")
    )


def _balance(
    sets: pd.DataFrame, own: pd.DataFrame, bodies: pd.DataFrame
) -> tuple[pd.DataFrame, float, list[str]]:
    """Say what the model thinks each stance carries, in kg and of one's strength."""
    free = sets[sets["variant"].map(_stands_free).astype(bool) & (sets["flag"] == "")]
    held_kg = (free["load_kg"] * free["variant"].map(_implements).astype(float)).max()
    body, words = measured_body(bodies)
    model = mechanics.balance(
        held_kg if held_kg > 0 else 0.0,
        body_mass_kg=body.mass_kg,
        stature_m=body.stature_m,
    )
    if not held_kg > 0:
        return model.iloc[:0], np.nan, []
    rows = model.set_index("stance")
    parallel, split = rows.loc["parallel"], rows.loc["split"]
    needed, of_strength = np.nan, ""
    now = own[own["variant"] == free["variant"].mode().iloc[0]].sort_values("date")
    if len(now):
        latest = now.iloc[-1]
        once_kg = latest["strength_kg"] * _implements(latest["variant"])
        needed = float(parallel["largest_load_kg"] / once_kg)
        of_strength = f" ({needed:.0%} of the {once_kg:.1f} kg of one repetition)"
    leans = " and ".join(
        f"{lean_deg:.1f}°" if np.isfinite(lean_deg) else "more than lean can give"
        for lean_deg in (parallel["lean_deg"], split["lean_deg"])
    )
    said = (
        f"Modelled for {words}: no lean is needed up to "
        f"{parallel['largest_load_kg']:.0f} kg in front in a parallel stance"
        f"{of_strength}, {split['largest_load_kg']:.0f} kg in a split one and any load "
        f"with a support; the heaviest lifted standing here, {held_kg:.0f} kg, needs "
        f"{leans} in these two stances."
    )
    return model, needed, [said]


def _lean_sentences(start: LeanStart, needed: float) -> list[str]:
    if start.sets < ENOUGH:
        return [
            f"Lean: not enough data yet ({start.sets} sets with a lean), about "
            f"{ENOUGH - start.sets} more sets."
        ]
    if np.isnan(start.start_frac):
        return [f"In {start.sets} sets lean does not rise with load."]
    beside = (
        "" if np.isnan(needed) else f"; the balance model asks from {needed:.0%} on"
    )
    said = [
        f"Lean starts at about {start.start_frac:.0%} of the day's one-repetition "
        f"maximum ({start.low_frac:.0%} to {start.high_frac:.0%}, {start.sets} sets)"
        f"{beside}."
    ]
    if np.isfinite(start.deg_per_set_high):  # else every day had one set
        said.append(
            "From one set to the next, at the same load, it changes by "
            f"{start.deg_per_set:+z.1f}° ({start.deg_per_set_low:+z.1f} to "
            f"{start.deg_per_set_high:+z.1f})."
        )
    return said


def _share(hits: pd.Series) -> str:
    """Say a count and its share with Wilson's interval."""
    k, n = int(hits.sum()), len(hits)
    low, high = stats.binomtest(k, n).proportion_ci(LEVEL, method="wilson")
    return f"{k} of {n} sets, {k / n:.0%} ({low:.0%} to {high:.0%})"


def _cheat_sentences(seen: pd.DataFrame, start: LeanStart) -> list[str]:
    """Say how often sets were cheated, below and beyond the start of lean."""
    told = seen[seen["cheat"].notna()]
    if len(told) < ENOUGH:
        return [
            f"Cheating: not enough data yet ({len(told)} sets with a yes or no), about "
            f"{ENOUGH - len(told)} more sets."
        ]
    if told["cheat"].all() and told["lean_deg"].isna().all():
        return [
            f"{len(told)} sets are noted as cheated and none as not, so no share "
            "of them can be said."
        ]
    said = [f"Cheated: {_share(told['cheat'])}."]
    beyond = told["relative_load"] >= start.start_frac
    if beyond.any() and not beyond.all():
        said = [
            f"Cheated below that load: {_share(told.loc[~beyond, 'cheat'])}; from it "
            f"on: {_share(told.loc[beyond, 'cheat'])}."
        ]
    return said


def _stance_sentences(leaning: pd.DataFrame, start: LeanStart) -> list[str]:
    """Say how much lean differs between stances at the same load, if it can be said."""
    counts = leaning.loc[leaning["stance"] != "not written", "stance"].value_counts()
    known = counts[counts >= ENOUGH].index
    if len(counts) and len(known) < 2:
        listed = ", ".join(f"{stance} {n}" for stance, n in counts.items())
        return [
            f"Sets by stance: {listed}; {ENOUGH} in each of two would begin to tell "
            "what a stance changes."
        ]
    others = len(known) - 1
    if others < 1:
        return []
    rows = leaning[leaning["stance"].isin(known)]
    relative = rows["relative_load"].to_numpy(float)
    hinge = 0.0 if np.isnan(start.start_frac) else start.start_frac
    beside = [rows["set_number"].to_numpy(float), np.maximum(0, relative - hinge)]
    design = [np.ones(len(rows)), *(column for column in beside if np.ptp(column))]
    design += [(rows["stance"] == stance).to_numpy(float) for stance in known[1:]]
    beta, half = least_squares(
        np.column_stack(design), rows["lean_deg"].to_numpy(float)
    )
    return [
        f"At the same relative load, {stance} leans {b:+z.1f}° ({b - h:+z.1f} to "
        f"{b + h:+z.1f}) against {known[0]}, {counts[stance]} and {counts[known[0]]} "
        "sets; the days differ, so this shows no cause."
        for stance, b, h in zip(known[1:], beta[-others:], half[-others:], strict=True)
        if np.isfinite(h)
    ]
