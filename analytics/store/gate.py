"""One door in front of the store file, so that a writer is not starved by readers.

DuckDB lets one read-write process exclude all others, and any reader excludes a
writer. Whoever opens the store passes this door; a writer stays in it until done,
so that new readers queue behind it and those inside finish.
"""

from __future__ import annotations

import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from analytics.errors import StoreError

try:
    import fcntl
except ImportError:  # no such locks on Windows; waiting on DuckDB's own must do
    fcntl = None  # type: ignore[assignment]

PAUSE_S = 0.01


@contextmanager
def gate(path: Path, deadline: float) -> Iterator[None]:
    """Hold the door of a store file.

    Parameters
    ----------
    path : Path
        Store file; the door is a file beside it.
    deadline : float
        ``time.monotonic()`` at which waiting ends.

    Raises
    ------
    StoreError
        If another process holds the door until the deadline.
    """
    if fcntl is None:
        yield
        return
    try:
        door = path.with_name(path.name + ".gate").open("w")
    except OSError:  # a folder that cannot be written has no writers to wait for
        yield
        return
    with door:
        while True:
            try:
                fcntl.flock(door, fcntl.LOCK_EX | fcntl.LOCK_NB)
                break
            except OSError as error:
                if time.monotonic() > deadline:
                    raise StoreError(
                        f"store `{path}` is being written to; "
                        "wait until that is done and try again"
                    ) from error
                time.sleep(PAUSE_S)
        yield
