"""Today: somebody without a file starts in a real browser, and slips are refused."""

from __future__ import annotations

import re
from datetime import date

import pytest
from dashboard import settle
from playwright.sync_api import Page, expect

from analytics.store import Store, logged, sets

pytestmark = [
    pytest.mark.browser,
    pytest.mark.filterwarnings("ignore::ResourceWarning"),
]


def choose(tab: Page, label: str, typed: str, option: str) -> None:
    """Type into a list, and take one of what it offers."""
    tab.get_by_role("combobox", name=label).click()
    tab.keyboard.type(typed)
    tab.get_by_role("option", name=option).first.click()


def fill(tab: Page, **typed: str) -> None:
    form = tab.get_by_test_id("stForm")
    for label, text in typed.items():
        form.get_by_label(label).first.click()
        tab.keyboard.press("Control+a")
        tab.keyboard.press("Delete")
        tab.keyboard.insert_text(text)
        tab.keyboard.press("Tab")


def log_it(tab: Page) -> None:
    tab.get_by_role("button", name="Log it").click()
    settle(tab)


def test_somebody_without_a_file_logs_three_sets_and_sees_them_on_home(
    tab, serve, tmp_path
):
    store = Store(tmp_path / "none.duckdb")
    tab.goto(f"{serve(store.path)}/")
    tab.get_by_role("link", name="Log today's sets by hand").click()
    settle(tab)
    choose(tab, "Who lifted", "N1", "Add: N1")
    choose(tab, "Exercise", "hammer", "Hammer curl")
    fill(tab, **{"Load": "18", "Repetitions": "8", "Sets like": "2", "In reserve": "2"})
    log_it(tab)
    expect(tab.get_by_text("2 sets of Hammer curl, 18 kg × 8")).to_be_visible()
    choose(tab, "Exercise", "hammer", "Hammer curl")
    fill(tab, **{"Load": "20", "Repetitions": "6", "Sets like": "1", "In reserve": "0"})
    log_it(tab)
    expect(tab.get_by_text("1 set of Hammer curl, 20 kg × 6")).to_be_visible()
    tab.get_by_role("link", name="Home", exact=True).first.click()
    settle(tab)
    heading = tab.get_by_role("heading", name="N1, 1 lift")
    expect(heading).to_be_visible()
    expect(tab.get_by_text(f"{date.today()}: 1 exercise, 3 sets")).to_be_visible()
    kept = sets(store)
    assert kept[["load_kg", "reps", "rir"]].values.tolist() == [
        [18, 8, 2], [18, 8, 2], [20, 6, 0]
    ]  # fmt: skip


def test_slips_in_the_form_are_refused_in_words_and_nothing_is_stored(
    tab, serve, tmp_path
):
    store = Store(tmp_path / "none.duckdb")
    good = {"Load": "18", "Repetitions": "8", "In reserve": "2", "Pain": "0",
            "Failed at": "", "Sets like this": "1", "Note": ""}  # fmt: skip
    tab.goto(f"{serve(store.path)}/today")
    settle(tab)
    choose(tab, "Who lifted", "N1", "Add: N1")
    choose(tab, "Exercise", "hammer", "Hammer curl")
    fill(tab, **good)
    for label, wrong, said in (
        ("Repetitions", "0", "needed"),
        ("Repetitions", "-5", "greater than or equal to 0"),
        ("Repetitions", "1e9", "above 0 and at most 300"),
        ("Repetitions", "", "needed"),
        ("Load", "-20", "greater than or equal to 0"),
        ("Load", "5000", "0 to 1000 kg"),
        ("Load", "abc", "needed"),
        ("In reserve", "31", "accepted is 0 to 30"),
        ("In reserve", "1-40", "accepted is"),
        ("In reserve", "some", "an interval such as 1-2"),
        ("Pain", "11", "between 0 and 10"),
        ("Failed at", "400", "between 0 and 180"),
        ("Sets like this", "99", "between 1 and 50"),
        ("Note", "x" * 10_001, "10000"),
    ):
        fill(tab, **{label: wrong})
        log_it(tab)
        told = tab.get_by_role("alert").filter(has_text=re.compile(said))
        expect(told.first).to_be_visible()
        assert logged(store).empty, wrong
        fill(tab, **{label: good[label]})
    fill(tab, Repetitions="8.5", **{"In reserve": "1-2"})
    log_it(tab)
    expect(tab.get_by_text("1 set of Hammer curl, 18 kg × 8.5")).to_be_visible()
    assert sets(store)[["rir", "rir_half"]].values.tolist() == [[1.5, 0.5]]
