"""Accessibility of every page, measured with axe-core in Chromium."""

import pytest
from axe_playwright_python.sync_playwright import Axe
from dashboard import PAGES, new_visit, settle


def grave(tab) -> list[str]:
    """Serious and critical violations, each with where it is."""
    found = Axe().run(tab).response["violations"]
    return [
        f"{rule['impact']} {rule['id']}: {node['html'][:160]}"
        for rule in found
        if rule["impact"] in ("serious", "critical")
        for node in rule["nodes"]
    ]


SLOW = pytest.mark.slow  # every mode and width, and no data


@pytest.mark.browser
@pytest.mark.filterwarnings("ignore::ResourceWarning")
@pytest.mark.parametrize(
    ("mode", "width", "full"),
    [
        pytest.param("light", 1440, True),
        pytest.param("dark", 390, True, marks=SLOW),
        pytest.param("light", 390, True, marks=SLOW),
        pytest.param("dark", 1440, True, marks=SLOW),
        pytest.param("light", 390, False, marks=SLOW),
        pytest.param("dark", 1440, False, marks=SLOW),
    ],
)
def test_no_page_has_a_serious_accessibility_violation(
    mode, width, full, browser, serve, sample_store, tmp_path_factory
):
    store = sample_store if full else tmp_path_factory.getbasetemp() / "none.duckdb"
    address = serve(store)
    context = new_visit(
        browser, viewport={"width": width, "height": 1000}, color_scheme=mode
    )
    tab, faults = context.new_page(), []
    for path, title in PAGES.items():
        tab.goto(f"{address}/{path}?who={'R02' if full else ''}")
        tab.get_by_role("heading", name=title, level=1).wait_for()
        settle(tab)
        faults += [f"{title}: {fault}" for fault in grave(tab)]
    context.close()
    assert faults == []
