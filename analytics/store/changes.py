"""What people change in the store: withdraw an intake, mend or delete a set."""

from __future__ import annotations

from datetime import date, datetime

import duckdb
import pandas as pd

from analytics.catalogue import normalise_name
from analytics.errors import InputError
from analytics.store.connection import Store, first_row, statement
from analytics.store.names import enter_names

# Columns a person may change: (lowest, highest) accepted, None for text and dates.
EDITABLE: dict[str, tuple[float, float] | None] = {
    "lifter": None, "performed_on": None, "equipment": None, "side": None,
    "stance": None, "tempo": None, "note": None, "load_kg": (-300, 1000),
    "reps": (0.1, 500), "rir": (0, 30), "failed": (0, 1), "hold_s": (0, 3600),
    "failed_at_deg": (-20, 180), "range_from_deg": (-20, 180), "range_to_deg": (-20, 180),
    "angle_deg": (-20, 180), "rotation_deg": (-90, 90), "pain": (0, 10),
    "body_mass_kg": (20, 400), "lean_deg": (-90, 90), "heave": (0, 1),
}  # fmt: skip
_TRACE_COLUMNS = ("start_s", "end_s", "peak1_s", "low_s", "peak2_s", "sticking_deg",
                  "sticking_from_deg", "sticking_to_deg")  # fmt: skip


def withdraw(store: Store, intake_id: int) -> int:
    """Remove exactly what one intake added.

    Parameters
    ----------
    store : Store
        The store.
    intake_id : int
        From `intakes`.

    Returns
    -------
    removed : int
        Sets and body measurements removed.

    Raises
    ------
    InputError
        If there is no such intake, or it has been withdrawn already.
    """
    with store.write() as con:
        found = first_row(
            con, "SELECT withdrawn_at FROM intake WHERE intake_id = ?", [intake_id]
        )
        if found is None:
            raise InputError(
                f"no intake {intake_id}; `lacertus aside` shows their numbers"
            )
        if found[0] is not None:
            raise InputError(f"intake {intake_id} was withdrawn on {found[0]:%Y-%m-%d}")
        removed = 0
        for table in ("logged_set", "body", "aside_row"):
            count = first_row(
                con, f"DELETE FROM {table} WHERE intake_id = ?", [intake_id]
            )
            removed += int(count[0]) if count and table != "aside_row" else 0
        con.execute(
            "UPDATE intake SET withdrawn_at = ?, whole = false WHERE intake_id = ?",
            [datetime.now(), intake_id],
        )
        # Later files may have counted the removed sets as known: read them anew.
        con.execute("UPDATE intake SET whole = false WHERE intake_id > ?", [intake_id])
        con.execute(
            "DELETE FROM exercise_name WHERE decided_by <> 'person' AND name_key NOT IN "
            "(SELECT name_key FROM logged_set UNION SELECT name_key FROM traced_rep)"
        )
    return removed


def history(store: Store, set_id: str) -> pd.DataFrame:
    """What people changed about one set.

    Parameters
    ----------
    store : Store
        The store.
    set_id : str
        From `sets`.

    Returns
    -------
    history : DataFrame
        Columns ``changed_at, action, column, before, after``, oldest first.
    """
    with store.read() as con:
        return con.execute(statement("set_history"), {"set_key": int(set_id)}).df()


def edit_set(store: Store, set_id: str, **changes: object) -> None:
    """Change columns of a stored set; the old values stay in its history.

    Parameters
    ----------
    store : Store
        The store.
    set_id : str
        From `sets`.
    **changes : object
        Column to new value; ``exercise`` renames it. None empties a number.

    Raises
    ------
    InputError
        If there is no such set or column, or a value is out of its limits.
    """
    with store.write() as con:
        before = _stored(con, set_id)
        if "exercise" in changes:
            text = str(changes.pop("exercise"))
            enter_names(con, [text])
            _change(con, set_id, "name_key", before["name_key"], normalise_name(text))
        for column, value in changes.items():
            _accepted(column, value)
            _change(con, set_id, column, before[column], value)


def delete_set(store: Store, set_id: str) -> None:
    """Delete a set; it stays known, so that its file cannot bring it back.

    Parameters
    ----------
    store : Store
        The store.
    set_id : str
        From `sets`.

    Raises
    ------
    InputError
        If there is no such set.
    """
    with store.write() as con:
        _stored(con, set_id)
        con.execute(
            "UPDATE logged_set SET deleted = true WHERE set_key = ?", [int(set_id)]
        )
        con.execute(
            "INSERT INTO set_history VALUES (?, ?, 'deleted', 'deleted', 'false', 'true')",
            [int(set_id), datetime.now()],
        )


def _stored(con: duckdb.DuckDBPyConnection, set_id: str) -> dict[str, object]:
    if set_id.isdigit():
        found = first_row(
            con, "FROM logged_set WHERE set_key = ? AND NOT deleted", [int(set_id)]
        )
        if found:
            return dict(zip([d[0] for d in con.description], found, strict=True))
    raise InputError(f"no set `{set_id}`; take the identifier from the table of sets")


def _accepted(column: str, value: object) -> None:
    if column not in EDITABLE:
        raise InputError(f"`{column}` cannot be edited; can be: {', '.join(EDITABLE)}")
    limits = EDITABLE[column]
    if limits is None:
        if column == "performed_on" and not isinstance(value, date):
            raise InputError(f"`performed_on` must be a date, got {value!r}")
        if value is None or (column == "lifter" and not str(value).strip()):
            raise InputError(f"`{column}` cannot be empty")
        return
    if value is None and column not in ("load_kg", "failed"):
        return
    if not isinstance(value, int | float) or not limits[0] <= value <= limits[1]:
        raise InputError(
            f"`{column}` must be {limits[0]:g} to {limits[1]:g}, got {value!r}"
        )


def _change(
    con: duckdb.DuckDBPyConnection,
    set_id: str,
    column: str,
    before: object,
    after: object,
) -> None:
    con.execute(f"UPDATE logged_set SET {column} = ? WHERE set_key = ?",
                [after, int(set_id)])  # fmt: skip
    con.execute(
        "INSERT INTO set_history VALUES (?, ?, 'edited', ?, ?, ?)",
        [int(set_id), datetime.now(), column,
         None if before is None else str(before), None if after is None else str(after)],
    )  # fmt: skip


def save_reps(store: Store, reps_frame: pd.DataFrame, file_hash: str) -> None:
    """Keep the repetitions of one trace file; saving it again replaces them.

    Parameters
    ----------
    store : Store
        The store.
    reps_frame : DataFrame
        Columns ``lifter, exercise, set, rep``, the times and angles of a trace, and
        ``performed_on`` if known.
    file_hash : str
        SHA-256 of the trace file.
    """
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
    })  # fmt: skip
    with store.write() as con:
        con.execute("DELETE FROM traced_rep WHERE file_hash = ?", [file_hash])
        enter_names(con, reps_frame["exercise"].astype(str).unique())
        con.register("kept", keep)
        con.execute("INSERT INTO traced_rep SELECT * FROM kept")
        con.unregister("kept")
