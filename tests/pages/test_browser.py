"""The jobs of lifter, coach and researcher, start to finish in a real browser."""

import hmac
import re
import zipfile
from datetime import date
from pathlib import Path
from urllib.parse import quote_plus

import frictionless
import pandas as pd
import pytest
from dashboard import new_visit, settle
from playwright.sync_api import Page, expect

pytestmark = [
    pytest.mark.browser,
    pytest.mark.filterwarnings("ignore::ResourceWarning"),
]

LOG = "Tag;Wer;Übung;Gewicht;Anz.;RIR\n" + "".join(
    f"{day:02d}.{month:02d}.2025;Z1;{name};{load};8;{rir}\n"
    for month, day, load, rir in (
        (2, 3, "40,5", 2),
        (2, 10, "41", 1),
        (2, 17, "42,5", 1),
        (2, 24, "42,5", 2),
        (3, 3, "43", 1),
        (3, 10, "44", 1),
    )
    for name in ("LH-Curl stehend", "Bankdings")
)
LAST = "17.03.2025;Z1;LH-Curl stehend;44;acht;1\n"


def pick(tab: Page, label: str, option: str) -> None:
    """Choose one option of a list by its label."""
    settle(tab)
    box = tab.get_by_role("combobox", name=re.compile(label)).first
    box.scroll_into_view_if_needed()  # a scroll after the click would close the list
    box.click()
    tab.get_by_role("option", name=re.compile(f"^{re.escape(option)}")).first.click()
    settle(tab)


def taken(tab: Page, name: str) -> Path:
    """Press a button that gives a file, and return the file."""
    with tab.expect_download() as download:
        tab.get_by_role("button", name=name).click()
    return Path(download.value.path())


def test_a_lifter_brings_a_log_names_an_exercise_and_leaves_with_load_and_report(
    tab, serve, tmp_path: Path
):
    log = tmp_path / "mine.csv"
    log.write_text(LOG + LAST, encoding="utf-8")
    address = serve(tmp_path / "own.duckdb")

    tab.goto(f"{address}/import-logs")
    upload = tab.get_by_test_id("stFileUploader").locator("input[type=file]")
    upload.wait_for(state="attached")
    upload.set_input_files(log)
    expect(tab.get_by_role("heading", name="How mine.csv is read")).to_be_visible()
    pick(tab, "^Repetitions|Repetitions$", "Anz.")
    units = tab.get_by_test_id("stButtonGroup").filter(has_text="Unit of the loads")
    units.get_by_role("radio", name="kg", exact=True).click()
    settle(tab)
    add = tab.get_by_role("button", name="Import 12 sets")
    expect(add).to_be_enabled()
    expect(tab.get_by_text("Rows that would be rejected")).to_be_visible()
    add.click()
    expect(tab.get_by_text("12 sets added")).to_be_visible()
    means = tab.get_by_role("combobox", name=re.compile("Bankdings means")).first
    means.scroll_into_view_if_needed()
    means.click()
    tab.keyboard.type("Scott 45")
    tab.get_by_role("option", name=re.compile("^Supported curl on a 45")).first.click()
    settle(tab)
    tab.get_by_role("button", name="Give these meanings").click()
    settle(tab)
    expect(tab.get_by_text("to be named")).to_have_count(0)

    tab.goto(f"{address}/next-session?who=Z1")
    load = tab.get_by_role("heading", name=re.compile(r" [\d.]+ kg for 8 repetitions"))
    expect(load).to_be_visible()
    settle(tab)
    tab.get_by_role("tab", name="Report").click()
    settle(tab)
    for kind in ("HTML", "PDF"):
        tab.get_by_role("button", name=f"Write it as {kind}").click()
        take = tab.get_by_role("button", name=f"Download the report, {kind}")
        expect(take).to_be_visible()
        settle(tab)
    page = taken(tab, "Download the report, HTML").read_text("utf-8")
    for words in ("Z1", date.today().isoformat(), "physician", "45° pad"):
        assert words in page
    assert taken(tab, "Download the report, PDF").read_bytes()[:4] == b"%PDF"

    tab.get_by_role("link", name="Strength over time").click()
    figure = tab.get_by_test_id("stVegaLiteChart").locator("canvas, svg").first
    figure.wait_for()
    expect(tab.get_by_role("heading", name=re.compile("^Z1, "))).to_be_visible()
    settle(tab)


def test_a_coach_finds_who_needs_attention_and_opens_the_lifter(
    tab, serve, sample_store
):
    address = serve(sample_store)
    tab.goto(f"{address}/clients")
    first = tab.get_by_role("heading", name=re.compile("^R09 first: pain"))
    expect(first).to_be_visible()
    settle(tab)
    home = tab.get_by_role("heading", name=re.compile(r"^R09, \d+ lifts"))
    # The table is a canvas: its first row lies below the headings.
    tab.get_by_test_id("stDataFrame").first.click(position={"x": 60, "y": 60})
    expect(home).to_be_visible()
    assert "who=R09" in tab.url

    tab.goto(f"{address}/clients?open=R06&open=R03")
    expect(tab.get_by_role("heading", name="R06 and R03")).to_be_visible()
    settle(tab)
    assert "open=R06" in tab.url


def test_a_researcher_leaves_with_a_package_and_nobody_else_hears_of_it(
    tab, serve, sample_store, tmp_path: Path
):
    address = serve(sample_store)
    asked = []
    tab.on("request", lambda request: asked.append(request.url))
    tab.goto(f"{address}/strength-over-time?who=R06")
    expect(tab.get_by_role("heading", name=re.compile("^R06"))).to_be_visible()
    settle(tab)
    tab.get_by_role("link", name="Research tables").click()
    make = tab.get_by_role("button", name="Make the data package")
    make.wait_for()
    assert "who=R06" in tab.url  # what was chosen stays in the address
    make.click()
    tab.get_by_role("button", name="Download the data package").wait_for()
    settle(tab)
    package = tmp_path / "package"
    with zipfile.ZipFile(taken(tab, "Download the data package")) as archive:
        archive.extractall(package)
    assert frictionless.validate(str(package / "datapackage.json")).valid
    assert not list(package.glob("personal_*"))

    secret = "1f0a6c35d2e94b7788c1a05e93f4267bd80c5f1e6aa3947d20b1c8e7f55632d9"
    tab.get_by_text("Add personal tables under pseudonyms").click()
    field = tab.get_by_label("Key of the pseudonyms")
    assert field.get_attribute("type") == "password"
    field.fill(secret)
    tab.get_by_role("button", name="Make the package with personal tables").click()
    words = "Download the package with personal tables"
    tab.get_by_role("button", name=words).wait_for()
    settle(tab)
    assert field.input_value() == ""
    with zipfile.ZipFile(taken(tab, words)) as archive:
        archive.extractall(package)
    assert frictionless.validate(str(package / "datapackage.json")).valid
    # The same names as by the command: HMAC-SHA-256 of the code, keyed.
    names = {
        hmac.new(secret.encode(), f"R{n:02d}".encode(), "sha256").hexdigest()[:16]
        for n in range(1, 15)
    }
    rows = pd.read_csv(package / "personal_strength.csv")
    assert set(rows["pseudonym"]) <= names
    assert rows["pseudonym"].nunique() >= 10
    told = b"".join(path.read_bytes() for path in package.iterdir())
    told += sample_store.read_bytes() + " ".join([tab.url, *asked]).encode()
    assert secret.encode() not in told

    local = (address, address.replace("http", "ws"), "data:", "blob:")
    assert [url for url in asked if not url.startswith(local)] == []


def test_the_address_brings_the_whole_view_back(tab, serve, sample_store):
    address = serve(sample_store)
    pad = quote_plus("Supported curl on a 45° pad")
    view = (
        f"through-the-range?variant={pad}&load_preacher_curl_45=15"
        "&range_preacher_curl_45=30&range_preacher_curl_45=100&elbow=60&mass=90"
    )
    tab.goto(f"{address}/{view}")
    expect(tab.get_by_role("heading", name=re.compile("^At 60°"))).to_be_visible()
    drawn = tab.get_by_role("heading", name=re.compile("pad, 30° to 100°"))
    expect(drawn).to_be_visible()
    with_load = tab.get_by_role(
        "heading", name=re.compile("pad with 7.5 kg on each limb")
    )
    expect(with_load).to_be_visible()
    settle(tab)
    address_bar = tab.url
    for part in view.split("?")[1].split("&"):
        assert part in address_bar

    tab.goto(
        f"{address}/next-session?who=R02&exercises=Hammer+curl&reps=5&rir=1&step_dumbbell_kg=1"
    )
    told = re.compile(r"kg for 5 repetitions, 1 in reserve")
    expect(tab.get_by_role("heading", name=told)).to_be_visible()
    settle(tab)


def test_home_session_and_clients_fit_a_phone_and_a_desk(browser, serve, sample_store):
    address = serve(sample_store)
    for width, tallest in ((390, 4000), (1440, 2500)):
        context = new_visit(browser, viewport={"width": width, "height": 900})
        tab = context.new_page()
        for path in ("", "next-session", "clients"):
            tab.goto(f"{address}/{path}?who=R02")
            tab.get_by_role("heading", level=2).first.wait_for()
            settle(tab)
            main = tab.get_by_test_id("stMain")
            wide, tall = main.evaluate("e => [e.scrollWidth, e.scrollHeight]")
            assert wide <= width, path  # tables scroll inside themselves
            assert tall <= tallest, path
        context.close()
