"""What people change of stored sets: fix one, delete it, say that it is right."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import date, datetime, timedelta
from math import inf
from typing import TYPE_CHECKING, Any

import duckdb

from analytics.catalogue import normalise_name
from analytics.errors import InputError
from analytics.labels import label_problem
from analytics.store.connection import Store
from analytics.store.engine import first_row
from analytics.store.fields import BY_COLUMN, EDITABLE, FIELDS, Field
from analytics.store.limits import FIRST_DAY
from analytics.store.names import enter_names
from analytics.store.people import note
from analytics.store.reserve import middle_and_half
from analytics.store.schema import statement

if TYPE_CHECKING:
    import pandas as pd

_HEX = re.compile("[0-9a-f]{1,32}")


def history(
    store: Store, set_id: str | None = None, *, lifter: str | None = None
) -> pd.DataFrame:
    """Tell what people changed about sets.

    Parameters
    ----------
    store : Store
        The store.
    set_id : str, optional
        From `sets`; only this one.
    lifter : str, optional
        Only sets of this one.

    Returns
    -------
    history : DataFrame
        Columns ``changed_at, set_id, performed_on, exercise, action, column, before,
        after``, oldest first.
    """
    wanted = {"set_key": _key(set_id) if set_id else None, "lifter": lifter}
    with store.read() as con:
        return con.execute(statement("set_history"), wanted).df()


def edit_set(store: Store, set_id: str, **changes: object) -> None:
    """Change columns of a stored set; the old values stay in its history.

    Parameters
    ----------
    store : Store
        The store.
    set_id : str
        From `sets`.
    changes : object
        Column to new value; ``exercise`` renames it. None empties a number; ``rir``
        may be the two ends of an interval.

    Raises
    ------
    InputError
        If there is no such set or column, or a value is out of its limits.
    """
    edit_sets(store, {set_id: changes})


def edit_sets(store: Store, changed: Mapping[str, Mapping[str, object]]) -> None:
    """Change columns of several stored sets, all of them or none.

    Parameters
    ----------
    store : Store
        The store.
    changed : mapping of str to mapping
        ``set_id`` to columns and their new values, as :func:`edit_set` has them.

    Raises
    ------
    InputError
        If there is no such set or column, or a value is out of its limits.
    """
    for set_id in changed:
        _must_see(store, set_id)
    with store.write() as con:
        now = datetime.now()  # one moment for what is changed together
        for set_id, changes in changed.items():
            intake_id = _edit(con, set_id, dict(changes), now)
            _note(con, store, "corrected", set_id, intake_id)


def _edit(
    con: duckdb.DuckDBPyConnection,
    set_id: str,
    changes: dict[str, object],
    now: datetime,
) -> int:
    exercise = changes.pop("exercise", None)
    for column, value in changes.items():
        _accepted(column, value)
    before = _stored(con, set_id)
    _consistent({**before, **changes}, on_body=_on_body(before))
    if exercise is not None:
        text = str(exercise)
        key = normalise_name(text)
        if (
            not key
            or label_problem(text)
            or len(text) > (FIELDS["exercise"].letters or 0)
        ):
            raise InputError(f"`{text[:40]}` is no exercise name")
        enter_names(con, [text])
        changes = {"name_key": key, **changes}
    for column, value in changes.items():
        if value != before[column] and {value, before[column]} != {"", None}:
            _change(con, set_id, column, before[column], value, now)
    return int(before["intake_id"])


def undo_edit(store: Store, set_id: str) -> None:
    """Take back the last change of a set; this too stays in its history.

    Parameters
    ----------
    store : Store
        The store.
    set_id : str
        From `sets`.

    Raises
    ------
    InputError
        If there is no such set, or nothing of it is changed any more.
    """
    _must_see(store, set_id)
    changed = history(store, set_id)
    standing = _standing(changed[changed["column"] != "doubt"])
    if not standing:
        raise InputError(f"no change of set `{set_id}` stands; nothing to undo")
    values: dict[str, object] = {}
    with store.read() as con:
        for column, (before, _) in standing[-1].items():
            ends = before.split("-") if column == "rir" else []
            if len(ends) == 2:
                values[column] = (float(ends[0]), float(ends[1]))
            elif BY_COLUMN[column].type == "TEXT":
                name = "exercise" if column == "name_key" else column
                values[name] = before or ""
            else:
                cast = f"SELECT CAST($text AS {BY_COLUMN[column].type})"
                values[column] = (
                    first_row(con, cast, {"text": before or None}) or [None]
                )[0]
    edit_set(store, set_id, **values)


def _standing(changed: pd.DataFrame) -> list[dict[str, tuple[str, str]]]:
    """Give changes of one set, column to before and after, less those put back."""
    standing: list[dict[str, tuple[str, str]]] = []
    for _, rows in changed.groupby("changed_at"):
        texts = (rows[name].fillna("") for name in ("before", "after"))
        change = dict(zip(rows["column"], zip(*texts, strict=True), strict=True))
        back = {column: (after, before) for column, (before, after) in change.items()}
        if standing and standing[-1] == back:
            standing.pop()
        else:
            standing.append(change)
    return standing


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
    _must_see(store, set_id)
    with store.write() as con:
        stored = _stored(con, set_id)
        now = datetime.now()
        con.execute("INSERT INTO deleted_set VALUES (?, ?)", [_key(set_id), now])
        con.execute(
            "INSERT INTO set_history VALUES (?, ?, 'deleted', 'deleted', 'no', 'yes')",
            [_key(set_id), now],
        )
        _note(con, store, "deleted", set_id, stored["intake_id"])


def accept_set(store: Store, set_id: str, doubt: str) -> None:
    """Keep that a person said a set is right that looks like a slip.

    Parameters
    ----------
    store : Store
        The store.
    set_id : str
        From `sets`.
    doubt : str
        What made it look so; holds until its load, repetitions or exercise change.

    Raises
    ------
    InputError
        If there is no such set.
    """
    _must_see(store, set_id)
    with store.write() as con:
        con.execute(
            "INSERT INTO set_history VALUES (?, ?, 'edited', 'doubt', ?, 'right')",
            [_key(set_id), datetime.now(), doubt],
        )
        _note(con, store, "corrected", set_id, int(_stored(con, set_id)["intake_id"]))


def _must_see(store: Store, set_id: str) -> None:
    with store.read() as con:
        _stored(con, set_id)


def _note(
    con: duckdb.DuckDBPyConnection, store: Store, deed: str, set_id: str, intake_id: int
) -> None:
    about = f"set {set_id[:8].lower()}"  # enough to find it again
    note(con, store.asking, deed, intake_id=intake_id, about=about)


def _key(set_id: str) -> int:
    """Key of a set; it is shown in hexadecimal, because decimal is slow to write."""
    if not _HEX.fullmatch(set_id.lower()):
        raise InputError(
            f"no set `{set_id}`; take the identifier from the table of sets"
        )
    return int(set_id, 16)


def _stored(con: duckdb.DuckDBPyConnection, set_id: str) -> dict[str, Any]:
    result = con.execute(statement("one_set"), {"set_key": _key(set_id)})
    names = [column[0] for column in result.description]
    rows = result.fetchall()
    if rows:
        stored = dict(zip(names, rows[0], strict=True))
        if half := stored.pop("rir_half"):
            stored["rir"] = (stored["rir"] - half, stored["rir"] + half)
        return stored
    raise InputError(f"no set `{set_id}`; take the identifier from the table of sets")


def _accepted(column: str, value: object) -> None:
    field = EDITABLE.get(column)
    if field is None:
        names = ", ".join("exercise" if c == "name_key" else c for c in EDITABLE)
        raise InputError(f"`{column}` cannot be edited; can be: {names}")
    if field.type == "DATE":
        last = date.today() + timedelta(days=1)
        if not isinstance(value, date) or not FIRST_DAY <= value <= last:
            raise InputError(
                f"`{column}` must be a date from {FIRST_DAY} to today, got {value!r}"
            )
    elif field.type == "TEXT":
        _accepted_text(field, value)
    elif value is not None or column in ("load_kg", "failed"):
        low, high = field.limits or (-inf, inf)
        interval = column == "rir" and isinstance(value, tuple) and len(value) == 2
        ends: tuple[object, ...] = value if interval else (value,)  # type: ignore[assignment]
        if not all(
            isinstance(end, int | float)
            and (not isinstance(end, bool) or field.type == "BOOLEAN")
            and low <= end <= high
            for end in ends
        ):
            raise InputError(f"`{column}` must be {field.accepted}, got {value!r}")


def _accepted_text(field: Field, value: object) -> None:
    column = field.column
    if not isinstance(value, str) or (column == "lifter" and not value.strip()):
        raise InputError(f"`{column}` must be text, got {value!r}")
    if field.letters and len(value) > field.letters:
        raise InputError(f"`{column}` is longer than {field.letters} letters")
    if column == "side" and value not in ("", "left", "right"):
        raise InputError(f"`side` must be left, right or empty, got {value!r}")
    if field.reader == "label" and (problem := label_problem(value)):
        raise InputError(f"`{column}` holds {problem}")


def _on_body(stored: Mapping[str, Any]) -> bool:
    return bool(stored["on_body"]) or stored["load_kg"] < 0


def _consistent(values: Mapping[str, Any], *, on_body: bool) -> None:
    """Refuse what intake would reject as contradicting itself."""
    if values["reps"] is None and values["hold_s"] is None:
        raise InputError("a set needs `reps` or `hold_s`")
    if values["failed"] and (middle_and_half(values["rir"])[0] or 0) >= 1:
        raise InputError("`failed` contradicts repetitions left in reserve")
    if values["load_kg"] < 0 and not on_body:
        raise InputError("`load_kg` is negative, but is not added to body mass")
    first, last = values["range_from_deg"], values["range_to_deg"]
    if first is not None and last is not None and first >= last:
        raise InputError("`range_to_deg` must be above `range_from_deg`")


def _change(
    con: duckdb.DuckDBPyConnection,
    set_id: str,
    column: str,
    before: Any,
    after: Any,
    now: datetime,
) -> None:
    key, stored = _key(set_id), {column: after}
    if column == "rir":
        stored = dict(zip(("rir", "rir_half"), middle_and_half(after), strict=True))
    for name, value in stored.items():
        field = BY_COLUMN.get(name)
        table = "logged_set" if field and field.stored == "core" else "set_detail"
        if table == "set_detail" and value is not None:
            con.execute(
                "INSERT INTO set_detail (set_key) SELECT $key WHERE NOT EXISTS "
                "(SELECT 1 FROM set_detail WHERE set_key = $key)",
                {"key": key},
            )
        con.execute(f"UPDATE {table} SET {name} = ? WHERE set_key = ?", [value, key])
    texts = [None if value is None else _text(value) for value in (before, after)]
    con.execute(
        "INSERT INTO set_history VALUES (?, ?, 'edited', ?, ?, ?)",
        [key, now, column, *texts],
    )


def _text(value: object) -> str:
    if isinstance(value, tuple):
        return "-".join(f"{end:g}" for end in value)
    return str(value)
