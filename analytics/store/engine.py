"""DuckDB as it is used here: in memory, without extensions, files attached by name."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import duckdb

from analytics.store.private import private_files, spill_folder

# Whatever a file is called or holds, nothing is loaded or fetched to read it.
_NO_EXTENSIONS: dict[str, Any] = {
    "autoinstall_known_extensions": False, "autoload_known_extensions": False,
    "allow_community_extensions": False, "allow_unsigned_extensions": False,
}  # fmt: skip


@contextmanager
def in_memory() -> Iterator[duckdb.DuckDBPyConnection]:
    """Open a connection that loads no extension and writes for its owner alone.

    Yields
    ------
    con : DuckDBPyConnection
        Closed at the end of the block.
    """
    with (
        private_files(),
        spill_folder() as folder,
        duckdb.connect(":memory:", config=_NO_EXTENSIONS) as con,
    ):
        con.execute("SET enable_progress_bar = false")  # it would go to stdout
        if threads := os.environ.get("OMP_NUM_THREADS"):  # as other libraries take it
            con.execute("SET threads = $threads", {"threads": int(threads)})
        con.execute("SET temp_directory = $folder", {"folder": str(folder or "")})
        yield con


def attach(
    con: duckdb.DuckDBPyConnection, path: Path, name: str, *, read_only: bool = False
) -> None:
    """Attach a DuckDB file, which its content cannot make anything else.

    Parameters
    ----------
    con : DuckDBPyConnection
        From `in_memory`.
    path : Path
        The file, absolute.
    name : str
        What it is called in statements.
    read_only : bool
        Without the right to write.
    """
    quoted = str(path).replace("'", "''")
    mode = ", READ_ONLY" if read_only else ""
    con.execute(f"ATTACH '{quoted}' AS {name} (TYPE duckdb{mode})")


def confine(con: duckdb.DuckDBPyConnection) -> None:
    """Take from a connection the right to reach other files, for good.

    Parameters
    ----------
    con : DuckDBPyConnection
        From `in_memory`.
    """
    con.execute("SET enable_external_access = false")
    con.execute("SET lock_configuration = true")


def read_all(con: duckdb.DuckDBPyConnection) -> int:
    """Read every block of every table of the current database.

    Parameters
    ----------
    con : DuckDBPyConnection
        Connection.

    Returns
    -------
    rows : int
        Rows read.
    """
    tables = con.execute(
        "SELECT table_name FROM duckdb_tables() "
        "WHERE database_name = current_database() AND NOT temporary"
    ).fetchall()
    rows = 0
    for (table,) in tables:
        # hash() of whole rows touches every block of every column
        found = con.execute(
            f'SELECT count(*), bit_xor(hash(t)) FROM "{table}" AS t'
        ).fetchall()
        rows += int(found[0][0])
    return rows


def readable(path: Path) -> bool:
    """Tell whether every block of a file can be read.

    Parameters
    ----------
    path : Path
        A DuckDB file that this process does not have open.

    Returns
    -------
    readable : bool
        True also while others are in the way, since nothing is known then.
    """
    with in_memory() as con:
        try:
            attach(con, path, "store", read_only=True)
            con.execute("USE store")
            read_all(con)
        except duckdb.Error as error:
            return is_busy(error)
    return True


_BUSY = (
    "Could not set lock",
    "Unique file handle conflict",
    "different configuration",
    "is already attached",
)


def is_busy(error: duckdb.Error) -> bool:
    """Tell whether an error says that somebody else has the file open.

    Parameters
    ----------
    error : duckdb.Error
        The error.

    Returns
    -------
    busy : bool
        Waiting may help.
    """
    return any(sign in str(error) for sign in _BUSY)


def first_row(
    con: duckdb.DuckDBPyConnection, query: str, parameters: object = None
) -> tuple[Any, ...] | None:
    """First row of a result, which is read to its end so that the connection is free.

    Parameters
    ----------
    con : DuckDBPyConnection
        Connection.
    query : str
        Statement.
    parameters : object, optional
        Its parameters.

    Returns
    -------
    row : tuple or None
        None if there is no row.
    """
    rows = con.execute(query, parameters).fetchall()
    return rows[0] if rows else None
