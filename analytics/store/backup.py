"""Copies of the store: made whole, checked, and put in place in one step."""

from __future__ import annotations

import os
import shutil
import tempfile
import time
from contextlib import suppress
from pathlib import Path

import duckdb

from analytics.errors import InputError, StoreError
from analytics.store.connection import Store, schema_version, translated
from analytics.store.gate import gate


def backup(store: Store, path: str | Path) -> Path:
    """Copy the store while nobody writes to it.

    Parameters
    ----------
    store : Store
        The store.
    path : str or Path
        New file; an existing one is refused.

    Returns
    -------
    path : Path
        The copy, checked.

    Raises
    ------
    InputError
        If there is no store yet, or the file exists.
    StoreError
        If the store is busy or the copy cannot be written.
    """
    path = Path(path)
    if not store.exists:
        raise InputError(
            f"store `{store.path}` does not exist; there is nothing to copy"
        )
    if path.exists():
        raise InputError(f"`{path}` exists; give a new file name")
    with store.read() as con, translated(path):
        # A log of changes beside the file belongs to it; with a reader inside no
        # writer can start, and reading has folded no log into the file yet.
        con.execute("SELECT 1").fetchall()
        _copy(store.path, path)
        log = store.path.with_name(store.path.name + ".wal")
        if log.exists():
            _copy(log, path.with_name(path.name + ".wal"))
    if path.with_name(path.name + ".wal").exists():
        with translated(path), duckdb.connect(str(path)) as copy:
            copy.execute("CHECKPOINT")
    _check(path)
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
    StoreError
        If the backup is no sound store, or the store is in use.
    """
    path = Path(path)
    if not path.is_file():
        raise InputError(f"no backup `{path}`")
    if path.resolve() == store.path.resolve():
        raise InputError(f"`{path}` is the store itself; give the backup")
    fresh = store.path.with_name(store.path.name + ".restoring")
    deadline = time.monotonic() + store.wait_s
    try:
        with translated(store.path):
            store.path.parent.mkdir(parents=True, exist_ok=True)
            _copy(path, fresh)
            _check(fresh)
            with gate(store.path, deadline):
                _wait_until_free(store, deadline)
                kept = _set_apart(store.path)
                fresh.replace(store.path)
    finally:
        for left in (fresh, fresh.with_name(fresh.name + ".gate")):
            left.unlink(missing_ok=True)
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


def _copy(source: Path, target: Path) -> None:
    """Copy so that the target is either whole or absent."""
    handle, name = tempfile.mkstemp(dir=target.parent, prefix=f".{target.name}.")
    try:
        with os.fdopen(handle, "wb") as out, source.open("rb") as file:
            shutil.copyfileobj(file, out, 1 << 20)
            out.flush()
            os.fsync(out.fileno())
        Path(name).replace(target)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise


def _check(path: Path) -> int:
    rows = 0
    with Store(path).read() as con:
        if schema_version(con) == 0:
            raise StoreError(f"`{path}` is no store of Lacertus")
        tables = con.execute(
            "SELECT table_name FROM duckdb_tables() "
            "WHERE database_name = current_database() AND NOT temporary"
        ).fetchall()
        for (table,) in tables:
            # hash() of whole rows touches every block of every column
            found = con.execute(
                f'SELECT count(*), bit_xor(hash(t)) FROM "{table}" AS t'
            ).fetchall()
            rows += int(found[0][0])
    return rows


def _wait_until_free(store: Store, deadline: float) -> None:
    """Wait for those who have the store open; a damaged one nobody can have."""
    if not store.exists:
        return
    with duckdb.connect(":memory:") as con, suppress(duckdb.Error):
        store.attach(con, deadline)
        con.execute("DETACH store")


def _set_apart(path: Path) -> Path | None:
    if not path.exists():
        return None
    stamp = time.strftime("%Y%m%d-%H%M%S")
    kept = path.with_name(f"{path.name}.before-{stamp}")
    path.replace(kept)
    log = path.with_name(path.name + ".wal")
    if log.exists():
        log.replace(kept.with_name(kept.name + ".wal"))
    return kept
