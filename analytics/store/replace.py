"""New files, made whole in a private folder and moved to their place in one step."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from analytics.store.engine import attach, in_memory
from analytics.store.private import own_folder, private_files, sweep


@contextmanager
def workshop(path: Path) -> Iterator[Path]:
    """Private folder beside a file, where a new one for its place is made.

    Parameters
    ----------
    path : Path
        The file to be; what a crash left of earlier attempts is removed.

    Yields
    ------
    made : Path
        Where to make it: a file of the same name in the folder.
    """
    prefix = f".{path.name[:100]}.new-"
    sweep(path.parent, prefix)
    with private_files(), own_folder(path.parent, prefix) as folder:
        yield folder / path.name


def put_in_place(made: Path, path: Path) -> None:
    """Move a finished file to its place; at every moment one of the two is there.

    Parameters
    ----------
    made : Path
        From `workshop`, closed.
    path : Path
        Its place.
    """
    with made.open("rb") as file:
        os.fsync(file.fileno())
    made.replace(path)
    with suppress(OSError):  # no such thing as syncing a folder on Windows
        folder = os.open(path.parent, os.O_RDONLY)
        try:
            os.fsync(folder)
        finally:
            os.close(folder)


def log_of(path: Path) -> Path:
    """Name of the log of changes that DuckDB keeps beside a file.

    Parameters
    ----------
    path : Path
        DuckDB file.

    Returns
    -------
    log : Path
        Whether it is there or not.
    """
    return path.with_name(path.name + ".wal")


def copy_whole(source: Path, target: Path) -> None:
    """Copy a DuckDB file with the changes its log still holds.

    Parameters
    ----------
    source : Path
        DuckDB file to which nobody writes meanwhile.
    target : Path
        In a `workshop`.
    """
    shutil.copyfile(source, target)
    if log_of(source).exists():
        shutil.copyfile(log_of(source), log_of(target))
        with in_memory() as con:
            attach(con, target, "copied")
            con.execute("CHECKPOINT copied")
