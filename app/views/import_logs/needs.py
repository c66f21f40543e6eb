"""What the page of logs asks of the intake: suggest, try, take in, name, undo."""

import re
import shutil
import tempfile
import weakref
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

import pandas as pd
import streamlit as st

from analytics import intake
from analytics import store as stored
from analytics.intake import ColumnMap, IntakeResult, Suggestion
from analytics.store.fields import FIELDS
from app.figure import counted, lines
from app.state import cached, clear_cache, progress, read, stamp, store


# Fields in the order a person looks for them, with the words of the page.
def _titled(*names: str) -> dict[str, str]:
    return {name: FIELDS[name].title for name in names}


NEEDED = _titled("performed_on", "exercise", "load", "reps", "lifter")
EFFORT = _titled("rir", "rpe", "failed", "failed_at_deg")
MORE = _titled(*(name for name in FIELDS if name not in {**NEEDED, **EFFORT}))
DATES = {
    "dmy": "day first",
    "mdy": "month first",
    "iso": "year first",
}
UNITS = {"kg": "kg", "lb": "lb", "stone": "stone"}
DECIMALS = {",": "comma", ".": "point"}
DUMBBELLS = {"per_hand": "per hand", "total": "both together"}
FILLED = {True: "holds below", False: "only in its row"}
CHOICES = {
    "unit": ("Unit of the loads", UNITS),
    "dates": ("Order of the dates", DATES),
    "decimal": ("Decimal sign", DECIMALS),
    "dumbbells": ("Loads of two dumbbells", DUMBBELLS),
    "fill_down": ("A date or exercise written once", FILLED),
}
OF_READING = ("decimal", "fill_down")  # answers on the file, not on its numbers
NOT_HERE = "not in this file"
EFFORTS = {
    "": "nothing, leave it out", "failed": "failed", 0.0: "0 in reserve",
    1.0: "1 in reserve", 2.0: "2 in reserve", 3.0: "3 in reserve", 4.0: "4 in reserve",
}  # fmt: skip
# What the command line answers with a column map is answered on the page.
_ANSWERS = (
    (r"; map it under \[columns\].*", "; choose it below"),
    (r"; (?:say which|give [`']?--).*", "; say which below"),
    (r"; say whether what is written once.*", "; say below whether it holds"),
    (r"; (if it counts sets, )?map it as .*", "; choose below what it is"),
    (r"; give the headers .*", "; write headers such as date, exercise, load and reps "
     "above the columns and bring the file in again"),
)  # fmt: skip


def asked(path: Path, found: Suggestion, error: Exception | None) -> list[str]:
    """Return what is still open: doubts about the headers, and why a trial failed."""
    refused = f"`{path.name}`"  # by the columns as first suggested
    doubts = [told for told in found.questions if not told.startswith(refused)]
    return [question(told) for told in (*doubts, *([error] if error else []))]


def question(told: object) -> str:
    """Return what the intake asks, answered on the page rather than by command."""
    text = str(told)
    for remedy, here in _ANSWERS:
        text = re.sub(remedy, here, text, flags=re.DOTALL)
    return text


class _Uploads:
    """Folder of one visitor's files, gone with the visit."""

    def __init__(self) -> None:
        self.folder = Path(tempfile.mkdtemp())
        weakref.finalize(self, shutil.rmtree, self.folder, ignore_errors=True)


def saved(name: str, content: bytes, number: int) -> Path:
    """Put an uploaded file where the intake can read it, under its own name."""
    if "uploads" not in st.session_state:
        st.session_state["uploads"] = _Uploads()
    path = st.session_state["uploads"].folder / str(number) / Path(name).name
    path.parent.mkdir(exist_ok=True)
    if not path.exists() or path.read_bytes() != content:
        path.write_bytes(content)
    return path


def suggestion(path: Path, sheets: tuple[str, ...] = ()) -> Suggestion:
    """Return how the file could be read, with what is open."""
    key = (str(path), path.stat().st_mtime_ns, sheets, stamp())
    return cached(
        "suggestion", key, lambda: intake.suggest_columns(store(), path, sheets=sheets)
    )


def with_sheets(read: Mapping[str, Any], found: Suggestion) -> dict[str, Any]:
    """Return how a file is read with the sheets that were chosen of it, if not all."""
    chosen = found.column_map.read.get("sheet")
    rest = {name: value for name, value in read.items() if name != "sheet"}
    return rest if chosen is None else {**rest, "sheet": chosen}


def sample_table(found: Suggestion) -> pd.DataFrame:
    """Return the first rows of the file under its own headers."""
    rows = [dict(zip(found.headers, row, strict=False)) for row in found.sample]
    return pd.DataFrame(rows, columns=list(found.headers), dtype="str").fillna("")


def mapped(
    found: Suggestion,
    columns: Mapping[str, tuple[str, ...]],
    effort: Mapping[str, str | float],
    **settings: Any,
) -> ColumnMap:
    """Return the suggested map with the person's columns and answers."""
    chosen = {name: headers for name, headers in columns.items() if headers}
    read = {name: settings.pop(name) for name in OF_READING}
    read = {name: value for name, value in read.items() if value is not None}
    given = found.column_map
    return replace(
        given,
        columns=chosen,
        read={**given.read, **read},
        effort={**given.effort, **effort},
    ).with_settings(**settings)


def tried(path: Path, column_map: ColumnMap) -> IntakeResult:
    """Return what would become of the file, storing nothing."""
    key = (str(path), path.stat().st_mtime_ns, column_map.digest(), stamp())
    return cached(
        "tried",
        key,
        lambda: intake.take_in(store(), path, column_map=column_map, trial=True),
    )


def taken(path: Path, column_map: ColumnMap) -> str:
    """Take the file in, with a bar, and say what came of it."""
    with progress(lines(f"Taking in {path.name}")) as on_progress:
        done = intake.take_in(
            store(), path, column_map=column_map, on_progress=on_progress
        )
    return (
        f"{done.file}: {counted(done.sets_added, 'set')} added, "
        f"{done.already_known:,} known already, "
        f"{counted(done.rejected, 'row')} rejected."
    )


def issue_table(result: IntakeResult) -> pd.DataFrame:
    """Return the rows that would be or were rejected, and why."""
    names = ["file", "row", "column", "value", "problem", "accepted"]
    rows = [[getattr(issue, name) for name in names] for issue in result.issues]
    return pd.DataFrame(rows, columns=names)


def rejected() -> pd.DataFrame:
    """Return the rejected rows that still wait."""
    return read(stored.rejected)


def intakes() -> pd.DataFrame:
    """Return the files taken in, newest first, and not undone."""
    rows = read(stored.intakes)
    names = ["intake_id", "file", "kind", "taken_at", "rows_read", "sets_added"]
    names += ["already_known", "rows_rejected"]
    return rows.loc[rows["undone_at"].isna(), names].iloc[::-1]


def waiting_rows(intake_id: int) -> pd.DataFrame:
    """Return the cells of one intake's rows that wait, under the file's headers."""
    key = (stamp(), intake_id)
    return cached("waiting", key, lambda: intake.rejected_table(store(), intake_id))


def fixed(rows: pd.DataFrame) -> str:
    """Bring fixed rows back and say what became of them."""
    results = intake.fix_rejected(store(), rows)
    added = sum(result.sets_added for result in results)
    still = sum(result.rejected for result in results)
    return (
        f"{counted(added, 'set')} added from fixed rows, "
        f"{counted(still, 'row')} still rejected."
    )


def dismissed(rows: pd.DataFrame) -> str:
    """Dismiss rejected rows and say how many."""
    gone = intake.dismiss_rejected(store(), rows)
    return f"{counted(gone, 'row')} dismissed: not asked about again."


def doubts() -> str:
    """Say how many sets look like a slip and how many notes speak of pain."""
    found = {
        "doubtful set": len(read(stored.doubtful_sets)),
        "note on pain": len(read(stored.pain_in_notes)),
    }
    said = [counted(number, word) for word, number in found.items() if number]
    return " and ".join(said).replace("note on pains", "notes on pain")


def undo(intake_id: int) -> str:
    """Remove exactly what one intake added, and say what that was."""
    erased = stored.undo(store(), intake_id)
    clear_cache()
    still_held = f" Mind: {erased.still_held}." if erased.still_held else ""
    return f"{counted(erased.rows, 'row')} removed.{still_held}"
