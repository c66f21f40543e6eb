"""The dashboard as a process of its own, which ends with the command that began it."""

from __future__ import annotations

import os
import signal
import socket
import subprocess
import sys
from importlib.resources import files
from ipaddress import ip_address
from pathlib import Path
from types import FrameType

from analytics.cli.printing import say
from analytics.cli.shared import HOURS, Shared
from analytics.errors import AnalyticsError, InputError

PATIENCE_S = 10.0  # for open pages to be told


def run_dashboard(
    store: Path,
    *,
    port: int,
    address: str,
    shared: Shared | None = None,
    cohort: str | None = None,
) -> None:
    """Serve the dashboard until it is stopped.

    Parameters
    ----------
    store : Path
        The store file.
    port : int
        Port to listen at.
    address : str
        IP address to listen at; no environment and no file changes it.
    shared : Shared, optional
        How people sign in; without, nobody has to.
    cohort : str, optional
        A cohort's result folder that is shown instead.

    Raises
    ------
    InputError
        If nobody can listen there.
    AnalyticsError
        If the dashboard ends by itself.
    """
    _check_free(address, port)
    app = Path(str(files("app"))) / "main.py"
    say(f"dashboard: {_url(address, port)} (stop with Ctrl-C)", err=True)
    if shared is None and not ip_address(address).is_loopback:
        say(
            "mind: whoever reaches this address can read, change and remove every log",
            err=True,
        )
    # Options of its command line go before Streamlit's files and variables.
    options = {"server.address": address, "server.port": str(port)}
    variables = {**os.environ, "LACERTUS_STORE": str(store)}
    variables.pop(HOURS, None)
    variables.pop("LACERTUS_COHORT", None)
    if cohort is not None:
        variables["LACERTUS_COHORT"] = cohort
    if shared is not None:
        options |= shared.options
        variables |= {HOURS: str(shared.session_hours)}
    before = signal.signal(signal.SIGTERM, _stop)
    child = subprocess.Popen(
        [sys.executable, "-m", "app.server", str(app),
         *(part for name, value in options.items() for part in (f"--{name}", value))],
        cwd=app.parents[1],
        env=variables,
    )  # fmt: skip
    try:
        code = child.wait()
    except KeyboardInterrupt:
        return
    finally:
        _end(child)
        signal.signal(signal.SIGTERM, before)
    raise AnalyticsError(f"the dashboard ended by itself, with code {code}")


def _stop(_signal: int, _frame: FrameType | None) -> None:
    raise KeyboardInterrupt


def _end(child: subprocess.Popen[bytes]) -> None:
    child.terminate()
    try:
        child.wait(PATIENCE_S)
    except subprocess.TimeoutExpired:
        child.kill()
        child.wait()


def _url(address: str, port: int) -> str:
    return (
        f"http://[{address}]:{port}" if ":" in address else f"http://{address}:{port}"
    )


def _check_free(address: str, port: int) -> None:
    """Refuse an address nobody can listen at, since the server would only say so."""
    try:
        family = socket.AF_INET6 if ip_address(address).version == 6 else socket.AF_INET
    except ValueError as error:
        raise InputError(
            f"`{address}` is no IP address; give 127.0.0.1 for this machine alone"
        ) from error
    with socket.socket(family) as listener:
        if os.name == "posix":  # a port just left is free
            listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            listener.bind((address, port))
        except OSError as error:
            raise InputError(
                f"nobody can listen at {address} port {port}: {error.strerror}; is a "
                "dashboard open already? give another `--port`"
            ) from error
