"""How a shared server is set up: the file that `serve --shared` takes.

The file holds secrets, so it lies outside the project and is its owner's alone.
"""

from __future__ import annotations

import os
import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

from analytics.errors import InputError

HOURS = "LACERTUS_SHARED_HOURS"
SIGN_IN = (
    "redirect_uri",
    "cookie_secret",
    "client_id",
    "client_secret",
    "server_metadata_url",
)
SHORTEST_SECRET = 32  # letters; the hash that signs cookies takes 256 bits
MOST_HOURS = 7 * 24
_HERE = ("localhost", "127.0.0.1")


@dataclass(frozen=True, slots=True, kw_only=True)
class Shared:
    """What a shared server needs to know.

    Attributes
    ----------
    path : Path
        The file itself, which the server reads for sign-in.
    origin : str
        Where people reach the server, as browsers name it.
    session_hours : float
        After which people sign in again. [h]
    """

    path: Path
    origin: str
    session_hours: float

    @property
    def options(self) -> dict[str, str]:
        """Options of the dashboard's process."""
        return {
            "secrets.files": str(self.path),
            "server.enableCORS": "true",
            "server.enableXsrfProtection": "true",
            "server.corsAllowedOrigins": self.origin,
            "client.showErrorDetails": "none",
        }


def read_shared(path: Path) -> Shared:
    """Read how a shared server is set up.

    Parameters
    ----------
    path : Path
        TOML file with ``[auth]``, as the sign-in of the dashboard takes it, and
        ``[server]`` with ``session_hours``.

    Returns
    -------
    shared : Shared
        Checked.

    Raises
    ------
    InputError
        If something lacks, is not secret enough, or would leave the machine unsealed.
    """
    path = path.resolve()
    try:
        if os.name == "posix" and path.stat().st_mode & 0o077:
            raise InputError(
                f"`{path}` holds secrets and others can read it: chmod 600"
            )
        read = tomllib.loads(path.read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise InputError(f"`{path}` cannot be read as TOML: {error}") from error
    _known(path, read)
    given, hours = read["auth"], read.get("server", {}).get("session_hours", 12)
    if len(given["cookie_secret"]) < SHORTEST_SECRET:
        raise InputError(
            f"`{path}`: cookie_secret is shorter than {SHORTEST_SECRET} letters; "
            "make one: openssl rand -hex 32"
        )
    if isinstance(hours, bool) or not isinstance(hours, int | float):
        hours = 0.0
    if not 0 < hours <= MOST_HOURS:
        raise InputError(
            f"`{path}`: session_hours must be above 0 and at most {MOST_HOURS}"
        )
    for name in ("redirect_uri", "server_metadata_url"):
        where = urlsplit(given[name])
        if where.scheme != "https" and where.hostname not in _HERE:
            raise InputError(
                f"`{path}`: {name} is `{given[name]}`; give an https address"
            )
    back = urlsplit(given["redirect_uri"])
    if back.path != "/oauth2callback":
        raise InputError(f"`{path}`: redirect_uri must end in /oauth2callback")
    origin = f"{back.scheme}://{back.netloc}"
    return Shared(path=path, origin=origin, session_hours=float(hours))


def _known(path: Path, read: dict[str, Any]) -> None:
    """Refuse what is not a setting, and name what lacks."""
    extra = [*(read.keys() - {"auth", "server"})]
    extra += read.get("server", {}).keys() - {"session_hours"}
    if extra:
        raise InputError(
            f"`{path}`: `{sorted(extra)[0]}` is no setting; there are [auth] and "
            "[server] session_hours"
        )
    given = read.get("auth", {})
    for name in SIGN_IN:
        if not isinstance(given.get(name), str) or not given[name]:
            raise InputError(
                f"`{path}`: [auth] lacks {name}; it needs {', '.join(SIGN_IN)}"
            )
