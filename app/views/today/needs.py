"""What the page of today's sets asks of the intake."""

from datetime import date
from typing import Any

import pandas as pd

from analytics import intake
from analytics import store as stored
from app.figure import counted
from app.state import asking, clear_cache, lifters, read, store, variant_titles


def codes(first: str | None) -> list[str]:
    """Return known lifters, the chosen one first."""
    known = [own] if (own := asking().own) else list(lifters()["lifter"])
    return sorted(known, key=lambda code: code != first)


def add(
    lifter: str, day: date, exercise: str, sets: int, **said: Any
) -> tuple[int | None, list[str]]:
    """Store typed sets as an import of their own; give its number and what it holds."""
    title = variant_titles().get(exercise, exercise)
    cells = {"exercise": title, **said}
    done = intake.take_in_by_hand(store(), lifter, day, cells, sets=sets)
    told = [
        f"{lifter}, {day}: {counted(done.sets_added, 'set')} of {title}, "
        f"{said['load']} × {said['reps']}, logged as import {done.intake_id}."
    ]
    if (said.get("pain") or 0) > 0:
        told.append("With pain no load is suggested: do not train through it.")
    if title in set(read(stored.unnamed)["text"]):
        told.append(f"{title} has no meaning yet: give it one under Import logs.")
    return done.intake_id, told


def of_day(lifter: str, day: date) -> pd.DataFrame:
    """Return what a lifter's log holds of one day."""
    rows = read(stored.logged, lifter=lifter, since=day, until=day)
    names = ["exercise", "load", "reps", "rir", "failed_at_deg", "pain", "note"]
    return rows[names].dropna(axis="columns", how="all")


def undo(intake_id: int) -> str:
    """Remove what was typed last."""
    gone = stored.undo(store(), intake_id)
    clear_cache()
    return f"Undone: {counted(gone.rows, 'set')} removed."
