"""What the page of people and data asks of the store."""

import io
import zipfile

import pandas as pd

from analytics import store as stored
from analytics.outgoing import frame_csv
from app.state import asking, cached, clear_cache, read, stamp, store

OWN = {
    "sets": stored.logged,
    "measurements": stored.bodies,
    "traces": stored.reps,
    "corrections": stored.history,
    "imports": stored.intakes,
    "rejected_rows": stored.rejected,
    "said": stored.said,
}


def is_withheld() -> bool:
    """Tell whether figures for others leave the own log out."""
    return asking().own in read(stored.withholding)


def withhold(withheld: bool) -> None:
    """Say whether figures for others may be made of the own log."""
    stored.withhold(store(), str(asking().own), withheld)


def own_data() -> bytes:
    """Return all there is of the lifter who asks, a ZIP of CSV files."""

    def make() -> bytes:
        content = io.BytesIO()
        with zipfile.ZipFile(content, "w", zipfile.ZIP_DEFLATED) as archive:
            for name, query in OWN.items():
                archive.writestr(f"{name}.csv", frame_csv(read(query)))
        return content.getvalue()

    return cached("own_data", stamp(), make)


def forget() -> str:
    """Remove the lifter who asks from the store, and say what that was."""
    erased = stored.forget(store(), str(asking().own))
    clear_cache()
    copies = " Copies made before still hold them." if erased.copies else ""
    return f"{erased.rows} rows of yours are removed for good.{copies}"


def people() -> pd.DataFrame:
    """Return who may sign in."""
    rows = read(stored.people)
    return rows.assign(lifters=rows["lifters"].map(" ".join))


def record() -> pd.DataFrame:
    """Return who did what, newest first."""
    return read(stored.record).iloc[::-1]
