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
from page_runs import page
from playwright.sync_api import Browser, Page
from streamlit.testing.v1 import AppTest

from analytics import store as stored
from analytics.intake import take_in
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


@pytest.fixture(scope="module")
def visit() -> Callable[..., AppTest]:
    """Go on to a page as the same visitor, which spares the first page each time."""
    visitors: dict[str, AppTest] = {}

    def go(view: str, *, who: str = "", store: Path) -> AppTest:
        with pytest.MonkeyPatch.context() as patch:
            patch.setenv("LACERTUS_STORE", str(store))
            if f"{store} {who}" not in visitors:
                visitors[f"{store} {who}"] = page(view, who=who)
            return visitors[f"{store} {who}"].switch_page(f"views/{view}/view.py").run()

    return go


@pytest.fixture
def small_store(tmp_path, monkeypatch) -> Store:
    """Two lifters: one curls and never fails a set, one only presses with the legs."""
    store = Store(tmp_path / "small.duckdb")
    log = tmp_path / "log.csv"
    curls = [f"2025-01-{day:02d},A,{name},{load},8,2" for day in range(6, 30, 3)
             for name, load in (("barbell curl", 40), ("hammer curl", 18))]  # fmt: skip
    presses = [f"2025-01-{day:02d},B,leg press,140,8,2" for day in range(6, 30, 3)]
    rows = "\n".join([*curls, *presses])
    log.write_text(f"date,lifter,exercise,load (kg),reps,rir\n{rows}\n")
    take_in(store, log)
    stored.teach_name(store, "leg press", "own_press", "knee extension")
    monkeypatch.setenv("LACERTUS_STORE", str(store.path))
    return store
