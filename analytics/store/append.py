"""The one writer of what files bring: sets, bodies, rejected rows, names and layouts.

It works on relations of the connection that the store is attached to: ``numbered``
(what may be stored, with keys), ``typed`` (all rows), ``rejected`` and ``sheet``.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

import duckdb

from analytics.catalogue import normalise_name
from analytics.errors import FileRefusedError, InputError
from analytics.store.engine import first_row
from analytics.store.fields import FIELDS
from analytics.store.names import enter_names, makes_variant, teach
from analytics.store.schema import statement

# Columns of logged_set that a file can fill, and of set_detail with the value that
# stands for not logged; a cell of a load fills two of these besides its own, an
# interval of effort one.
CORE = tuple(f.column for f in FIELDS.values() if f.stored == "core")
DETAIL = {"on_body": "false", "load_counts": "''", "rir_half": "NULL"} | {
    f.column: "''" if f.type == "TEXT" else "NULL"
    for f in FIELDS.values() if f.stored == "detail"
}  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Batch:
    """One file that was read and judged.

    Attributes
    ----------
    file, file_hash, reading_hash, kind : str
        Name, SHA-256 of its bytes and of how it was read, ``sets`` or ``bodies``.
    column_map : str
        The complete map, as TOML.
    headers : sequence of str
        Mapped headers.
    filled : sequence of str
        Columns that can have a value.
    flat : bool
        Every row is one set.
    sheets : int
        How many.
    names : mapping of str to (str, str or None)
        Exercise name to variant, and the movement of a variant to be made.
    where : str
        The map, for messages.
    layout : (str, str)
        Signature of the header and the map to remember for it.
    fixes : tuple of int
        Keys of rejected rows whose place this file takes; it leaves no layout.
    """

    file: str
    file_hash: str
    reading_hash: str
    kind: str
    column_map: str
    headers: Sequence[str]
    filled: Sequence[str]
    flat: bool
    sheets: int
    names: Mapping[str, tuple[str, str | None]]
    where: str
    layout: tuple[str, str]
    fixes: tuple[int, ...] = ()


def append(
    con: duckdb.DuckDBPyConnection, batch: Batch, *, trial: bool
) -> tuple[int | None, dict[str, int]]:
    """Compare a batch with the store, count, and unless it is a trial, add what is new.

    Parameters
    ----------
    con : DuckDBPyConnection
        With the store attached, in a transaction, and the relations of the batch.
    batch : Batch
        What they are.
    trial : bool
        Only count and check.

    Returns
    -------
    intake_id : int or None
        Number of the import, None for a trial.
    counts : dict of str to int
        ``rows_read, rows_added, rows_known, rejected, sets_added, already_known``.
        Relation ``still_rejected`` has the rejected rows that were not fixed before.

    Raises
    ------
    FileRefusedError
        If a name of the map cannot mean what it says.
    """
    con.execute(_sql(f"known_{batch.kind}"))
    con.execute(_sql("still_rejected"))
    counts = _counts(con, flat=batch.flat)
    found = first_row(con, "SELECT coalesce(max(intake_id), 0) + 1 FROM intake")
    number = {"intake_id": int(found[0]) if found else 1}
    _teach(con, batch, None if trial else number["intake_id"])
    if trial:
        return None, counts
    core = [name for name in batch.filled if name in CORE]
    con.execute(_sql(f"add_{batch.kind}"),
                number | ({"core": core} if batch.kind == "sets" else {}))  # fmt: skip
    if batch.kind == "sets":
        _add_details(con, batch)
        enter_names(con, [row[0] for row in con.execute(
            _sql("new_names"), number).fetchall()])  # fmt: skip
    con.execute(_sql("add_rejected"), number)
    con.execute(_sql("add_intake"), number | counts | {
        "file": batch.file, "kind": batch.kind, "file_hash": batch.file_hash,
        "reading_hash": batch.reading_hash, "now": datetime.now(),
        "column_map": batch.column_map,
        "headers": json.dumps(list(batch.headers), ensure_ascii=False),
    })  # fmt: skip
    if batch.fixes:
        con.execute(_sql("mark_fixed"), number | {"keys": list(batch.fixes)})
    else:
        layout = dict(zip(("signature", "map"), batch.layout, strict=True))
        con.execute(_sql("remember"), layout | {"now": datetime.now()})
    return number["intake_id"], counts


def _sql(name: str) -> str:
    return statement(f"append/{name}")


def _counts(con: duckdb.DuckDBPyConnection, *, flat: bool) -> dict[str, int]:
    rows_read, good, known, rejected, faulty = first_row(
        con, _sql("counts"), {"flat": flat}
    ) or (0, 0, 0, 0, 0)
    added = good - known
    found = None if flat else first_row(con, _sql("rows_added"))
    rows_added = found[0] if found else added
    return {
        "rows_read": rows_read, "rows_added": rows_added,
        "rows_known": rows_read - rows_added - rejected, "sets_added": added,
        "already_known": known + faulty - rejected, "rejected": rejected,
    }  # fmt: skip


def _add_details(con: duckdb.DuckDBPyConnection, batch: Batch) -> None:
    """Store what few logs hold, for the new sets that have any of it."""
    filled = [name for name in DETAIL if name in batch.filled]
    several = batch.sheets > 1
    if not filled and not several:
        return
    value = {name: f"nullif(n.{name}, {DETAIL[name]})" for name in filled}
    columns = [f"{value[name]} AS {name}" for name in filled]
    columns += ["s.name AS source_sheet"] if several else []
    held = " OR ".join(f"{value[name]} IS NOT NULL" for name in filled)
    con.execute(
        f"INSERT INTO set_detail BY NAME SELECT n.set_key, {', '.join(columns)} "
        "FROM numbered AS n JOIN sheet AS s ON s.sheet_no = n.row_no // 4294967296 "
        "ANTI JOIN known AS k ON k.set_key = n.set_key "
        f"WHERE {'true' if several else held}"
    )


def _teach(con: duckdb.DuckDBPyConnection, batch: Batch, intake_id: int | None) -> None:
    """Teach names of the column map, or only check them, against what was said."""
    said = dict(con.execute(
        "SELECT name_key, variant FROM exercise_name WHERE decided_by = 'person'"
    ).fetchall())  # fmt: skip
    names = batch.names
    made: dict[str, str] = {}
    # Those that make a variant go first, since others may mean it.
    for text in sorted(names, key=lambda text: names[text][1] is None):
        variant, movement = names[text]
        where = f"{batch.where}: [names] `{text}` = `{variant}`"
        before = said.get(normalise_name(text), variant)
        if before != variant:
            raise FileRefusedError(
                f"{where}, but it was named {before} before; change that with "
                "`lacertus name`, or the map"
            )
        try:
            if makes_variant(con, text, variant, movement, made=made):
                made[variant] = str(movement)
            if intake_id is not None:
                teach(con, text, variant, movement, intake_id=intake_id)
        except InputError as error:
            raise FileRefusedError(f"{where}: {error}") from error
