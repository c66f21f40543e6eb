"""One lock on the store file, so that a writer is not starved by readers.

DuckDB lets one read-write process exclude all others, and any reader excludes a
writer. Whoever opens the store takes this lock; a writer holds it until done,
so that new readers queue behind it and those inside finish.
"""

from __future__ import annotations

import errno
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from filelock import FileLock, Timeout

from analytics.errors import StoreError

PAUSE_S = 0.01
SILENT_S = 0.7  # most waits are over before anybody could read why


@contextmanager
def store_lock(
    path: Path,
    deadline: float,
    *,
    writing: bool,
    on_wait: Callable[[], None] | None = None,
) -> Iterator[None]:
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
    on_wait : callable, optional
        Called once where it takes long.

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

    def left_s() -> float:
        return max(deadline - time.monotonic(), 0)

    try:
        try:
            lock.acquire(timeout=min(SILENT_S, left_s()))
        except Timeout:
            if on_wait is not None:
                on_wait()
            lock.acquire(timeout=left_s())
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
