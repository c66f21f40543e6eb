"""The sets behind a strength, and what a person corrects of them."""

import pandas as pd

from analytics import store as stored
from analytics.store.reserve import reserve_told
from analytics.strength import StrengthFit, beside_sets, one_series
from app import correcting
from app.fits import of
from app.state import read


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
    logged = logged.assign(rir=reserve_told(logged))
    names = ["set_id", "load_kg", "reps", "rir", "failed", "flag", "note"]
    return points.merge(logged[names], on="set_id", how="left").drop(columns="set_id")


def stored_sets(lifter: str, variant: str) -> pd.DataFrame:
    """Return one lifter's sets in one variant as stored, newest first, by set."""
    rows = read(stored.sets, lifter=lifter, variant=variant)
    newest = rows.sort_values("performed_on", ascending=False, kind="stable")
    return correcting.rows_of(newest)


def corrections(lifter: str) -> pd.DataFrame:
    """Return what people changed about one lifter's sets, newest first."""
    return read(stored.history, lifter=lifter).drop(columns="set_id").iloc[::-1]
