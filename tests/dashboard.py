"""Starts the dashboard on a store and opens it in Chromium, for tests and pictures."""

import os
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from playwright.sync_api import Browser, Page, Playwright

ROOT = Path(__file__).parents[1]
CHROMIUM = "/usr/bin/chromium"
PAGES = {
    "": "Home",
    "import-logs": "Import logs",
    "today": "Today",
    "check-sets": "Check sets",
    "strength-over-time": "Strength over time",
    "compare-exercises": "Compare exercises",
    "through-the-range": "Through the range",
    "are-curls-needed": "Are curls needed?",
    "does-the-log-fit": "Does the log fit?",
    "next-session": "Next session",
    "clients": "Clients",
    "research-tables": "Research tables",
    "method-and-cautions": "Method and cautions",
}


def free_port() -> int:
    with socket.socket() as listener:
        listener.bind(("127.0.0.1", 0))
        return listener.getsockname()[1]


@contextmanager
def served(store: Path, *, log: Path) -> Iterator[str]:
    """Serve one store and give the address; ended by its own process id."""
    port = free_port()
    command = [sys.executable, "-m", "app.server", str(ROOT / "app" / "main.py")]
    with log.open("wb") as out:
        server = subprocess.Popen(
            [*command, "--server.port", str(port)],
            cwd=log.parent,
            env={
                **os.environ,
                "LACERTUS_STORE": str(store.absolute()),
                "PYTHONPATH": str(ROOT),
            },
            stdout=out,
            stderr=subprocess.STDOUT,
        )
        try:
            wait_for(f"http://127.0.0.1:{port}/_stcore/health")
            yield f"http://127.0.0.1:{port}"
        finally:
            server.terminate()
            server.wait(60)  # what is being computed beside the pages ends first


def wait_for(address: str, seconds: float = 60) -> None:
    deadline = time.monotonic() + seconds
    while True:
        try:
            urllib.request.urlopen(address, timeout=2).close()
            return
        except (urllib.error.URLError, ConnectionError):
            if time.monotonic() > deadline:
                raise
            time.sleep(0.2)


def launched(playwright: Playwright) -> Browser:
    """Open Chromium so that it talks to nobody but the dashboard."""
    return playwright.chromium.launch(
        executable_path=CHROMIUM,
        args=[
            "--headless",
            "--no-sandbox",
            "--disable-gpu",
            "--disable-quic",
            "--no-first-run",
            "--disable-background-networking",
            "--disable-component-update",
            "--disable-sync",
        ],
    )


def settle(page: Page, *, timeout_s: float = 60) -> None:
    """Wait until the script has run and the figures are drawn."""
    idle = "[data-testid=stApp][data-test-script-state=notRunning]"
    # A run that an answer has just asked for may not have begun: look twice.
    for _ in range(2):
        page.wait_for_selector(idle, timeout=timeout_s * 1000)
        page.wait_for_timeout(600)
    page.wait_for_selector(idle, timeout=timeout_s * 1000)
