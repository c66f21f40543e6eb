"""The main job in a real browser: upload, map, commit, see the chart, the verdict."""

import re
from pathlib import Path

import pytest
from dashboard import settle
from playwright.sync_api import expect

from analytics import demo
from analytics.store import Store

LOG = """Tag;Wer;Übung;Gewicht;Wdh;RIR
03.02.2025;Z1;LH-Curl stehend;40,5;8;2
10.02.2025;Z1;LH-Curl stehend;41;8;1
17.02.2025;Z1;LH-Curl stehend;42,5;8;1
27.02.2025;Z1;LH-Curl stehend;43;acht;1
"""


@pytest.mark.browser
@pytest.mark.filterwarnings("ignore::ResourceWarning")
def test_a_log_becomes_a_chart_and_a_verdict(tab, serve, tmp_path: Path):
    store = tmp_path / "own.duckdb"
    demo.build(Store(store))
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
    tab.get_by_role("combobox", name=re.compile("Unit of the loads")).click()
    tab.get_by_role("option", name=re.compile("^kg")).click()
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
