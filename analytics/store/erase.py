"""Take things out of the store for good: rows, what was derived, and free space.

A deleted row stays readable in the file until its place is used again, so what
remains is written into a new file. It takes the place of the old one in one step:
erasing happens wholly or not at all, also when it is interrupted.
"""

from __future__ import annotations

import json
import re
import time
import tomllib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

import duckdb

from analytics.errors import InputError
from analytics.store.asking import HOLDER
from analytics.store.backup import remembered
from analytics.store.connection import Store
from analytics.store.engine import attach, confine, first_row, in_memory
from analytics.store.lookup import known_code
from analytics.store.people import note
from analytics.store.replace import put_in_place, workshop
from analytics.store.schema import migrate, statement
from analytics.store.words import translated

OF_SETS = ("set_detail", "deleted_set", "set_history")  # known by set_key
OF_LIFTERS = {"sets": "logged_set", "traces": "traced_rep", "bodies": "body"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Erased:
    """What was taken out of the store.

    Attributes
    ----------
    sets, traces, bodies : int
        Sets, traced repetitions and body measurements.
    imports : int
        Imports that these came from.
    copies : tuple of str
        Copies of the store made since, which still hold it.
    """

    sets: int
    traces: int
    bodies: int
    imports: int
    copies: tuple[str, ...]

    @property
    def rows(self) -> int:
        """Sets, repetitions and measurements together."""
        return self.sets + self.traces + self.bodies

    @property
    def still_held(self) -> str:
        """Sentence about the copies, empty without any."""
        if not self.copies:
            return ""
        places = ", ".join(
            f"`{path}`" + ("" if Path(path).exists() else " (moved or deleted since)")
            for path in self.copies
        )
        return f"copies made before still hold what was removed: {places}"


def undo(store: Store, intake_id: int) -> Erased:
    """Remove exactly what one intake added, so that it cannot be read any more.

    Parameters
    ----------
    store : Store
        The store.
    intake_id : int
        From `intakes`.

    Returns
    -------
    erased : Erased
        What was removed. Of the intake only its number and its counts remain. Names
        that its column map taught go with it, and variants these made, unless other
        sets or traces have them; what a person said of a name apart from it stays.

    Raises
    ------
    InputError
        If there is no such intake, or it has been undone already.
    """
    with store.read() as con:
        since = _taken_at(con, intake_id)
    with _rewritten(store) as con:
        _taken_at(con, intake_id)  # nobody undid it meanwhile
        for table in OF_LIFTERS.values():
            held = f"SELECT DISTINCT lifter FROM {table} WHERE intake_id = ?"
            for lifter in _column(con, held, [intake_id]):
                store.asking.must_see(lifter)
        _delete_of_sets(con, "intake_id = $id", {"id": intake_id})
        counts = {
            name: _delete(con, table, "intake_id = $id", {"id": intake_id})
            for name, table in OF_LIFTERS.items()
        }
        _forget_intake(con, intake_id)
        # Later files may have counted the removed sets as known: read them anew.
        con.execute("UPDATE intake SET whole = false WHERE intake_id > ?", [intake_id])
        con.execute(statement("drop_unused_names"))
        _drop_names(con, _column(
            con,
            "SELECT name_key FROM exercise_name WHERE taught_in IN "
            "(SELECT intake_id FROM intake WHERE undone_at IS NOT NULL)",
        ))  # fmt: skip
        note(con, store.asking, "undid", intake_id=intake_id)
    return Erased(**counts, imports=1, copies=_copies_since(store, since))


def forget(store: Store, lifter: str) -> Erased:
    """Remove everything of one lifter, so that it cannot be read any more.

    Parameters
    ----------
    store : Store
        The store.
    lifter : str
        Code of the lifter.

    Returns
    -------
    erased : Erased
        What was removed. With it go what was corrected, rows that wait, names of
        exercises nobody else does, and every saved fit.

    Raises
    ------
    InputError
        If the store holds nothing of this lifter; names codes that are near.
    """
    store.asking.must_be("lifter", "owner", to="remove a lifter")
    with store.read() as con:
        lifter = _known(con, lifter)
    store.asking.must_see(lifter)
    with _rewritten(store) as con:
        counts, touched = _delete_lifter(con, lifter)
        note(con, store.asking, "removed a lifter")
        taken_at = _column(
            con,
            "SELECT taken_at FROM intake WHERE list_contains($ids, intake_id)",
            {"ids": touched},
        )
    return Erased(
        **counts, imports=len(touched),
        copies=_copies_since(store, min(taken_at, default=datetime.min)),
    )  # fmt: skip


def _delete_lifter(
    con: duckdb.DuckDBPyConnection, lifter: str
) -> tuple[dict[str, int], list[int]]:
    """Delete all of a lifter; give what that was and the intakes it came from."""
    who, of_lifter = {"who": lifter}, "lifter = $who"
    waiting = [row for row in _waiting(con) if row[2] == lifter]
    touched = {row[0] for row in waiting}
    names = set()
    for table in OF_LIFTERS.values():
        held = f"FROM {table} WHERE {of_lifter}"
        touched |= set(_column(con, f"SELECT DISTINCT intake_id {held}", who))
        if table != "body":
            names |= set(_column(con, f"SELECT DISTINCT name_key {held}", who))
    _delete_of_sets(con, of_lifter, who)
    counts = {
        name: _delete(con, table, of_lifter, who) for name, table in OF_LIFTERS.items()
    }
    for table in ("pain_over", "coach_note", "withheld", "person_lifter"):
        _delete(con, table, of_lifter, who)
    _delete(con, "rejected_row", "rowid IN (SELECT unnest($rows))",
            {"rows": [row[1] for row in waiting]})  # fmt: skip
    _delete(con, "set_history", "column_name = 'lifter' AND "
            "list_contains([before, after], $who)", who)  # fmt: skip
    known = _column(con, "SELECT name_key FROM exercise_name")
    names |= set(filter(_word(lifter).search, known))  # also one that nobody logged
    _drop_names(con, sorted(names))
    _clean_intakes(con, lifter, touched)
    return counts, sorted(touched)


@contextmanager
def _rewritten(store: Store) -> Iterator[duckdb.DuckDBPyConnection]:
    """Transaction on a copy, which then takes the place of the store."""
    deadline = time.monotonic() + store.wait_s
    with (
        translated(store.path, "nothing was removed"),
        store.held(deadline),
        workshop(store.path) as made,
        in_memory() as con,
    ):
        draft = made.with_name("draft")
        store.attach(con, deadline)
        con.execute("USE store")
        migrate(con)
        attach(con, draft, "draft")
        attach(con, made, "made")
        confine(con)
        con.execute("COPY FROM DATABASE store TO draft")
        con.execute("USE draft")
        con.begin()
        yield con
        con.execute("DELETE FROM saved_fit")
        con.commit()
        con.execute("USE memory")
        con.execute("COPY FROM DATABASE draft TO made")
        for name in ("draft", "made", "store"):
            con.execute(f"DETACH {name}")
        draft.unlink()
        put_in_place(made, store.path)


def _taken_at(con: duckdb.DuckDBPyConnection, intake_id: int) -> datetime:
    """When an intake that has not been undone was taken in."""
    query = "SELECT taken_at, undone_at FROM intake WHERE intake_id = ?"
    found = first_row(con, query, [intake_id])
    if found is None:
        raise InputError(
            f"no intake {intake_id}; `lacertus intake` and `lacertus trace` print "
            "their numbers, and the page of logs lists them"
        )
    if found[1] is not None:
        raise InputError(f"intake {intake_id} was undone on {found[1]:%Y-%m-%d}")
    return found[0]


def _known(con: duckdb.DuckDBPyConnection, lifter: str) -> str:
    codes = set(_column(con, statement("known_lifters")))
    codes |= {row[2] for row in _waiting(con)}
    return known_code(lifter, filter(None, codes))


def _waiting(con: duckdb.DuckDBPyConnection) -> list[tuple[int, int, str | None]]:
    """Intake, place in the table and lifter of every rejected row."""
    owners = []
    for intake_id, headers, text in con.execute(
        "SELECT intake_id, headers, column_map FROM intake WHERE column_map <> '' "
        "AND intake_id IN (SELECT intake_id FROM rejected_row)"
    ).fetchall():
        read = tomllib.loads(text)
        header = read.get("columns", {}).get("lifter")
        names = json.loads(headers)
        owners.append({
            "intake_id": intake_id,
            "place": names.index(header) + 1 if header in names else 0,
            "lifter": read.get("settings", {}).get("lifter"),
        })  # fmt: skip
    if not owners:
        return []
    return con.execute(statement("waiting_lifters"), {"owners": owners}).fetchall()


def _column(
    con: duckdb.DuckDBPyConnection, query: str, parameters: object = None
) -> list[Any]:
    return [row[0] for row in con.execute(query, parameters).fetchall()]


def _delete(
    con: duckdb.DuckDBPyConnection, table: str, which: str, values: dict[str, Any]
) -> int:
    row = first_row(con, f"DELETE FROM {table} WHERE {which}", values)
    return int(row[0]) if row else 0


def _delete_of_sets(
    con: duckdb.DuckDBPyConnection, which: str, values: dict[str, Any]
) -> None:
    """Delete what belongs to sets, before these are deleted themselves."""
    for table in OF_SETS:
        _delete(con, table, "set_key IN (SELECT set_key FROM logged_set "
                f"WHERE {which})", values)  # fmt: skip


def _drop_names(con: duckdb.DuckDBPyConnection, names: list[str]) -> None:
    """Drop those of some names that nobody uses, and own variants that had no other."""
    unused = (
        "list_contains($names, name_key) AND name_key NOT IN "
        "(SELECT name_key FROM logged_set UNION SELECT name_key FROM traced_rep)"
    )
    variants = _column(con, "SELECT variant FROM exercise_name WHERE variant IS NOT "
                       f"NULL AND {unused}", {"names": names})  # fmt: skip
    _delete(con, "exercise_name", unused, {"names": names})
    _delete(con, "own_variant", "list_contains($variants, variant) AND variant NOT IN "
            "(SELECT variant FROM exercise_name WHERE variant IS NOT NULL)",
            {"variants": variants})  # fmt: skip


def _forget_intake(con: duckdb.DuckDBPyConnection, intake_id: int) -> None:
    """Leave of an intake no more than its number, its counts and when it was."""
    _delete(con, "rejected_row", "intake_id = $id", {"id": intake_id})
    con.execute(
        "UPDATE rejected_row SET fixed_by = NULL WHERE fixed_by = ?", [intake_id]
    )
    con.execute(
        "UPDATE intake SET undone_at = $now, whole = false, file = '', "
        "file_hash = '', reading_hash = '', column_map = '', headers = '[]' "
        "WHERE intake_id = $id", {"id": intake_id, "now": datetime.now()},
    )  # fmt: skip


def _word(lifter: str) -> re.Pattern[str]:
    return re.compile(rf"(?<!\w){re.escape(lifter)}(?!\w)", re.IGNORECASE)


def _clean_intakes(
    con: duckdb.DuckDBPyConnection, lifter: str, touched: set[int]
) -> None:
    """Forget intakes that nothing is left of; elsewhere drop the code itself."""
    left = {
        row
        for table in (*OF_LIFTERS.values(), "rejected_row")
        for row in _column(con, f"SELECT DISTINCT intake_id FROM {table}")
    }
    for intake_id in touched - left:
        _forget_intake(con, intake_id)
    con.execute("UPDATE intake SET whole = false WHERE list_contains($ids, intake_id)",
                {"ids": sorted(touched)})  # fmt: skip
    word = _word(lifter)
    setting = re.compile(r"(?<=^\[settings\]\n)((?:[^\[].*\n)*?)lifter = .*\n", re.M)
    sheets = re.compile(r"^sheet = (?:\[\n(?:    .*\n)*\]|.*)\n", re.M)

    def cleaned(text: str) -> str:
        read = tomllib.loads(text)
        if read.get("settings", {}).get("lifter") == lifter:
            text = setting.sub(r"\1", text)
        chosen = read.get("read", {}).get("sheet", [])
        named = lifter in ([chosen] if isinstance(chosen, str) else chosen)
        return sheets.sub("", text) if named else text

    for signature, text in con.execute(
        "SELECT signature, column_map FROM layout"
    ).fetchall():
        con.execute("UPDATE layout SET column_map = ? WHERE signature = ?",
                    [cleaned(text), signature])  # fmt: skip
    for intake_id, file, text in con.execute(
        "SELECT intake_id, file, column_map FROM intake"
    ).fetchall():
        if word.search(file):
            file = f"import {intake_id}"
        con.execute("UPDATE intake SET file = ?, column_map = ? WHERE intake_id = ?",
                    [file, cleaned(text), intake_id])  # fmt: skip


def _copies_since(store: Store, moment: datetime) -> tuple[str, ...]:
    copies = remembered(store.asked_by(HOLDER))
    return tuple(path for path, made_at in copies if made_at >= moment)
