"""The result folder, here or in an object store: files that are whole or not there."""

import json
from collections.abc import Iterator
from contextlib import AbstractContextManager, contextmanager
from hashlib import sha256
from pathlib import Path
from typing import IO, cast

import fsspec
from filelock import FileLock, Timeout
from fsspec.implementations.local import LocalFileSystem

from analytics.errors import FileRefusedError, InputError, NotWrittenError
from analytics.reports.whole import write_whole

LOCK = "_running"


def digest(*parts: object) -> str:
    """Name content by what it was made from.

    Parameters
    ----------
    parts : objects
        That JSON can hold.

    Returns
    -------
    digest : str
        16 hexadecimal digits.
    """
    text = json.dumps(parts, sort_keys=True, ensure_ascii=False)
    return sha256(text.encode()).hexdigest()[:16]


class Place:
    """A folder at a local path or an address that fsspec knows.

    Parameters
    ----------
    address : str
        Such as ``results`` or ``s3://bucket/results``; keys to it come from the
        library's own settings and environment.

    Raises
    ------
    InputError
        If nothing opens such addresses.
    """

    def __init__(self, address: str) -> None:
        try:
            self.fs, self.root = fsspec.url_to_fs(address, use_listings_cache=False)
        except (ValueError, ImportError) as error:
            raise InputError(f"cannot open {address}: {error}") from error
        # A worker may have another working folder.
        self.address = self.root if self.is_local else address

    @property
    def is_local(self) -> bool:
        """Whether it is a folder of this machine."""
        return isinstance(self.fs, LocalFileSystem)

    def path(self, name: str) -> str:
        """Return the path of a file within the file system."""
        return f"{self.root}/{name}"

    def has(self, name: str) -> bool:
        """Tell whether a file is there, which then is whole."""
        return bool(self.fs.exists(self.path(name)))

    def read(
        self, name: str, start: int | None = None, end: int | None = None
    ) -> bytes:
        """Return the bytes of a file, all or some."""
        return bytes(self.fs.cat_file(self.path(name), start=start, end=end))

    def write(self, name: str, content: bytes) -> None:
        """Write a file in one step, readable by its owner alone.

        Raises
        ------
        NotWrittenError
            If the place takes no more.
        """
        with self._taking():
            if self.is_local:
                path = Path(self.path(name))
                path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
                write_whole(path, content)
            else:  # an object is there once it is there whole
                self.fs.pipe_file(self.path(name), content)

    @contextmanager
    def _taking(self) -> Iterator[None]:
        try:
            yield
        except OSError as error:
            raise NotWrittenError(
                f"cannot write to {self.address}: {error.strerror or error}; what is "
                "finished there is kept"
            ) from error

    def names(self) -> list[str]:
        """List the files, in order."""
        if not self.fs.exists(self.root):
            return []
        return sorted(p[len(self.root) + 1 :] for p in self.fs.find(self.root))

    def remove(self, name: str) -> None:
        """Remove a file."""
        self.fs.rm_file(self.path(name))

    @contextmanager
    def held(self) -> Iterator[None]:
        """Keep a second run out of the folder.

        Raises
        ------
        FileRefusedError
            If a run is at work there.
        NotWrittenError
            If nothing can be written there.
        """
        busy = f"{self.address} is written by another run; wait, or give a new --out"
        if self.is_local:
            with self._taking():
                Path(self.root).mkdir(mode=0o700, parents=True, exist_ok=True)
            try:
                with FileLock(self.path(LOCK), timeout=0):
                    yield
            except Timeout as error:
                raise FileRefusedError(busy) from error
            return
        if self.has(LOCK):
            raise FileRefusedError(
                f"{busy}; if that run was broken off, remove {self.path(LOCK)} first"
            )
        self.write(LOCK, b"")
        try:
            yield
        finally:
            self.remove(LOCK)


def opened(source: str) -> AbstractContextManager[IO[bytes]]:
    """Open a log at a path or an address for reading; no letter of it is a pattern."""
    fs, path = fsspec.url_to_fs(source)
    return cast(AbstractContextManager[IO[bytes]], fs.open(path, "rb"))


def sources_of(addresses: list[str]) -> list[str]:
    """List the files of addresses: files, and all within folders.

    Parameters
    ----------
    addresses : list of str
        Paths or addresses that fsspec knows.

    Returns
    -------
    sources : list of str
        In the order given, those of a folder by name; each once.

    Raises
    ------
    InputError
        If there is no file.
    """
    found: list[str] = []
    for address in addresses:
        place = Place(address)
        if place.fs.isdir(place.root):
            paths = sorted(place.fs.find(place.root))
        else:
            paths = [place.root]  # never a pattern: `log[1].csv` is not `log1.csv`
        shown = [p for p in paths if not Path(p).name.startswith((".", "_"))]
        found += [p if place.is_local else place.fs.unstrip_protocol(p) for p in shown]
    if not found:
        raise InputError(f"no file in {', '.join(addresses)}; give logs or Parquet")
    return list(dict.fromkeys(found))
