"""Shared fixtures: stores, files taken in, a served dashboard, a browser tab."""

import os
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from pathlib import Path
from typing import Any

import pytest
from dashboard import CHROMIUM, launched, served
from playwright.sync_api import Page, sync_playwright

from analytics import demo
from analytics.intake import IntakeResult, parse_column_map, take_in
from analytics.store import Store


@pytest.fixture
def tab() -> Iterator[Page]:
    """One Chromium tab; skipped without a browser, but never on the build machine."""
    if not Path(CHROMIUM).exists():
        if os.environ.get("CI"):
            pytest.fail(f"no browser at {CHROMIUM}")
        pytest.skip(f"no browser at {CHROMIUM}; install Debian's `chromium` package")
    with sync_playwright() as playwright:
        browser = launched(playwright)
        try:
            yield browser.new_page(viewport={"width": 1440, "height": 1000})
        finally:
            browser.close()


@pytest.fixture
def serve(tmp_path: Path) -> Iterator[Callable[[Path], str]]:
    """Serve a store for one test and give its address."""
    with ExitStack() as stack:
        yield lambda store: stack.enter_context(
            served(store, log=tmp_path / "server.log")
        )


@pytest.fixture(scope="session")
def sample_store(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give a store of the sample logs; copy it before changing anything."""
    store = Store(tmp_path_factory.mktemp("sample") / "sample.duckdb")
    demo.build(store)
    return store.path


@pytest.fixture
def store(tmp_path: Path) -> Store:
    """Give a store that does not exist yet."""
    return Store(tmp_path / "store.duckdb", wait_s=2)


@pytest.fixture
def bring(store: Store, tmp_path: Path) -> Callable[..., IntakeResult]:
    """Take a text into the store, and see that its rows add up."""

    def bring(
        content: str | bytes,
        *,
        name: str = "log.csv",
        columns: str | None = None,
        **options: Any,
    ) -> IntakeResult:
        path = tmp_path / name
        path.write_bytes(content if isinstance(content, bytes) else content.encode())
        column_map = parse_column_map(columns) if columns else None
        result = take_in(store, path, column_map=column_map, **options)
        assert result.rows_read == (
            result.rows_added + result.rows_known + result.set_aside
        )
        return result

    return bring
