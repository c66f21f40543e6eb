"""What DuckDB or the disk refused, in plain words that are true."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import duckdb

from analytics.errors import StoreError
from analytics.store.engine import readable
from analytics.store.private import SPILL

# Errors of the disk (a broken checksum comes as the base class), as against those about
# a statement or a value, whose text may hold any word.
_OF_STORAGE = (
    OSError, duckdb.IOException, duckdb.TransactionException, duckdb.FatalException,
    duckdb.InternalException, duckdb.SerializationException,
    duckdb.OutOfMemoryException, duckdb.InvalidInputException,
)  # fmt: skip
_FULL = ("no space left", "file too large", "out of disk", "disk quota")
_DENIED = ("permission denied", "read-only file system", "operation not permitted")
_DAMAGED = ("checksum", "corrupt", "could not read all", "could not read enough")
_BROKEN = (
    duckdb.InternalException, duckdb.SerializationException, duckdb.FatalException,
)  # fmt: skip


@contextmanager
def translated(path: Path, outcome: str = "") -> Iterator[None]:
    """Say in plain words what DuckDB or the disk refused.

    Parameters
    ----------
    path : Path
        The store file.
    outcome : str
        What became of a change, such as ``nothing was stored``; empty for reading.

    Raises
    ------
    StoreError
        In place of errors of DuckDB's storage and of the operating system.
    """
    try:
        yield
    except (duckdb.Error, OSError) as error:
        words = _in_words(path, error, outcome)
        if words is None:
            raise
        raise StoreError(words) from error


def _in_words(path: Path, error: Exception, outcome: str) -> str | None:
    """Plain words for an error of storage; None for any other."""
    if not isinstance(error, _OF_STORAGE) and type(error) is not duckdb.Error:
        return None
    said = str(error).splitlines()[0] if str(error) else type(error).__name__
    message = str(error).replace(str(path), "").replace(str(path.parent), "").lower()
    end = f"; {outcome}" if outcome else ""
    if any(sign in message for sign in _FULL):
        if SPILL in message:
            return f"the disk for temporary files is full: {said}{end}"
        return f"the disk of `{path}` is full{end}"
    if any(sign in message for sign in _DENIED):
        cannot = "written to" if outcome else "read"
        fixed = "read-only file" in message
        why = "the disk is read-only" if fixed else "no permission"
        return f"store `{path}` cannot be {cannot}: {why}{end}"
    if isinstance(error, duckdb.OutOfMemoryException):
        return f"not enough memory: {said}{end}"
    if "not a valid duckdb" in message:
        return f"`{path}` is no DuckDB file, or damaged{_REMEDY}"
    damaged = any(sign in message for sign in _DAMAGED)
    if damaged or (isinstance(error, _BROKEN) and not readable(path)):
        return f"store `{path}` is damaged{_REMEDY}"
    if isinstance(error, duckdb.IOException | OSError):
        return f"store `{path}` cannot be used: {said}{end}"
    return None


_REMEDY = "; restore a backup with `lacertus restore`, or give another `--store`"
