"""The store file: opening, migrating, waiting for others, and its errors.

Everything that opens the DuckDB file goes through `Store`. Connections are short,
cannot reach other files, and wait a bounded time for other processes.
"""

from __future__ import annotations

import re
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from datetime import datetime
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any, TypeVar

import duckdb

from analytics.errors import StoreError
from analytics.store.gate import PAUSE_S, gate

SQL = files("analytics.store") / "sql"
WAIT_S = 30.0  # a reader among ten missed its turn for 15 s on a crowded machine
T = TypeVar("T")

_BUSY = (
    "Could not set lock",
    "Unique file handle conflict",
    "different configuration",
    "is already attached",
)
_FULL = ("no space left", "file too large", "out of disk", "disk quota")
_DAMAGED = ("not a valid duckdb", "checksum", "corrupt")
_BROKEN = (
    duckdb.InternalException, duckdb.SerializationException, duckdb.FatalException,
)  # fmt: skip


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
    tables = {
        row[0]
        for row in con.execute(
            "SELECT table_name FROM duckdb_tables() "
            "WHERE database_name = current_database() AND NOT temporary"
        ).fetchall()
    }
    if "schema_version" not in tables:
        if tables:
            raise StoreError(
                "this DuckDB file holds other tables and is no store of Lacertus; "
                "give another `--store`"
            )
        return 0
    row = first_row(con, "SELECT max(version) FROM schema_version")
    version = int(row[0]) if row and row[0] is not None else 0
    newest = schema_files()[-1][0]
    if version > newest:
        raise StoreError(
            f"store is schema version {version}, this program knows {newest}; "
            "upgrade the program"
        )
    return version


class Store:
    """One DuckDB file of logged sets.

    Parameters
    ----------
    path : str or Path
        The file; made on the first write.
    wait_s : float
        How long to wait for other processes before giving up. [s]
    """

    def __init__(self, path: str | Path, *, wait_s: float = WAIT_S) -> None:
        self.path = Path(path)
        self.wait_s = wait_s

    def __repr__(self) -> str:
        return f"Store({str(self.path)!r})"

    @property
    def exists(self) -> bool:
        """Whether the file is there."""
        return self.path.is_file()

    @contextmanager
    def read(self) -> Iterator[duckdb.DuckDBPyConnection]:
        """Short read-only connection; an empty store if there is no file yet.

        Yields
        ------
        con : DuckDBPyConnection
            Closed at the end of the block. Read and leave.

        Raises
        ------
        StoreError
            If the file is busy for too long, damaged or of a newer version.
        """
        if not self.exists:
            with duckdb.connect(":memory:") as con:
                migrate(con)
                yield con
            return
        con = self._open_current()
        try:
            with translated(self.path):
                yield con
        finally:
            con.close()

    @contextmanager
    def write(self) -> Iterator[duckdb.DuckDBPyConnection]:
        """Read-write transaction: all of the block or nothing of it.

        Yields
        ------
        con : DuckDBPyConnection
            Inside a transaction that is committed at the end of the block.

        Raises
        ------
        StoreError
            If the file is busy for too long, damaged, read-only, the disk is full,
            or of a newer version.
        """
        with duckdb.connect(":memory:") as con, self.attached(con):
            con.begin()
            try:
                yield con
                con.commit()
            except BaseException:
                con.rollback()
                raise

    @contextmanager
    def attached(
        self, con: duckdb.DuckDBPyConnection, *, read_only: bool = False
    ) -> Iterator[None]:
        """Attach the file to a connection and make it current.

        Parameters
        ----------
        con : DuckDBPyConnection
            In-memory connection that may hold temporary tables; it cannot reach
            files afterwards.
        read_only : bool
            Attach without the right to write; an empty store if there is no file.

        Raises
        ------
        StoreError
            As `write` does.
        """
        deadline = time.monotonic() + self.wait_s
        if read_only and self.exists:
            self._open_current().close()  # brings an old schema up to date
        with translated(self.path), ExitStack() as stack:
            if not read_only:
                self.path.parent.mkdir(parents=True, exist_ok=True)
            door = stack.enter_context(ExitStack())
            door.enter_context(gate(self.path, deadline))
            if read_only and not self.exists:
                con.execute("ATTACH ':memory:' AS store")
            else:
                self.attach(con, deadline, read_only=read_only)
            if read_only:
                door.close()
            try:
                con.execute("SET enable_external_access = false")
                con.execute("USE store")
                if not (read_only and self.exists):
                    migrate(con)
                yield
            finally:
                con.execute("USE memory")
                con.execute("DETACH store")

    def attach(
        self,
        con: duckdb.DuckDBPyConnection,
        deadline: float,
        *,
        read_only: bool = False,
    ) -> None:
        """Attach the file as ``store``, waiting for others but without the door.

        Parameters
        ----------
        con : DuckDBPyConnection
            Connection.
        deadline : float
            ``time.monotonic()`` at which waiting ends.
        read_only : bool
            Without the right to write.

        Raises
        ------
        StoreError
            If it is held by others until the deadline.
        """
        quoted = str(self.path).replace("'", "''")
        mode = " (READ_ONLY)" if read_only else ""
        self._until(deadline, lambda: con.execute(f"ATTACH '{quoted}' AS store{mode}"))

    def _open_current(self) -> duckdb.DuckDBPyConnection:
        """Read-only connection to a store of the newest schema."""
        con = self._open()
        try:
            with translated(self.path):
                outdated = schema_version(con) < schema_files()[-1][0]
        except BaseException:
            con.close()
            raise
        if not outdated:
            return con
        con.close()
        with self.write():  # opening for writing migrates
            pass
        return self._open()

    def _open(self) -> duckdb.DuckDBPyConnection:
        deadline = time.monotonic() + self.wait_s
        with translated(self.path), gate(self.path, deadline):
            return self._until(
                deadline,
                lambda: duckdb.connect(
                    str(self.path),
                    read_only=True,
                    config={"enable_external_access": False},
                ),
            )

    def _until(self, deadline: float, action: Callable[[], T]) -> T:
        """Try again while another process or connection is in the way."""
        while True:
            try:
                return action()
            except duckdb.Error as error:
                if not any(sign in str(error) for sign in _BUSY):
                    raise
                if time.monotonic() > deadline:
                    raise StoreError(self._who(str(error))) from error
                time.sleep(PAUSE_S)

    def _who(self, message: str) -> str:
        holder = re.search(r"held in (\S+) \(PID (\d+)\)", message)
        who = (
            f"process {holder[2]} ({holder[1]})"
            if holder
            else "another part of this program"
        )
        return (
            f"store `{self.path}` is held by {who} "
            f"for more than {self.wait_s:g} s; close it and try again"
        )


@contextmanager
def translated(path: Path) -> Iterator[None]:
    """Say in plain words what DuckDB or the disk refused.

    Parameters
    ----------
    path : Path
        The store file.

    Raises
    ------
    StoreError
        In place of errors of DuckDB's storage and of the operating system.
    """
    try:
        yield
    except (duckdb.Error, OSError) as error:
        words = _in_words(path, error)
        if words is None:
            raise
        raise StoreError(words) from error


def _in_words(path: Path, error: Exception) -> str | None:
    """Plain words for an error of storage; None for any other."""
    message = str(error).lower()
    if any(sign in message for sign in _FULL):
        return f"the disk of store `{path}` is full; nothing was stored"
    if any(sign in message for sign in _DAMAGED) or isinstance(error, _BROKEN):
        return (
            f"store `{path}` is damaged or no DuckDB file; "
            "restore a backup with `lacertus restore`"
        )
    if "permission denied" in message or "read-only file system" in message:
        return f"store `{path}` cannot be written to: no permission; nothing was stored"
    if isinstance(error, duckdb.IOException | OSError):
        return f"store `{path}` cannot be used: {str(error).splitlines()[0]}"
    return None


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
