"""One TOML data file that can say on which line a value stands."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path
from typing import Any, NoReturn

from analytics.errors import CatalogueError

KINDS = ("measured", "pooled", "fitted", "predicted", "assumed")


class TomlFile:
    """Content of a data file, and where to find it again.

    Parameters
    ----------
    path : Path
        The file.

    Raises
    ------
    CatalogueError
        If it cannot be read as TOML.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        try:
            self.text = path.read_text(encoding="utf-8")
            self.content: dict[str, Any] = tomllib.loads(self.text)
        except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
            raise CatalogueError(
                f"{path.name}: {error}; expected a readable TOML file"
            ) from error

    def line(self, table: str, number: int, name: str = "") -> int:
        """Line of the number-th ``[[table]]``, or of a key inside it."""
        lines = self.text.splitlines()
        heads = [i for i, line in enumerate(lines) if line.strip() == f"[[{table}]]"]
        if number >= len(heads):
            return 1
        start = heads[number]
        for i in range(start + 1, len(lines)):
            if lines[i].lstrip().startswith("[["):
                break
            if name and re.match(rf"\s*{re.escape(name)}\s*=", lines[i]):
                return i + 1
        return start + 1

    def find(self, key: str, *, last: bool = False) -> int:
        """Line of the first (or last) ``key =`` or ``[key]``, else 1."""
        pattern = re.compile(rf"\s*(\[{re.escape(key)}\]|{re.escape(key)}\s*=)")
        found = [
            number
            for number, line in enumerate(self.text.splitlines(), 1)
            if pattern.match(line)
        ]
        return found[-1 if last else 0] if found else 1

    def entries(self, table: str) -> list[dict[str, Any]]:
        """All ``[[table]]`` of the file; refuses a file without any."""
        entries = self.content.get(table)
        if not isinstance(entries, list) or not entries:
            self.refuse(1, "file", f"expected one or more [[{table}]]")
        return entries

    def refuse(self, line: int, entry: str, problem: str) -> NoReturn:
        """Raise the one error of this package, with its place."""
        raise CatalogueError(f"{self.path.name}, line {line}, {entry}: {problem}")
