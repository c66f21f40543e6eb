"""One pass over the bytes of a file: digest, kind, encoding, and what cannot be read.

Memory stays at one chunk whatever the file is.
"""

from __future__ import annotations

import codecs
import hashlib
import os
import re
from dataclasses import dataclass
from pathlib import Path

from analytics.errors import FileRefusedError
from analytics.tables import bounds
from analytics.tables.bounds import too_much

CHUNK = 1 << 20
_MAGIC = (
    (b"PK\x03\x04", "zip"), (b"PAR1", "parquet"),
    (b"\xd0\xcf\x11\xe0", "old or locked Excel"), (b"%PDF", "PDF"),
    (b"\x1f\x8b", "gzip"), (b"\x89PNG", "picture"), (b"\xff\xd8\xff", "picture"),
    (b"SQLite format 3", "database"), (b"7z\xbc\xaf", "7z"), (b"Rar!", "rar"),
    (b"\x28\xb5\x2f\xfd", "zstd"), (b"BZh", "bzip2"),
)  # fmt: skip
_BOMS = (
    (codecs.BOM_UTF8, "utf-8-sig"), (codecs.BOM_UTF32_LE, "utf-32"),
    (codecs.BOM_UTF32_BE, "utf-32"), (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)  # fmt: skip
# A letter of two bytes in UTF-8; in Windows-1252 an accented capital and a sign.
_UTF8 = re.compile(rb"[\xc3-\xcf][\x80-\xbf]")
ACCEPTED = "CSV, TSV, XLSX, JSON or Parquet"


@dataclass(frozen=True, slots=True, kw_only=True)
class Scan:
    """What the bytes say.

    Attributes
    ----------
    file_hash : str
        SHA-256.
    kind : str
        ``text``, ``zip`` or ``parquet``.
    encoding : str
        Of text.
    lines : int
        Line ends in the bytes, without those at the very end.
    """

    file_hash: str
    kind: str
    encoding: str
    lines: int


def scan(path: Path, encoding: str | None = None) -> Scan:
    """Read a file once.

    Parameters
    ----------
    path : Path
        File.
    encoding : str, optional
        If a column map says so.

    Returns
    -------
    scan : Scan
        What it is.

    Raises
    ------
    FileRefusedError
        If it is empty, no table, or has a line longer than any log.
    """
    try:
        if not path.is_file() and path.exists():
            raise FileRefusedError(
                f"`{path}` is a folder, pipe or device; save the log to a file first"
            )
        with path.open("rb") as file:
            head = file.read(64)
            size = os.fstat(file.fileno()).st_size
        if size > bounds.MOST_BYTES:
            raise too_much(path.name, f"{size:,} bytes", bounds.MOST_BYTES, " bytes")
        if not head.strip():
            raise FileRefusedError(f"`{path.name}` is empty; {ACCEPTED} is accepted")
        kind = next((name for magic, name in _MAGIC if head.startswith(magic)), "text")
        if kind not in ("text", "zip", "parquet"):
            raise FileRefusedError(
                f"`{path.name}` is a {kind} file; save it as {ACCEPTED}"
            )
        return _pass(path, kind, encoding)
    except OSError as error:
        raise FileRefusedError(f"`{path}` cannot be read: {error.strerror}") from error


def _pass(path: Path, kind: str, encoding: str | None) -> Scan:
    digest = hashlib.sha256()
    newlines, ending, is_utf8, mixed = 0, b"", True, False
    utf8 = codecs.getincrementaldecoder("utf-8")()
    with path.open("rb") as file:
        head = file.read(4096)
        encoding = _known(encoding, path) if encoding else _from_start(head)
        json = is_json(head.decode(encoding or "utf-8", "replace"))
        file.seek(0)
        wide = encoding is not None and ("16" in encoding or "32" in encoding)
        while chunk := file.read(CHUNK):
            digest.update(chunk)
            if kind != "text":
                continue
            newlines += chunk.count(b"\n")
            if not wide and b"\0" in chunk:
                raise FileRefusedError(
                    f"`{path.name}` holds NUL bytes, so it is no text; "
                    f"{ACCEPTED} is accepted"
                )
            one_line = b"\n" not in chunk and b"\r" not in chunk
            if len(chunk) == CHUNK and one_line and not json:
                raise FileRefusedError(
                    f"`{path.name}` has a line longer than 1 MB; "
                    "a log has one short line for each set or exercise"
                )
            if is_utf8 and not chunk.isascii():
                try:
                    utf8.decode(chunk)
                except UnicodeDecodeError:
                    is_utf8 = False
            mixed = mixed or (not chunk.isascii() and bool(_UTF8.search(chunk)))
            ending = chunk[-4096:]
    if encoding is None and not is_utf8 and mixed:
        raise FileRefusedError(
            f"`{path.name}` mixes UTF-8 with another encoding, so that names would be "
            "garbled; save it anew as UTF-8, or give `encoding` under [read] in the "
            "column map"
        )
    trailing = ending[len(ending.rstrip(b"\r\n \t")) :].count(b"\n")
    if newlines - trailing > bounds.MOST_ROWS:
        raise too_much(path.name, f"{newlines:,} lines", bounds.MOST_ROWS)
    return Scan(
        file_hash=digest.hexdigest(), kind=kind, lines=newlines - trailing,
        encoding=_known(encoding or ("utf-8" if is_utf8 else "cp1252"), path),
    )  # fmt: skip


def is_json(head: str) -> bool:
    """Whether a text begins as JSON does.

    Parameters
    ----------
    head : str
        Its beginning.

    Returns
    -------
    found : bool
        The first sign opens a list or an object.
    """
    return head.lstrip("\ufeff \t\r\n")[:1] in ("{", "[")


def _from_start(head: bytes) -> str | None:
    """Find what a byte-order mark or the pattern of zero bytes proves."""
    for bom, encoding in _BOMS:
        if head.startswith(bom):
            return encoding
    even, odd = head[::2].count(0), head[1::2].count(0)
    if len(head) > 8 and max(even, odd) > 0.3 * len(head) / 2:
        if even == 0:
            return "utf-16-le"
        if odd == 0:
            return "utf-16-be"
    return None


def _known(encoding: str, path: Path) -> str:
    """Refuse what is no encoding of text, or cannot be that of the file."""
    try:
        name = codecs.lookup(encoding).name
        with path.open(encoding=name, errors="replace") as file:
            file.read(256)
    except (LookupError, UnicodeError) as error:
        raise FileRefusedError(
            f"`{path.name}`: no encoding `{encoding}` ({error}); "
            "use utf-8, utf-16-le, latin-1 or another that Python knows"
        ) from error
    return name
