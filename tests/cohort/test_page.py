"""The page of a result folder in Chromium: not too wide, not wrong, and a package."""

import pytest
from axe_playwright_python.sync_playwright import Axe
from dashboard import new_visit, served, settle

pytestmark = [
    pytest.mark.browser,
    pytest.mark.long,
    pytest.mark.filterwarnings("ignore::ResourceWarning"),
]


@pytest.fixture
def address(done, monkeypatch, tmp_path):
    monkeypatch.setenv("LACERTUS_COHORT", str(done.out))
    with served(tmp_path / "none.duckdb", log=tmp_path / "server.log") as address:
        yield address


@pytest.mark.parametrize(("width", "mode"), [(390, "dark"), (1440, "light")])
def test_the_page_is_whole_and_makes_a_package(width, mode, address, browser):
    context = new_visit(
        browser, viewport={"width": width, "height": 900}, color_scheme=mode
    )
    tab, errors = context.new_page(), []
    tab.on("pageerror", lambda error: errors.append(error))
    tab.goto(address)
    tab.get_by_role("heading", name="Research tables", level=1).wait_for()
    settle(tab)
    assert tab.evaluate("document.documentElement.scrollWidth") <= width
    assert tab.get_by_role("tab").count() == 5
    faults = [
        f"{rule['impact']} {rule['id']}: {rule['nodes'][0]['html'][:160]}"
        for rule in Axe().run(tab).response["violations"]
        if rule["impact"] in ("serious", "critical")
    ]
    assert faults == []
    tab.get_by_role("button", name="Make the data package").click()
    with tab.expect_download() as download:
        tab.get_by_role("button", name="Download the data package, ZIP").click()
    assert download.value.suggested_filename == "lacertus_tables.zip"
    assert errors == []
    context.close()
