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
from typing import Any

from playwright.sync_api import Browser, BrowserContext, Page, Playwright, expect

ROOT = Path(__file__).parents[1]
CHROMIUM = "/usr/bin/chromium"
PATIENCE_S = 120  # a wait is no assertion: on a busy machine everything takes longer
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
            server.wait(PATIENCE_S)  # what is computed beside the pages ends first


def wait_for(address: str) -> None:
    deadline = time.monotonic() + PATIENCE_S
    while True:
        try:
            urllib.request.urlopen(address, timeout=10).close()
            return
        except (urllib.error.URLError, ConnectionError):
            if time.monotonic() > deadline:
                raise
            time.sleep(0.2)


def launched(playwright: Playwright) -> Browser:
    """Open Chromium so that it talks to nobody but the dashboard."""
    expect.set_options(timeout=PATIENCE_S * 1000)
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


def new_visit(browser: Browser, **options: Any) -> BrowserContext:
    """Open a context with nothing remembered and much patience."""
    context = browser.new_context(**options)
    context.set_default_timeout(PATIENCE_S * 1000)
    return context


def settle(page: Page) -> None:
    """Wait until the script has run and the figures are drawn."""
    idle = "[data-testid=stApp][data-test-script-state=notRunning]"
    # A run that an answer has just asked for may not have begun: look twice.
    for _ in range(2):
        page.wait_for_selector(idle, timeout=PATIENCE_S * 1000)
        page.wait_for_timeout(600)
    page.wait_for_selector(idle, timeout=PATIENCE_S * 1000)
