"""Repetitions of trace files, kept like an import so that they can be undone."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

from analytics.catalogue import normalise_name
from analytics.store.connection import Store
from analytics.store.engine import first_row
from analytics.store.names import enter_names
from analytics.store.people import note
from analytics.store.schema import statement

if TYPE_CHECKING:
    import pandas as pd

_TRACE_COLUMNS = ("start_s", "end_s", "peak1_s", "low_s", "peak2_s", "sticking_deg",
                  "sticking_from_deg", "sticking_to_deg")  # fmt: skip


def save_reps(
    store: Store, reps_frame: pd.DataFrame, *, file: str, file_hash: str
) -> int:
    """Keep the repetitions of one trace file; saving it again replaces them.

    Parameters
    ----------
    store : Store
        The store.
    reps_frame : DataFrame
        Columns ``lifter, exercise, set, rep``, the times and angles of a trace, and
        ``performed_on`` if known.
    file : str
        Name of the trace file.
    file_hash : str
        SHA-256 of it.

    Returns
    -------
    intake_id : int
        Number to undo them by; the same again for the same file.
    """
    import pandas as pd

    with store.write() as con:
        found = first_row(
            con,
            "SELECT coalesce(min(intake_id) FILTER (WHERE kind = 'traces' AND "
            "file_hash = ? AND undone_at IS NULL), max(intake_id) + 1, 1) "
            "FROM intake",
            [file_hash],
        )
        intake_id = int(found[0]) if found else 1
        for table in ("traced_rep", "intake"):
            con.execute(f"DELETE FROM {table} WHERE intake_id = ?", [intake_id])
        keep = pd.DataFrame({
            "file_hash": file_hash,
            "lifter": reps_frame["lifter"].astype(str),
            "performed_on": pd.to_datetime(reps_frame["performed_on"]).dt.date
            if "performed_on" in reps_frame else None,
            "exercise": reps_frame["exercise"].astype(str),
            "name_key": [normalise_name(str(text)) for text in reps_frame["exercise"]],
            "set_label": reps_frame["set"].astype(str),
            "rep": reps_frame["rep"].astype(int),
            **{column: reps_frame[column].astype(float) for column in _TRACE_COLUMNS},
            "intake_id": intake_id,
        })  # fmt: skip
        enter_names(con, reps_frame["exercise"].astype(str).unique())
        con.register("kept", keep)
        con.execute("INSERT INTO traced_rep SELECT * FROM kept")
        con.unregister("kept")
        con.execute(statement("add_trace"), {
            "intake_id": intake_id, "file": file, "file_hash": file_hash,
            "now": datetime.now(), "reps": len(keep),
        })  # fmt: skip
        note(con, store.asking, "brought in", intake_id=intake_id)
    return intake_id
