"""The schema of the store in numbered steps, and whether a file has it."""

from __future__ import annotations

from datetime import datetime
from functools import cache
from importlib.resources import files

import duckdb

from analytics.errors import StoreError
from analytics.store.engine import first_row, in_memory

SQL = files("analytics.store") / "sql"


@cache
def schema_files() -> tuple[tuple[int, str], ...]:
    """Numbered schema steps.

    Returns
    -------
    steps : tuple of (int, str)
        Version and its statements, oldest first.
    """
    steps = [
        (int(entry.name.split("_")[0]), entry.read_text(encoding="utf-8"))
        for entry in (SQL / "schema").iterdir()
        if entry.name.endswith(".sql")
    ]
    return tuple(sorted(steps))


@cache
def statement(name: str) -> str:
    """Text of one query.

    Parameters
    ----------
    name : str
        File name in ``sql/`` without its ending.

    Returns
    -------
    text : str
        The statement.
    """
    return (SQL / f"{name}.sql").read_text(encoding="utf-8")


def migrate(con: duckdb.DuckDBPyConnection) -> None:
    """Bring the current database up to the newest schema, one step at a time.

    Parameters
    ----------
    con : DuckDBPyConnection
        Connection whose current database is the store.
    """
    at = schema_version(con)
    for version, text in schema_files():
        if version <= at:
            continue
        con.begin()
        con.execute(text)
        con.execute(
            "INSERT INTO schema_version VALUES ($version, $now)",
            {"version": version, "now": datetime.now().replace(microsecond=0)},
        )
        con.commit()


def schema_version(con: duckdb.DuckDBPyConnection) -> int:
    """Version of the schema of the current database.

    Parameters
    ----------
    con : DuckDBPyConnection
        Connection whose current database is the store.

    Returns
    -------
    version : int
        0 for an empty file.

    Raises
    ------
    StoreError
        If the file was made by a newer version, or is no store of ours.
    """
    found = _columns(con)
    if not found:
        return 0
    if not _columns_at(1, "schema_version") <= found:
        raise StoreError(
            f"{_file(con)} holds other tables and is no store of Lacertus; "
            "give another `--store`"
        )
    row = first_row(con, "SELECT max(version) FROM schema_version")
    version = int(row[0]) if row and row[0] is not None else 0
    newest = schema_files()[-1][0]
    if version > newest:
        raise StoreError(
            f"store {_file(con)} is schema version {version}, this program knows "
            f"{newest}; upgrade the program"
        )
    missing = sorted(_columns_at(version) - found)
    if missing or version < 1:
        lacks = f"`{missing[0][1]}` of `{missing[0][0]}`" if missing else "its version"
        raise StoreError(
            f"{_file(con)} lacks {lacks} and is no whole store of Lacertus; restore a "
            "backup with `lacertus restore`, or give another `--store`"
        )
    return version


def _file(con: duckdb.DuckDBPyConnection) -> str:
    row = first_row(
        con,
        "SELECT path FROM duckdb_databases() WHERE database_name = current_database()",
    )
    return f"`{row[0]}`" if row else "this file"


def _columns(con: duckdb.DuckDBPyConnection) -> frozenset[tuple[str, str, str]]:
    """Tables, columns and types of the current database."""
    return frozenset(con.execute(
        "SELECT table_name, column_name, data_type FROM duckdb_columns() "
        "WHERE database_name = current_database() AND NOT internal"
    ).fetchall())  # fmt: skip


@cache
def _columns_at(
    version: int, table: str | None = None
) -> frozenset[tuple[str, str, str]]:
    """Give what a store of a version holds, or one table of it."""
    with in_memory() as con:
        for number, text in schema_files():
            if number <= version:
                con.execute(text)
        return frozenset(
            row for row in _columns(con) if table is None or row[0] == table
        )
