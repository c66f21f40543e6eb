"""A server for several people with a provider of sign-in beside it."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import club
import pytest
from dashboard import PATIENCE_S, ROOT, free_port, new_visit, settle, wait_for
from playwright.sync_api import Browser, Page

from analytics.store import Store

SECRET = "5f2b90e4c1a7d8336e0f9ab2447c15de"
STRANGERS = ("eve@club.test", "Kim@club.test")  # not in the list; not verified
SERVE = [sys.executable, "-c", "from analytics.cli.main import main; main()", "serve"]


@pytest.fixture(scope="module")
def provider(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """Run a provider in a process of its own: it warns of what it is made of."""
    claims = [
        {"sub": address, "email": address, "email_verified": address.islower()}
        for address in (*(one for one, _ in club.PEOPLE.values()), *STRANGERS)
    ]
    port = free_port()
    users = [part for user in claims for part in ("--user-claims", json.dumps(user))]
    log = tmp_path_factory.mktemp("provider") / "log"
    with log.open("wb") as out:
        server = subprocess.Popen(
            [sys.executable, "-m", "oidc_provider_mock", "--host", "localhost",
             "--port", str(port), *users], stdout=out, stderr=subprocess.STDOUT,
        )  # fmt: skip
    try:
        wait_for(f"http://localhost:{port}/.well-known/openid-configuration")
        yield f"http://localhost:{port}"
    finally:
        server.terminate()
        server.wait(PATIENCE_S)


@pytest.fixture(scope="module")
def start(
    provider: str, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[Callable[..., tuple[str, Store]]]:
    """Serve a copy of the club's store to people who sign in."""
    folder, servers = tmp_path_factory.mktemp("shared"), []
    built = club.build(folder / "club.duckdb").path

    def served(hours: float = 12, origin: str = "") -> tuple[str, Store]:
        port = free_port()
        here = f"http://localhost:{port}"
        path = Path(shutil.copy(built, folder / f"{port}.duckdb"))
        config = folder / f"{port}.toml"
        config.write_text(
            f'[auth]\nredirect_uri = "{origin or here}/oauth2callback"\n'
            f'cookie_secret = "{SECRET}"\nclient_id = "club"\nclient_secret = "x"\n'
            f'server_metadata_url = "{provider}/.well-known/openid-configuration"\n'
            f"[server]\nsession_hours = {hours}\n"
        )
        config.chmod(0o600)
        with (folder / f"{port}.log").open("wb") as log:
            servers.append(subprocess.Popen(
                [*SERVE, "--shared", str(config), "--port", str(port),
                 "--store", str(path)],
                cwd=folder, env={**os.environ, "PYTHONPATH": str(ROOT)},
                stdout=log, stderr=subprocess.STDOUT,
            ))  # fmt: skip
        wait_for(f"{here}/_stcore/health")
        return here, Store(path)

    yield served
    for server in servers:
        server.terminate()
        server.wait(PATIENCE_S)


@pytest.fixture(scope="module")
def shared(start) -> tuple[str, Store]:
    return start()


@pytest.fixture
def visitor(browser: Browser) -> Iterator[Callable[..., Page]]:
    """Sign somebody in, in a browser of their own."""
    contexts = []

    def signed_in(server: str, address: str) -> Page:
        contexts.append(
            new_visit(
                browser,
                viewport={"width": 1440, "height": 1000},
                ignore_https_errors=True,
            )
        )
        page = contexts[-1].new_page()
        page.goto(server)
        page.get_by_role("button", name="Sign in").click()
        page.get_by_role("button", name=address, exact=True).click()
        page.get_by_role("button", name="Sign out").wait_for()
        settle(page)
        return page

    yield signed_in
    for context in contexts:
        context.close()
