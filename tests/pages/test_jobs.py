"""Whole jobs on files people bring, in a real browser, every click counted."""

from __future__ import annotations

import re
import zipfile
from datetime import date, timedelta
from pathlib import Path

import frictionless
import openpyxl
import pytest
from dashboard import settle
from playwright.sync_api import Locator, Page, expect

from analytics import store as stored
from analytics.store import Store

pytestmark = [
    pytest.mark.browser,
    pytest.mark.filterwarnings("ignore::ResourceWarning"),
]


class Hand:
    """One person's mouse: clicks, choices and files count, typing does not."""

    def __init__(self, tab: Page) -> None:
        self.tab, self.clicks = tab, 0

    def click(self, place: Locator, **at: object) -> None:
        place.scroll_into_view_if_needed()
        place.click(**at)
        self.clicks += 1
        settle(self.tab)

    def press(self, name: str) -> None:
        self.click(self.tab.get_by_role("button", name=name, exact=True))

    def follow(self, name: str) -> None:
        self.click(self.tab.get_by_role("link", name=name, exact=True).last)

    def type(self, label: str, text: str) -> None:
        self.click(self.tab.get_by_label(label).first)
        self.tab.keyboard.type(text)
        self.tab.keyboard.press("Tab")
        settle(self.tab)

    def pick(self, label: str, typed: str) -> None:
        """Open a list, type into it and take the first that is found."""
        self.click(self.tab.get_by_role("combobox", name=re.compile(label)).first)
        self.tab.keyboard.type(typed)
        self.tab.wait_for_timeout(300)
        self.click(self.tab.get_by_role("option").first)

    def choose(self, label: str, option: str) -> None:
        """Press one of the answers that lie open beside each other."""
        group = self.tab.get_by_test_id("stButtonGroup").filter(has_text=label)
        self.click(group.get_by_role("radio", name=option, exact=True))

    def bring(self, *files: Path) -> None:
        place = self.tab.get_by_test_id("stFileUploader").locator("input[type=file]")
        place.wait_for(state="attached", timeout=60_000)
        place.set_input_files(list(files))
        self.clicks += 1
        heading = self.tab.get_by_role("heading", name=re.compile("^How ")).first
        expect(heading).to_be_visible(timeout=60_000)
        settle(self.tab)

    def opened(self, address: str) -> None:
        self.tab.goto(address)
        expect(self.tab.get_by_role("heading", level=1)).to_be_visible(timeout=60_000)
        settle(self.tab)


def save(path: Path, sheets: dict[str, list[list[object]]]) -> Path:
    book = openpyxl.Workbook()
    book.remove(book.active)
    for name, rows in sheets.items():
        sheet = book.create_sheet(name)
        for row in rows:
            sheet.append(row)
    book.save(path)
    return path


GERMAN = {  # as the lifter calls it, first load
    "Scott-Curl SZ": 25, "Bankdr. Bude": 70, "Hammercurls": 16,
}  # fmt: skip


def month(first: date, since: int) -> list[list[object]]:
    """Four weeks, date and exercise written once, the sets numbered."""
    rows: list[list[object]] = [
        ["Datum", "Übung", "Satz", "Gewicht (kg)", "Wdh", "RIR", "Notiz"]
    ]
    for week in range(4):
        day = f"{first + timedelta(weeks=week):%d.%m.%Y}"
        for at, (name, load) in enumerate(GERMAN.items()):
            for number, said in enumerate(("locker", "1-2", "MV"), start=1):
                sore = since + week == 1 and at == 2 and number == 3
                rows.append([
                    day if at == 0 and number == 1 else None,
                    name if number == 1 else None,
                    number, load + (since + week) / 2, 9 - number,
                    "hart" if week == 3 and number == 3 else said,
                    "Ellenbogen zwickt 3/10" if sore else None,
                ])  # fmt: skip
    return rows


def test_a_lifter_with_a_german_workbook_sees_next_loads_in_16_clicks(
    tab, serve, tmp_path
):
    first = date(2025, 2, 3)
    path = save(tmp_path / "Trainingsbuch.xlsx", {
        "Februar": month(first, 0),
        "März": month(first + timedelta(weeks=4), 4),
        "Plan": month(date(2026, 6, 1), 20),
        "Notizen": [["Studio bis 22 Uhr"]],
    })  # fmt: skip
    store, hand = Store(tmp_path / "own.duckdb"), Hand(tab)
    hand.opened(serve(store.path))
    hand.follow("Import a log")
    hand.bring(path)
    hand.click(tab.get_by_test_id("stMultiSelect").get_by_label("Remove Plan"))
    hand.choose("written once", "holds below")
    hand.type("Code of the lifter", "L1")
    hand.choose("locker (", "4 in reserve")
    hand.choose("hart (", "1 in reserve")
    hand.press("Import 72 sets")
    expect(tab.get_by_text("72 sets added")).to_be_visible(timeout=60_000)
    hand.pick("^Scott-Curl SZ means", "Scott 45")
    hand.type("or my own exercise", "Shed bench")
    hand.press("Give these meanings")
    expect(tab.get_by_text("Bankdr. Bude means Shed bench, 24 sets")).to_be_visible()
    hand.follow("Check sets")
    hand.press("Pain, elbow, 3 of 10")
    hand.follow("Next session")
    load = tab.get_by_role("heading", name=re.compile(r" [\d.]+ kg for \d+ rep"))
    expect(load).to_be_visible(timeout=120_000)
    assert hand.clicks <= 16
    sets = stored.sets(store)
    assert len(sets) == 72
    assert stored.rejected(store).empty
    assert stored.unnamed(store).empty
    by_name = sets.groupby("variant")["load_kg"].agg(["size", "min", "max"])
    assert by_name.loc["preacher_curl_45"].tolist() == [24, 25, 28.5]
    assert by_name.loc["hammer_curl"].tolist() == [24, 16, 19.5]
    (bench,) = set(by_name.index) - {"preacher_curl_45", "hammer_curl"}
    assert by_name.loc[bench].tolist() == [24, 70, 73.5]
    assert sets["performed_on"].nunique() == 8
    assert set(sets["lifter"]) == {"L1"}
    # every fourth week's last set is hart; all other last sets went to failure
    assert sets["rir"].value_counts().to_dict() == {4.0: 24, 1.5: 24, 1.0: 6, 0.0: 18}
    sore = stored.sets_and_pains(store).query("pain > 0")
    assert sore[["variant", "pain"]].to_numpy().tolist() == [["hammer_curl", 3]]
