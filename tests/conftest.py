"""Shared fixtures: stores, files taken in, served dashboards, browser tabs."""

import os
import shutil
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from pathlib import Path
from typing import Any

import pytest
from dashboard import CHROMIUM, launched, new_visit, served
from filelock import FileLock
from playwright.sync_api import Browser, Page, sync_playwright

from analytics.cli import demo
from analytics.intake import IntakeResult, parse_column_map, take_in
from analytics.store import Store

HERE = Path(__file__).parent
LONG = {
    *(
        "test_offline",
        "store/test_disk",
        "strength/test_invariants",
        "pages/test_pages",
        "pages/test_stored_sets",
        "pages/test_outputs",
    ),
    *("reports/test_register", "reports/test_client", "reports/test_tables"),
    *("reports/test_reader", "reports/test_package", "cli/test_commands"),
    *("cli/test_serving", "cli/test_imports", "store/test_fields", "store/test_safety"),
    *("store/test_erase", "strength/test_battery", "test_sample_logs"),
    *("intake/test_accounts", "intake/test_paths", "intake/test_labels"),
    *("intake/test_hostile", "tables/test_bounds", "store/test_private"),
    *("cli/test_sets", "cli/test_coaching", "test_notebook", "evidence/test_curve"),
    *("advice/test_choice", "advice/test_club", "evidence/test_pipeline"),
    *("evidence/test_families", "pages/test_import", "advice/test_direct"),
    *("cli/test_people", "pages/test_people", "pages/test_sign_in"),
    "pages/test_worker",
}


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark the modules that take four fifths of the time of a run."""
    for item in items:
        if str(item.path.relative_to(HERE).with_suffix("")) in LONG:
            item.add_marker("long")


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """Chromium; skipped without one, but never on the build machine."""
    if not Path(CHROMIUM).exists():
        if os.environ.get("CI"):
            pytest.fail(f"no browser at {CHROMIUM}")
        pytest.skip(f"no browser at {CHROMIUM}; install Debian's `chromium` package")
    with sync_playwright() as playwright:
        started = launched(playwright)
        yield started
        started.close()


@pytest.fixture
def tab(browser: Browser) -> Iterator[Page]:
    """One tab with nothing remembered."""
    context = new_visit(browser, viewport={"width": 1440, "height": 1000})
    yield context.new_page()
    context.close()


@pytest.fixture(scope="session")
def serve(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Callable[[Path], str]]:
    """Give the address at which a store is served, one server for each store."""
    logs, addresses = tmp_path_factory.mktemp("served"), {}
    with ExitStack() as stack:

        def address(store: Path) -> str:
            if store not in addresses:
                log = logs / f"server{len(addresses)}.log"
                addresses[store] = stack.enter_context(served(store, log=log))
            return addresses[store]

        yield address


@pytest.fixture(scope="session")
def sample_store(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give a store of the sample logs, with its fit; to change it take the copy.

    Built once for all processes of a run; each has a file of its own.
    """
    own = tmp_path_factory.mktemp("sample") / "sample.duckdb"
    run = tmp_path_factory.getbasetemp()
    run = run.parent if "PYTEST_XDIST_WORKER" in os.environ else run
    first = Store(run / "first" / "sample.duckdb")
    with FileLock(run / "first.lock"):
        if not first.exists:
            first.path.parent.mkdir()
            demo.build(first)
    return Path(shutil.copy(first.path, own))


@pytest.fixture
def sample_copy(sample_store: Path, tmp_path: Path) -> Store:
    """Give a copy of the sample store that a test may change."""
    return Store(Path(shutil.copy(sample_store, tmp_path / "copy.duckdb")))


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
            result.rows_added + result.rows_known + result.rejected
        )
        return result

    return bring
