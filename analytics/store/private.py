"""Files that only their owner reads, and folders that no crash leaves behind."""

from __future__ import annotations

import os
import shutil
import tempfile
import time
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager, suppress
from functools import cache
from pathlib import Path
from threading import Lock

from filelock import FileLock, Timeout

SPILL = "lacertus-spill-"
_YOUNG_S = 60.0  # a folder this new may not have its lock yet


class _Umask:
    """The process's mask for new files, narrowed while anybody needs it to be."""

    def __init__(self) -> None:
        self.lock, self.users, self.before = Lock(), 0, 0

    def __enter__(self) -> None:
        with self.lock:
            if not self.users:
                self.before = os.umask(0o077)
            self.users += 1

    def __exit__(self, *_: object) -> None:
        with self.lock:
            self.users -= 1
            if not self.users:
                os.umask(self.before)


_UMASK = _Umask()


@contextmanager
def private_files() -> Iterator[None]:
    """Make files and folders made inside readable by their owner alone."""
    with _UMASK:
        yield


@contextmanager
def own_folder(parent: Path, prefix: str) -> Iterator[Path]:
    """Folder of this process alone, gone at the end.

    Parameters
    ----------
    parent : Path
        Where.
    prefix : str
        Beginning of its name; folders of it left by a crash can be swept.

    Yields
    ------
    folder : Path
        Empty but for its lock.
    """
    folder = Path(tempfile.mkdtemp(dir=parent, prefix=prefix))
    try:
        with FileLock(folder / "lock", mode=0o600):
            yield folder
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def sweep(parent: Path, prefix: str) -> None:
    """Remove folders of `own_folder` whose process has died.

    Parameters
    ----------
    parent, prefix : Path, str
        As given to `own_folder`.
    """
    with suppress(OSError):
        for folder in parent.iterdir():
            if folder.name.startswith(prefix):
                _remove_if_dead(folder)


def _remove_if_dead(folder: Path) -> None:
    with suppress(OSError, Timeout):
        lock = folder / "lock"
        young = time.time() - folder.lstat().st_mtime < _YOUNG_S
        if folder.is_symlink() or (young and not lock.exists()):
            return
        with FileLock(lock, timeout=0):
            shutil.rmtree(folder, ignore_errors=True)


@contextmanager
def scratch_folder() -> Iterator[Path]:
    """Folder of this process alone in the system's place for temporary files.

    Yields
    ------
    folder : Path
        Gone at the end; after a crash the next process that asks for one removes it.
    """
    parent = Path(tempfile.gettempdir())
    _swept_once(parent)
    with own_folder(parent, SPILL) as folder:
        yield folder


@contextmanager
def spill_folder() -> Iterator[Path | None]:
    """Folder for what does not fit into memory.

    Yields
    ------
    folder : Path or None
        None where nothing can be written; work then has to fit into memory.
    """
    with ExitStack() as stack:
        try:
            folder = stack.enter_context(scratch_folder())
        except OSError:
            yield None
        else:
            yield folder


@cache
def _swept_once(parent: Path) -> None:
    sweep(parent, SPILL)
