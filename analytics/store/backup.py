"""Copies of the store: made whole, checked, and put in place in one step."""

from __future__ import annotations

import os
import shutil
import time
from contextlib import suppress
from datetime import datetime
from pathlib import Path

import duckdb

from analytics.errors import InputError, StoreError
from analytics.store.connection import Store
from analytics.store.engine import first_row, in_memory, read_all
from analytics.store.lock import store_lock
from analytics.store.people import note
from analytics.store.private import private_files
from analytics.store.replace import copy_whole, log_of, put_in_place, workshop
from analytics.store.words import translated


def backup(store: Store, path: str | Path) -> Path:
    """Copy the store while nobody writes to it.

    Parameters
    ----------
    store : Store
        The store; where it can be written, it remembers the copy.
    path : str or Path
        New file; an existing one is refused.

    Returns
    -------
    path : Path
        The copy, checked.

    Raises
    ------
    InputError
        If there is no store yet, or the file exists or cannot be made there.
    StoreError
        If the store is busy or the copy cannot be written.
    """
    store.asking.must_be("owner", to="make a backup")
    path = _of_copy(path)
    if not store.exists:
        raise InputError(
            f"store `{store.path}` does not exist; there is nothing to copy"
        )
    with translated(path, "no copy was made"):
        if path.exists():
            raise InputError(f"`{path}` exists; give a new file name")
        if not path.parent.is_dir():
            raise InputError(f"no folder `{path.parent}`; make it or give another")
    with translated(path, "no copy was made"), workshop(path) as made:
        # With a reader inside no writer can start.
        with store.read(), translated(path, "no copy was made"):
            copy_whole(store.path, made)
        _check(made)
        put_in_place(made, path)
    with suppress(StoreError):
        brief = Store(store.path, wait_s=min(store.wait_s, 2), asking=store.asking)
        _remember(brief, [(str(path), _now())], "made a backup")
    return path


def restore(store: Store, path: str | Path) -> Path | None:
    """Put a backup in place of the store; the store of before is kept beside it.

    Parameters
    ----------
    store : Store
        The store to replace; it may be missing or damaged.
    path : str or Path
        A file made by `backup`.

    Returns
    -------
    kept : Path or None
        Where the store of before is now, None if there was none.

    Raises
    ------
    InputError
        If there is no such backup, or it is the store itself.
    StoreError
        If the backup is no sound store, or the store is in use.
    """
    store.asking.must_be("owner", to="restore a backup")
    path = _of_copy(path)
    with translated(path):
        if not path.is_file():
            raise InputError(f"no backup `{path}`")
        path.open("rb").close()
    if path == store.path:
        raise InputError(f"`{path}` is the store itself; give the backup")
    deadline = time.monotonic() + store.wait_s
    with translated(store.path, "nothing was restored"), private_files():
        store.path.parent.mkdir(parents=True, exist_ok=True)
        with workshop(store.path) as made:
            copy_whole(path, made)
            _check(made, shown=path)
            copies = [*_remembered(store), (str(path), _now())]
            _remember(Store(made, asking=store.asking), copies, "restored a backup")
            with store_lock(store.path, deadline, writing=True):
                _close(store, deadline)
                kept = _keep(store.path)
                put_in_place(made, store.path)
    return kept


def check(store: Store) -> int:
    """Read every row of the store once, so that damage is found.

    Parameters
    ----------
    store : Store
        The store.

    Returns
    -------
    rows : int
        Rows read.

    Raises
    ------
    StoreError
        If it is damaged.
    """
    return _check(store.path) if store.exists else 0


def remembered(store: Store) -> list[tuple[str, datetime]]:
    """List copies of the store, and when each was made.

    Parameters
    ----------
    store : Store
        The store.

    Returns
    -------
    copies : list of (str, datetime)
        Backups as remembered, and what `restore` kept beside the store; also such as
        are no longer where they were made.
    """
    with store.read() as con:
        copies = con.execute("SELECT path, made_at FROM copy_made ORDER BY path")
        found = dict(copies.fetchall())
    for kept in store.path.parent.iterdir():
        if kept.name.startswith(f"{store.path.name}.before-") and kept.suffix != ".wal":
            found[str(kept)] = datetime.fromtimestamp(kept.stat().st_mtime)
    return sorted(found.items())


def _remembered(store: Store) -> list[tuple[str, datetime]]:
    """Give the copies a store to be replaced knows of; a damaged one knows none."""
    with suppress(StoreError):
        return remembered(store) if store.exists else []
    return []


def _remember(store: Store, copies: list[tuple[str, datetime]], deed: str) -> None:
    with store.write() as con:
        con.executemany("INSERT OR REPLACE INTO copy_made VALUES (?, ?)", copies)
        note(con, store.asking, deed)


def _now() -> datetime:
    return datetime.now()


def _of_copy(path: str | Path) -> Path:
    try:
        str(path).encode()
        return Path(path).resolve()
    except (ValueError, RuntimeError) as error:
        raise InputError(f"no backup can be called {str(path)!r}: {error}") from error


def _check(path: Path, *, shown: Path | None = None) -> int:
    """Read a whole file; complain about it under the name a person gave."""
    tables = "SELECT count(*) FROM duckdb_tables() WHERE database_name = 'store'"
    try:
        with Store(path).read() as con:
            if first_row(con, tables) == (0,):
                raise StoreError(f"`{path}` is empty and no store of Lacertus")
            return read_all(con)
    except StoreError as error:
        raise StoreError(str(error).replace(str(path), str(shown or path))) from error


def _close(store: Store, deadline: float) -> None:
    """Wait for those who have the store open; a damaged one nobody can have."""
    if store.exists:
        with in_memory() as con, suppress(duckdb.Error):
            store.attach(con, deadline)  # and closing folds its log into it


def _keep(path: Path) -> Path | None:
    """Give the store of before another name; it keeps its own until replaced."""
    if not path.exists():
        return None
    stamp = datetime.now().strftime("%Y%m%d-%H%M%S-%f")
    kept = path.with_name(f"{path.name}.before-{stamp}")
    log = log_of(path)
    for before, after in ((path, kept), (log, log_of(kept))):
        if before.exists():
            try:
                os.link(before, after)
            except OSError:  # a file system without links
                shutil.copyfile(before, after)
            after.chmod(0o600)
    log.unlink(missing_ok=True)
    return kept
