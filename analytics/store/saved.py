"""Fits kept in the store, and the fingerprints of what they were made from."""

from __future__ import annotations

import hashlib
from datetime import datetime
from typing import TYPE_CHECKING

from analytics.store.asking import print_of_theirs
from analytics.store.connection import Store
from analytics.store.engine import first_row
from analytics.store.queries import entries
from analytics.store.schema import statement

if TYPE_CHECKING:
    import duckdb


def sets_hash(store: Store, movement: str) -> str:
    """Fingerprint of the sets of one movement and of the bodies.

    Parameters
    ----------
    store : Store
        The store.
    movement : str
        Movement identifier.

    Returns
    -------
    fingerprint : str
        Changes whenever a value that a fit sees changes.
    """
    with store.read() as con:
        return _sets_hash(con, movement)


def rows_hash(store: Store) -> str:
    """Fingerprint of all rows there are for who asks.

    Parameters
    ----------
    store : Store
        The store.

    Returns
    -------
    fingerprint : str
        Stays as it is while others bring in and change what is theirs.
    """
    with store.read() as con:
        found = print_of_theirs(con)
    return hashlib.sha256(repr(found).encode()).hexdigest()


def _sets_hash(con: duckdb.DuckDBPyConnection, movement: str) -> str:
    known = con.execute(statement("variants"), {"entries": entries()}).fetchall()
    chosen = [row[1] for row in known if row[0] == movement]
    found = first_row(con, statement("sets_hash"), {"variants": chosen})
    return hashlib.sha256(repr(found).encode()).hexdigest()


def load_fit(store: Store, key: str, *, code: str, content_hash: str) -> bytes | None:
    """Fit saved for exactly these sets by exactly this code.

    Parameters
    ----------
    store : Store
        The store.
    key : str
        What was fitted.
    code : str
        Fingerprint of what makes the fit.
    content_hash : str
        From `sets_hash`.

    Returns
    -------
    blob : bytes or None
        None if there is none.
    """
    with store.read() as con:
        row = first_row(
            con,
            "SELECT blob FROM saved_fit WHERE key = $key AND content_hash = $hash",
            {"key": key, "hash": f"{code} {content_hash}"},
        )
    return bytes(row[0]) if row else None


def save_fit(
    store: Store, key: str, movement: str, blob: bytes, *, code: str, content_hash: str
) -> bool:
    """Keep a fit until the sets change.

    Parameters
    ----------
    store : Store
        The store.
    key : str
        What was fitted; an older fit of the same key is replaced.
    movement : str
        Movement that was fitted.
    blob : bytes
        The fit.
    code : str
        Fingerprint of what made it.
    content_hash : str
        From `sets_hash`, before the sets were read.

    Returns
    -------
    saved : bool
        False if the sets have changed meanwhile: what was erased does not come back.
    """
    with store.write() as con:
        if _sets_hash(con, movement) != content_hash:
            return False
        con.execute(
            "INSERT OR REPLACE INTO saved_fit VALUES ($key, $hash, $blob, $now)",
            {"key": key, "hash": f"{code} {content_hash}", "blob": blob,
             "now": datetime.now()},
        )  # fmt: skip
    return True
