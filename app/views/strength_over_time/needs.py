"""The sets behind a strength, and what a person corrects of them."""

from typing import Any

import pandas as pd

from analytics import store as stored
from analytics.store.fields import BY_COLUMN, IN_FORM
from analytics.strength import StrengthFit, beside_sets, one_series
from app.figure import counted
from app.fits import of
from app.state import read, store


def series(
    found: StrengthFit, lifter: str, setup: str, *, reps: int
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Return one lifter's strength in one setup, and its sets as logged."""
    trend, points = one_series(found, lifter, setup, reps=reps)
    return trend, beside_sets(points, read(stored.sets, lifter=lifter))


def set_table(found: StrengthFit, lifter: str, setup: str) -> pd.DataFrame:
    """Return the sets of one series as logged, with what the fit made of each."""
    points = of(found.set_points, lifter, setup)
    logged = read(stored.sets, lifter=lifter)
    names = ["set_id", "load_kg", "reps", "rir", "failed", "flag", "note"]
    return points.merge(logged[names], on="set_id", how="left").drop(columns="set_id")


def stored_sets(lifter: str, variant: str) -> pd.DataFrame:
    """Return one lifter's sets in one variant as stored, newest first, by set."""
    rows = read(stored.sets, lifter=lifter, variant=variant).set_index("set_id")
    newest = rows.sort_values("performed_on", ascending=False, kind="stable")
    return newest[IN_FORM].assign(delete=False)


def corrected(before: pd.DataFrame, after: pd.DataFrame) -> str:
    """Store what a person changed and say how many sets that were."""
    gone = after.index[after["delete"]]
    for set_id in gone:
        stored.delete_set(store(), set_id)
    changed = (before != after) & (before.notna() | after.notna())
    edited = changed.drop(index=gone)
    edited = edited[edited.any(axis=1)]
    for set_id, cells in edited.iterrows():
        names = cells.index[cells]
        values = {name: _plain(name, after.at[set_id, name]) for name in names}
        stored.edit_set(store(), set_id, **values)
    return f"{counted(len(edited), 'set')} corrected, {len(gone)} deleted."


def _plain(name: str, value: Any) -> Any:
    if pd.isna(value):
        return "" if BY_COLUMN[name].type == "TEXT" else None
    if BY_COLUMN[name].type == "DATE":
        return pd.Timestamp(value).date()
    return value.item() if hasattr(value, "item") else value


def corrections(lifter: str) -> pd.DataFrame:
    """Return what people changed about one lifter's sets, newest first."""
    return read(stored.history, lifter=lifter).drop(columns="set_id").iloc[::-1]
