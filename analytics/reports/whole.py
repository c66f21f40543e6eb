"""Files that are there whole or not at all: made beside their place, then renamed."""

import os
import shutil
import tempfile
from collections.abc import Collection, Iterator
from contextlib import contextmanager
from pathlib import Path

from analytics.errors import InputError


@contextmanager
def whole_folder(directory: Path, *, replaced: Collection[str]) -> Iterator[Path]:
    """Give a folder to write to that takes its place when all is written.

    Parameters
    ----------
    directory : Path
        Its place; made if missing.
    replaced : collection of str
        Names an earlier one may hold.

    Yields
    ------
    folder : Path
        Beside its place, readable by the owner alone.

    Raises
    ------
    InputError
        If there are other files in the place, which would be lost.
    """
    place = directory.resolve()
    there = {path.name for path in place.iterdir()} if place.exists() else set()
    if strange := sorted(there - set(replaced)):
        raise InputError(
            f"{directory} holds '{strange[0]}', which is of no earlier export and "
            "would be passed on with it; give a new or empty folder"
        )
    place.parent.mkdir(parents=True, exist_ok=True)
    folder = Path(tempfile.mkdtemp(prefix=f".{place.name}-", dir=place.parent))
    try:
        yield folder
        _take_place(folder, place, there)
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def _take_place(folder: Path, place: Path, there: set[str]) -> None:
    if not there:  # a missing or empty folder is replaced in one step
        folder.replace(place)
        return
    # No call of Python, and none on every system, swaps two folders: between these two
    # renames there is none in the place. A link to follow would leave it a folder no
    # more. A failure puts the former one back; a kill leaves it beside, under its name.
    former = Path(tempfile.mkdtemp(prefix=f".{place.name}-", dir=place.parent))
    try:
        place.replace(former)
        try:
            folder.replace(place)
        except OSError:
            former.replace(place)
            raise
    finally:
        shutil.rmtree(former, ignore_errors=True)


def write_whole(path: Path, content: bytes) -> None:
    """Write a file that only its owner may read, in one step.

    Parameters
    ----------
    path : Path
        Where; replaced if there.
    content : bytes
        What.
    """
    handle, name = tempfile.mkstemp(prefix=f".{path.name}-", dir=path.parent)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
        Path(name).replace(path)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise
