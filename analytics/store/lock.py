"""One lock on the store file, so that a writer is not starved by readers.

DuckDB lets one read-write process exclude all others, and any reader excludes a
writer. Whoever opens the store takes this lock; a writer holds it until done,
so that new readers queue behind it and those inside finish.
"""

from __future__ import annotations

import errno
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from filelock import FileLock, Timeout

from analytics.errors import StoreError

PAUSE_S = 0.01


@contextmanager
def store_lock(path: Path, deadline: float, *, writing: bool) -> Iterator[None]:
    """Hold the lock of a store file.

    Parameters
    ----------
    path : Path
        Store file; the lock is a file beside it.
    deadline : float
        ``time.monotonic()`` at which waiting ends.
    writing : bool
        Without it, a lock that cannot be taken is passed over: where nobody can write
        there are no writers to wait for.

    Raises
    ------
    StoreError
        If another process holds the lock until the deadline, or it is a link.
    OSError
        If one who writes cannot use it.
    """
    # A file that is there is not emptied, and a link in its place not followed.
    lock = FileLock(
        path.with_name(path.name + ".lock"), mode=0o600, poll_interval=PAUSE_S,
        thread_local=False, fallback_to_soft=False,
    )  # fmt: skip
    try:
        lock.acquire(timeout=max(deadline - time.monotonic(), 0))
    except Timeout as error:
        raise StoreError(
            f"store `{path}` is being written to; wait until that is done and try again"
        ) from error
    except OSError as error:
        if error.errno == errno.ELOOP:
            raise StoreError(
                f"`{lock.lock_file}` is a link, which no store makes; remove it"
            ) from error
        if writing:
            raise
    try:
        yield
    finally:
        lock.release()
