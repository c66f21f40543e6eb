"""The store file: opening, making, migrating and waiting for others.

Everything that opens the DuckDB file goes through `Store`. Connections are short,
cannot reach other files, and wait a bounded time for other processes. Reading
writes nothing.
"""

from __future__ import annotations

import re
import time
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager, suppress
from pathlib import Path

import duckdb

from analytics.errors import InputError, StoreError
from analytics.store.asking import HOLDER, Asking, others_kept, show_theirs
from analytics.store.engine import attach, confine, in_memory, is_busy
from analytics.store.lock import PAUSE_S, store_lock
from analytics.store.private import private_files
from analytics.store.replace import log_of, put_in_place, workshop
from analytics.store.schema import migrate, schema_files, schema_version
from analytics.store.words import translated

WAIT_S = 30.0  # a reader among ten missed its turn for 15 s on a crowded machine
NOTHING_STORED = "nothing was stored"


class Store:
    """One DuckDB file of logged sets.

    Parameters
    ----------
    path : str or Path
        The file; made on the first write. Links are followed once, here.
    wait_s : float
        How long to wait for other processes before giving up. [s]
    asking : Asking
        Who asks; without, whoever holds the file, who may everything.
    on_wait : callable, optional
        Called when somebody else writes for so long that it should be said.

    Raises
    ------
    InputError
        If no file can have this name.
    """

    def __init__(
        self,
        path: str | Path,
        *,
        wait_s: float = WAIT_S,
        asking: Asking = HOLDER,
        on_wait: Callable[[], None] | None = None,
    ) -> None:
        self.path = _resolved(path)
        self.wait_s = wait_s
        self.asking = asking
        self.on_wait = on_wait

    def __getstate__(self) -> dict[str, object]:
        return {**self.__dict__, "on_wait": None}  # another process says it to nobody

    def __repr__(self) -> str:
        return f"Store({str(self.path)!r})"

    def asked_by(self, asking: Asking) -> Store:
        """Return the same store for somebody else.

        Parameters
        ----------
        asking : Asking
            Who asks.

        Returns
        -------
        store : Store
            Of the same file.
        """
        return Store(self.path, wait_s=self.wait_s, asking=asking, on_wait=self.on_wait)

    @property
    def exists(self) -> bool:
        """Whether the file is there."""
        with translated(self.path):
            there = self.path.exists()
            if there and not self.path.is_file():
                raise StoreError(f"`{self.path}` is no file; give another `--store`")
        return there

    @contextmanager
    def read(self) -> Iterator[duckdb.DuckDBPyConnection]:
        """Short connection without the right to write; an empty store without a file.

        Yields
        ------
        con : DuckDBPyConnection
            Closed at the end of the block. Read and leave.

        Raises
        ------
        StoreError
            If the file is busy for too long, damaged or of a newer version.
        """
        with in_memory() as con, self.attached(con, read_only=True):
            yield con

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
        with in_memory() as con, self.attached(con):
            yield con

    @contextmanager
    def attached(
        self, con: duckdb.DuckDBPyConnection, *, read_only: bool = False
    ) -> Iterator[None]:
        """Attach the file to a connection for one transaction, and make it current.

        Parameters
        ----------
        con : DuckDBPyConnection
            From `in_memory`; it may hold temporary tables, and cannot reach files
            afterwards.
        read_only : bool
            Attach without the right to write; an empty store if there is no file.

        Raises
        ------
        StoreError
            As `write` does.
        """
        deadline = time.monotonic() + self.wait_s
        with translated(self.path, "" if read_only else NOTHING_STORED):
            if read_only:
                self._attach_to_read(con, deadline)
                with _transaction(con):
                    yield
            else:
                with self.held(deadline):
                    self.attach(con, deadline)
                    con.execute("USE store")
                    migrate(con)
                    confine(con)
                    with _transaction(con), others_kept(con, self.asking):
                        yield

    @contextmanager
    def held(self, deadline: float) -> Iterator[None]:
        """Keep others of this program out of the file, and make it if there is none.

        Parameters
        ----------
        deadline : float
            ``time.monotonic()`` at which waiting ends.
        """
        with private_files():
            self.path.parent.mkdir(parents=True, exist_ok=True)
            with self._locked(deadline, writing=True):
                if not self.exists:
                    _make(self.path)
                with suppress(OSError):  # another owner's, who then decides
                    self.path.chmod(0o600)
                yield

    def attach(
        self,
        con: duckdb.DuckDBPyConnection,
        deadline: float,
        *,
        read_only: bool = False,
    ) -> None:
        """Attach the file as ``store``, waiting for others but without the lock.

        Parameters
        ----------
        con : DuckDBPyConnection
            From `in_memory`.
        deadline : float
            ``time.monotonic()`` at which waiting ends.
        read_only : bool
            Without the right to write.

        Raises
        ------
        StoreError
            If it is held by others until the deadline.
        """
        while True:
            try:
                return attach(con, self.path, "store", read_only=read_only)
            except duckdb.Error as error:
                if not is_busy(error):
                    raise
                if time.monotonic() > deadline:
                    raise StoreError(self._who(str(error))) from error
                time.sleep(PAUSE_S)

    def _attach_to_read(self, con: duckdb.DuckDBPyConnection, deadline: float) -> None:
        """Attach the file as ``store`` with the newest schema, and write nothing."""
        at = 0
        if self.exists:
            with self._locked(deadline, writing=False):
                self.attach(con, deadline, read_only=True)
            con.execute("USE store")
            at = schema_version(con)
        if at < schema_files()[-1][0]:  # the file itself waits for one who writes
            con.execute("ATTACH ':memory:' AS newer")
            if at:
                con.execute("COPY FROM DATABASE store TO newer")
            con.execute("USE newer")
            migrate(con)
        show_theirs(con, self.asking)
        confine(con)

    def _locked(
        self, deadline: float, *, writing: bool
    ) -> AbstractContextManager[None]:
        return store_lock(self.path, deadline, writing=writing, on_wait=self.on_wait)

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


def _resolved(path: str | Path) -> Path:
    """Follow links once, so that lock and log lie beside the file itself."""
    name = str(path)
    if not name.strip() or name == ".":
        raise InputError("the name of the store is empty; give a file with `--store`")
    try:
        name.encode()
        found = Path(path).resolve()
    except (ValueError, RuntimeError) as error:  # no UTF-8; links in a ring
        raise InputError(f"no store can be called {name!r}: {error}") from error
    if "?" in str(found):  # there DuckDB would cut the name of its log
        raise InputError(f"no store can be at '{found}': `?` may not be in its path")
    return found


def _make(path: Path) -> None:
    """Make an empty store; a crash or a full disk leaves none rather than half."""
    if log_of(path).exists():
        raise StoreError(
            f"`{log_of(path)}` holds changes of a store that is not there; put the "
            "store back beside it, or move it away"
        )
    with workshop(path) as made:
        with in_memory() as con:
            attach(con, made, "made")
            con.execute("USE made")
            migrate(con)
            con.execute("USE memory")
            con.execute("DETACH made")
        put_in_place(made, path)


@contextmanager
def _transaction(con: duckdb.DuckDBPyConnection) -> Iterator[None]:
    """Commit at the end of the block, then let go of the file."""
    con.begin()
    try:
        yield
        con.commit()
    except BaseException:
        with suppress(duckdb.Error):  # it may have ended with the error
            con.rollback()
        raise
    finally:
        # What is committed is in the log; a disk too full to fold it into the file
        # leaves it there for the next who writes.
        with suppress(duckdb.Error):
            con.execute("USE memory")
            con.execute("DETACH DATABASE IF EXISTS store")
