"""From stored sets to what the model sees: kinds, implied loads, setups.

Sets that cannot be used are returned with the reason; nothing is dropped
silently.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd
from pandas.api.types import is_numeric_dtype

from analytics.catalogue import Setup, load_as_logged, load_catalogue, load_per_arm
from analytics.errors import InputError
from analytics.store.fields import BY_COLUMN
from analytics.strength.model.relation import log_gain, priors
from analytics.strength.model.tempo import at_usual_tempo, slowness
from analytics.table_schema import column_names, defaults

TYPICAL_K = 30.0  # only to rank sets of one day; any K ranks nearly the same


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Observations:
    """Usable sets of one movement, sorted by lifter, day and setup.

    Attributes
    ----------
    sets : DataFrame
        One row per usable set, with ``setup``, ``log_load`` (body share included),
        ``slowness`` of the logged tempo, ``kind`` (``failure, below, rir, far,
        unreported, outdone``).
    lifters : tuple of str
    setups : DataFrame
        One row per setup.
    reference : str
        Setup the ratios refer to.
    holds : DataFrame
        Isometric holds and failures at a known angle.
    unusable : DataFrame
        ``lifter, setup, sentence``, one row per lifter, setup and reason.
    """

    sets: pd.DataFrame
    lifters: tuple[str, ...]
    setups: pd.DataFrame
    reference: str
    holds: pd.DataFrame
    unusable: pd.DataFrame


def completed(
    sets: pd.DataFrame, *, usual_arms: Mapping[str, float] | None = None
) -> pd.DataFrame:
    """Return the sets with every optional column present and typed.

    Parameters
    ----------
    sets : DataFrame
        As from the store, or with the columns that `columns` lists for ``sets``.
    usual_arms : mapping of str to float, optional
        Working arms that most sets of each setup count, where these are not all sets.

    Returns
    -------
    sets : DataFrame
        With ``date``, ``setup`` and ``effective_kg`` added.

    Raises
    ------
    InputError
        If a needed column is missing, or a cell cannot be read.
    """
    out = _with_defaults(sets)
    for name in ("lifter", "variant", "equipment", "side", "flag", "movement", "tempo"):
        out[name] = out[name].fillna("").astype("str")
    out["failed"] = _flags(out["failed"])
    for name, value in defaults("sets").items():
        if isinstance(value, float):
            out[name] = _possible(_numbers(out[name]))
    out["load_kg"], out["reps"] = _numbers(out["load_kg"]), _numbers(out["reps"])
    out["date"] = _days(out["performed_on"])
    _as_in_catalogue(out)
    _plain_ranges(out)
    out["setup"] = _keys(out)
    _one_convention(out, usual_arms)
    share = out["body_share"].fillna(0.0)
    body = np.where(share > 0, share * out["body_mass_kg"], 0.0)
    out["body_kg"] = body
    out["effective_kg"] = out["load_kg"] + body
    return out


def _with_defaults(sets: pd.DataFrame) -> pd.DataFrame:
    if not isinstance(sets, pd.DataFrame) or not sets.columns.is_unique:
        raise InputError("sets: give a DataFrame that has each column once")
    optional = defaults("sets")
    needed = [name for name in column_names("sets") if name not in optional]
    if missing := [name for name in needed if name not in sets]:
        raise InputError(
            f"the table of sets lacks the column `{missing[0]}`; needed are "
            f"{', '.join(needed)}"
        )
    out = sets.reset_index(drop=True)  # joined tables may count their rows anew
    out = out.assign(**{k: v for k, v in optional.items() if k not in sets})
    if "set_id" not in sets:
        out["set_id"] = [str(number) for number in range(len(out))]
    return out


def _numbers(column: pd.Series) -> pd.Series:
    read = pd.to_numeric(column, errors="coerce").astype(float)
    return _all_read(column, read.where(np.isfinite(read)), "a number")


def _possible(column: pd.Series) -> pd.Series:
    field = BY_COLUMN.get(str(column.name))
    if field is None or field.limits is None:
        return column
    return _all_read(
        column, column.where(column.between(*field.limits)), field.accepted
    )


def _flags(column: pd.Series) -> pd.Series:
    # Any text, "no" too, would be true if taken for a truth value.
    read = _all_read(column, column.map({True: True, False: False}), "True or False")
    return read.fillna(False).astype(bool)


def _days(column: pd.Series) -> pd.Series:
    # The order of day and month is never guessed; numbers would be nanoseconds.
    days = pd.Series(pd.NaT, column.index) if is_numeric_dtype(column) else column
    read = pd.to_datetime(days, format="ISO8601", errors="coerce").dt.normalize()
    return _all_read(column, read, "a date, or text such as 2025-01-31", needed=True)


def _all_read(
    column: pd.Series, read: pd.Series, accepted: str, *, needed: bool = False
) -> pd.Series:
    bad = read.isna() & (column.notna() | needed)
    if bad.any():
        at = int(bad.to_numpy().argmax())
        raise InputError(
            f"row {at + 1} of the table of sets, column `{column.name}`: "
            f"`{column.iloc[at]}` cannot be read; give {accepted}"
        )
    return read


def _as_in_catalogue(sets: pd.DataFrame) -> None:
    """Fill movement and arms where the table does not say, from the catalogue."""
    variants = load_catalogue().variants
    blank = sets["movement"] == ""
    known = sets["variant"].map({key: v.movement for key, v in variants.items()})
    sets.loc[blank, "movement"] = known[blank].fillna("")
    share = sets["variant"].map({key: v.arms_share for key, v in variants.items()})
    sets["arms_share"] = sets["arms_share"].fillna(share.astype(float)).fillna(1.0)


def setup_keys(sets: pd.DataFrame) -> pd.Series:
    """Name the setup of each row.

    Parameters
    ----------
    sets : DataFrame
        ``variant, equipment, range_from_deg, range_to_deg``, as of sets.

    Returns
    -------
    keys : Series of str
    """
    sets = sets.copy()
    _plain_ranges(sets)
    return _keys(sets)


def _one_convention(sets: pd.DataFrame, usual_arms: Mapping[str, float] | None) -> None:
    """Count the load of all sets of a setup as most of them do (per hand or total)."""
    if usual_arms is None:
        arms = sets.groupby("setup")["arms_share"]
        usual_arms = arms.agg(lambda x: x.mode().iloc[0]).to_dict()
    usual = sets["setup"].map(usual_arms)
    arm_kg = load_per_arm(sets["load_kg"], sets["arms_share"])
    sets["load_kg"] = load_as_logged(arm_kg, usual)
    sets["arms_share"] = usual


def _plain_ranges(sets: pd.DataFrame) -> None:
    """Blank a logged range that is the variant's own."""
    variants = load_catalogue().variants
    low, high = (
        sets["variant"].map(
            {k: getattr(v.mechanics, name, np.nan) for k, v in variants.items()}
        )
        for name in ("range_from_deg", "range_to_deg")
    )
    own = np.isclose(sets["range_from_deg"].fillna(low), low.astype(float))
    own &= np.isclose(sets["range_to_deg"].fillna(high), high.astype(float))
    unlogged = sets["range_from_deg"].isna() & sets["range_to_deg"].isna()
    sets.loc[own | unlogged, ["range_from_deg", "range_to_deg"]] = np.nan
    part = sets["range_from_deg"].notna() | sets["range_to_deg"].notna()
    sets.loc[part, "range_from_deg"] = sets["range_from_deg"].fillna(low)[part]
    sets.loc[part, "range_to_deg"] = sets["range_to_deg"].fillna(high)[part]


def _keys(sets: pd.DataFrame) -> pd.Series:
    """Key of each set's setup."""
    names = ["variant", "equipment", "range_from_deg", "range_to_deg"]
    code, unique = pd.factorize(pd.MultiIndex.from_frame(sets[names]))
    keys = [Setup.of(dict(zip(names, row, strict=True))).key for row in unique]
    return pd.Series(np.array(keys, dtype=object)[code], index=sets.index)


def _unusable_reason(sets: pd.DataFrame) -> pd.Series:
    """Why a dynamic set cannot be used, '' if it can."""
    reason = pd.Series("", index=sets.index, dtype=object)
    needs_mass = (sets["body_share"] > 0) & sets["body_mass_kg"].isna()
    reason[~(sets["effective_kg"] > 0)] = "no load above 0 kg"
    reason[~(sets["reps"] >= 0)] = "no number of reps"
    reason[(sets["reps"] < 1) & ~sets["failed"]] = "less than one rep, not to failure"
    reason[needs_mass] = "body mass unknown, and this lift moves the body too"
    return reason


def observe(
    sets: pd.DataFrame,
    *,
    reference: str | None = None,
    usual_arms: Mapping[str, float] | None = None,
) -> Observations | None:
    """Sort sets into what the model can use.

    Parameters
    ----------
    sets : DataFrame
        Sets of one movement, as from the store.
    reference : str, optional
        Variant or setup the ratios refer to; default the movement's.
    usual_arms : mapping of str to float, optional
        As of :func:`completed`.

    Returns
    -------
    observations : Observations or None
        None if no set can be used at all.
    """
    frame = completed(sets, usual_arms=usual_arms)
    dynamic = frame[frame["hold_s"].isna()]
    usable = dynamic[_unusable_reason(dynamic) == ""]
    unusable, holds = unusable_sets(frame)
    if usable.empty:
        return None
    order = ["lifter", "date", "setup", "side"]
    usable = usable.assign(
        kind=_kind(usable),
        log_load=np.log(usable["effective_kg"]),
        slowness=slowness(usable["tempo"]),
        log_order=np.arange(len(usable)),
    )
    usable = usable.sort_values([*order, "log_order"], ignore_index=True)
    usable.loc[_outdone(usable, order), "kind"] = "outdone"
    setups = _setups(usable)
    return Observations(
        sets=usable,
        lifters=tuple(pd.unique(usable["lifter"])),
        setups=setups,
        reference=reference_of(
            str(usable["movement"].iloc[0]), setups, wanted=reference
        ),
        holds=holds,
        unusable=unusable,
    )


def _kind(sets: pd.DataFrame) -> np.ndarray:
    """How a set ended: failed, failed at the first try, told what was left, or not."""
    failed, told = sets["failed"], sets["rir"].notna()
    below = failed & (sets["reps"] < 1)
    far = sets["rir"] > priors("reserve")["far_from"]
    return np.select(
        [below, failed, far, told], ["below", "failure", "far", "rir"], "unreported"
    )


def _outdone(sets: pd.DataFrame, cell: list[str]) -> pd.Series:
    """Tell which unmarked sets say nothing beside others of their exercise and day.

    Beside a set that told how hard it was, an unmarked one that shows less may have
    been a warm-up. Of the others the best counts: straight sets are planned alike, so
    that they end alike tells neither how hard they were nor how exact a set is.
    """
    unreported = sets["kind"] == "unreported"
    reps = sets["reps"] + sets["rir"].where(sets["kind"].isin(["rir", "far"]), 0.0)
    usual = at_usual_tempo(reps, priors("tempo")["exponent_mean"] * sets["slowness"])
    shown = sets["log_load"] + log_gain(usual, np.log(TYPICAL_K))
    number = sets.groupby(cell, sort=False).ngroup()
    best = shown.where(unreported).groupby(number).transform("max")
    told = shown.where(~unreported).groupby(number).transform("max")
    counts = unreported & (shown == best) & ~(told >= best)
    again = counts.groupby(number).cumsum() > 1
    return unreported & (~counts | again)


def unusable_sets(frame: pd.DataFrame) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Reasons of the sets that cannot be used, and the isometric holds.

    Parameters
    ----------
    frame : DataFrame
        From :func:`completed`.

    Returns
    -------
    reasons, holds : DataFrame
    """
    dynamic = frame[frame["hold_s"].isna()]
    reason = _unusable_reason(dynamic)
    bad = reason != ""
    return _count_reasons(dynamic[bad], reason[bad]), _holds(frame)


def _count_reasons(sets: pd.DataFrame, reason: pd.Series) -> pd.DataFrame:
    counted = sets.assign(reason=reason).groupby(["lifter", "setup", "reason"]).size()
    counts = counted.reset_index(name="sets")
    sentence = [
        f"{n} set{'s' if n > 1 else ''} not used: {why}"
        for n, why in zip(counts["sets"], counts["reason"], strict=True)
    ]
    return counts.assign(sentence=sentence)[["lifter", "setup", "sentence"]]


def _setups(sets: pd.DataFrame) -> pd.DataFrame:
    keys = ["setup", "variant", "equipment", "range_from_deg", "range_to_deg"]
    grouped = sets.groupby("setup", sort=True)
    first = grouped[[*keys[1:], "arms_share", "body_share"]].first()
    first["sets"], first["lifters"] = grouped.size(), grouped["lifter"].nunique()
    return first.reset_index()


def reference_of(
    movement: str, setups: pd.DataFrame, *, wanted: str | None = None
) -> str:
    """Resolve the reference to a setup the log has.

    Parameters
    ----------
    movement : str
        Movement id.
    setups : DataFrame
        ``setup, variant, sets``: one row per setup.
    wanted : str, optional
        Variant or setup; default the movement's.

    Returns
    -------
    reference : str
        A setup.
    """
    known = load_catalogue().movements.get(movement)
    for name in (wanted, known.reference if known else None):
        if name is None:
            continue
        for column in ("setup", "variant"):
            found = setups[setups[column] == name]
            if len(found):
                return str(found.loc[found["sets"].idxmax(), "setup"])
    return str(setups.loc[setups["sets"].idxmax(), "setup"])


def _holds(frame: pd.DataFrame) -> pd.DataFrame:
    """Isometric holds at an angle, and failures whose angle was noted."""
    hold = frame["hold_s"].notna() & (frame["effective_kg"] > 0)
    failure = ~hold & frame["failed_at_deg"].notna()
    out = frame[hold | failure].copy()
    out["angle_deg"] = out["angle_deg"].where(hold, out["failed_at_deg"])
    out["kind"] = np.where(hold[out.index], "hold", "failure")
    out["log_load"] = np.log(out["effective_kg"].where(out["effective_kg"] > 0))
    return out[column_names("holds")].reset_index(drop=True)
