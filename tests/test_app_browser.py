"""The jobs of lifter, coach and researcher, start to finish in a real browser."""

import re
import shutil
import zipfile
from pathlib import Path

import frictionless
import pytest
from dashboard import settle
from playwright.sync_api import expect

LOG = """Tag;Wer;Übung;Gewicht;Wdh;RIR
03.02.2025;Z1;LH-Curl stehend;40,5;8;2
10.02.2025;Z1;LH-Curl stehend;41;8;1
17.02.2025;Z1;LH-Curl stehend;42,5;8;1
27.02.2025;Z1;LH-Curl stehend;43;acht;1
"""


@pytest.mark.browser
@pytest.mark.filterwarnings("ignore::ResourceWarning")
def test_a_log_becomes_a_chart_and_a_verdict(tab, serve, sample_store, tmp_path: Path):
    store = Path(shutil.copy(sample_store, tmp_path / "own.duckdb"))
    log = tmp_path / "mine.csv"
    log.write_text(LOG, encoding="utf-8")
    address = serve(store)

    tab.goto(address)
    upload = tab.get_by_test_id("stFileUploader").locator("input[type=file]")
    upload.wait_for(state="attached", timeout=60_000)
    upload.set_input_files(log)
    expect(tab.get_by_role("heading", name="How the file is read")).to_be_visible(
        timeout=30_000
    )
    unit = tab.get_by_role("combobox", name=re.compile("Unit of the loads"))
    unit.scroll_into_view_if_needed()  # a scroll after the click would close the list
    settle(tab)
    unit.click()
    tab.get_by_role("option", name=re.compile("^kg")).click()
    settle(tab)
    add = tab.get_by_role("button", name="Add 3 sets")
    expect(add).to_be_enabled(timeout=30_000)
    expect(tab.get_by_text("Rows that would be set aside")).to_be_visible()
    add.click()
    expect(tab.get_by_text("3 sets added")).to_be_visible(timeout=30_000)

    tab.goto(f"{address}/strength-over-time?who=Z1")
    figure = tab.get_by_test_id("stVegaLiteChart").locator("canvas, svg").first
    figure.wait_for(timeout=90_000)
    expect(tab.get_by_role("heading", name=re.compile("^Z1"))).to_be_visible()

    tab.goto(f"{address}/log-against-curve")
    expect(tab.get_by_role("heading", name=re.compile("^Verdict"))).to_be_visible(
        timeout=90_000
    )
    settle(tab)


@pytest.mark.browser
@pytest.mark.filterwarnings("ignore::ResourceWarning")
def test_a_coach_finds_who_has_stalled_and_a_researcher_leaves_with_a_package(
    tab, serve, sample_store, tmp_path: Path
):
    address = serve(sample_store)
    asked = []
    tab.on("request", lambda request: asked.append(request.url))

    tab.goto(f"{address}/clients-side-by-side")
    # sample_logs/truth.toml: of the 14 invented lifters only R06 stops gaining.
    stalled = tab.get_by_role("heading", name=re.compile("R06 is the likeliest"))
    expect(stalled).to_be_visible(timeout=90_000)
    tab.goto(f"{address}/strength-over-time?who=R06")
    expect(tab.get_by_role("heading", name=re.compile("^R06"))).to_be_visible(
        timeout=90_000
    )

    settle(tab)
    tab.get_by_role("link", name="Research tables").click()
    take = tab.get_by_role("button", name=re.compile("data package"))
    take.wait_for(timeout=90_000)
    settle(tab)
    assert "who=R06" in tab.url  # what was chosen stays in the address
    with tab.expect_download() as download:
        take.click()
    package = tmp_path / "package"
    with zipfile.ZipFile(download.value.path()) as archive:
        archive.extractall(package)
    assert frictionless.validate(str(package / "datapackage.json")).valid

    local = (address, address.replace("http", "ws"), "data:", "blob:")
    assert [url for url in asked if not url.startswith(local)] == []
