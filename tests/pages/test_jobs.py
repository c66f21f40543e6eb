"""Whole jobs on files people bring, in a real browser, every click counted."""

from __future__ import annotations

import re
import zipfile
from datetime import date, timedelta
from pathlib import Path

import frictionless
import pytest
from dashboard import settle
from playwright.sync_api import Locator, Page, expect
from workbooks import book

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

    def type(self, label: str, text: str, *, nth: int = 0) -> None:
        self.click(self.tab.get_by_label(label).nth(nth))
        self.tab.keyboard.type(text)
        self.tab.keyboard.press("Tab")
        settle(self.tab)

    def pick(self, label: str, typed: str) -> None:
        """Open a list, type into it and take the first that is found."""
        self.click(self.tab.get_by_role("combobox", name=re.compile(label)).first)
        self.tab.keyboard.type(typed)
        self.tab.wait_for_timeout(300)
        self.click(self.tab.get_by_role("option").first)

    def choose(self, label: str, option: str, *, nth: int = 0) -> None:
        """Press one of the answers that lie open beside each other."""
        groups = self.tab.get_by_test_id("stButtonGroup").filter(has_text=label)
        self.click(groups.nth(nth).get_by_role("radio", name=option, exact=True))

    def bring(self, *files: Path) -> None:
        place = self.tab.get_by_test_id("stFileUploader").locator("input[type=file]")
        place.wait_for(state="attached")
        place.set_input_files(list(files))
        self.clicks += 1
        heading = self.tab.get_by_role("heading", name=re.compile("^How ")).first
        expect(heading).to_be_visible()
        settle(self.tab)

    def opened(self, address: str) -> None:
        self.tab.goto(address)
        expect(self.tab.get_by_role("heading", level=1)).to_be_visible()
        settle(self.tab)


def save(path: Path, sheets: dict[str, list[list[object]]]) -> Path:
    path.write_bytes(book(**sheets))
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
    expect(tab.get_by_text("72 sets added")).to_be_visible()
    hand.pick("^Scott-Curl SZ means", "Scott 45")
    hand.type("or my own exercise", "Shed bench")
    hand.press("Give these meanings")
    expect(tab.get_by_text("Bankdr. Bude means Shed bench, 24 sets")).to_be_visible()
    hand.follow("Check sets")
    hand.press("Pain, elbow, 3 of 10")
    hand.follow("Next session")
    load = tab.get_by_role("heading", name=re.compile(r" [\d.]+ kg for \d+ rep"))
    expect(load).to_be_visible()
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


def english(code: str, base: float) -> list[list[object]]:
    """Six weeks of one client, a row per set."""
    rows: list[list[object]] = [["Date", "Exercise", "Weight (kg)", "Reps", "RIR"]]
    for week in range(6):
        day = date(2025, 9, 1) + timedelta(weeks=week)
        for name, load in (("Barbell curl", base), ("Plank row thing", base + 20)):
            rows += [[day, name, load + week / 2, reps, 2] for reps in (10, 8)]
    return rows


def german() -> str:
    """Four clients in one file; one load has lost its decimal sign."""
    rows = ["Kunde;Datum;Übung;Serie;Gewicht;Wdh;RIR"]
    for at, code in enumerate(("K4", "K5", "K6", "K7")):
        for week in range(6):
            day = f"{date(2025, 9, 1) + timedelta(weeks=week):%d.%m.%Y}"
            for serie in (1, 2, 3):
                bench = f"{70 + at * 5 + week},5"
                if (code, week, serie) == ("K5", 2, 2):
                    bench = bench.replace(",", "")
                rows.append(f"{code};{day};Bankdings;{serie};{bench};8;1-2")
                rows.append(f"{code};{day};Hammercurl;{serie};{14 + at},0;10;2")
    return "\n".join(rows) + "\n"


def pounds() -> str:
    """One client who writes pounds and RPE, and hurt lately."""
    rows = ["day,exercise,weight (lb),reps,RPE,comments"]
    for week in range(6):
        day = date(2025, 9, 1) + timedelta(weeks=week)
        said = "left elbow hurts 4/10" if week == 5 else ""
        rows += [
            f"{day},EZ bar curl,{60 + week},8,8,",
            f"{day},EZ bar curl,55,8,7,{said}",
        ]
    return "\n".join(rows) + "\n"


def test_a_coach_with_eight_clients_in_three_files_reaches_a_home_in_26_clicks(
    tab, serve, tmp_path
):
    club = save(
        tmp_path / "club.xlsx",
        {f"K{at}": english(f"K{at}", 25 + at) for at in (1, 2, 3)},
    )
    four, one = tmp_path / "vier.csv", tmp_path / "k8.csv"
    four.write_text(german(), "utf-8")
    one.write_text(pounds(), "utf-8")
    store, hand = Store(tmp_path / "clients.duckdb"), Hand(tab)
    hand.opened(serve(store.path))
    hand.follow("Import a log")
    hand.bring(club, four, one)
    hand.pick("Who lifted", "sheet name")
    hand.choose("Unit of the loads", "kg", nth=1)
    hand.type("Code of the lifter", "K8", nth=2)
    hand.press("Import 228 sets from 3 files")
    expect(tab.get_by_text("k8.csv: 12 sets added")).to_be_visible()
    hand.pick("^Bankdings means", "barbell bench")
    hand.type("or my own exercise", "Plank row", nth=1)
    hand.press("Give these meanings")
    hand.follow("Check sets")
    hand.press("Make it 77.5 kg")
    hand.press("Pain, elbow, 4 of 10")
    hand.follow("Clients")
    first = tab.get_by_role("heading", name=re.compile("^K8 first: pain"))
    expect(first).to_be_visible()
    settle(tab)
    # The table is a canvas: its first row lies below the headings.
    table = tab.get_by_test_id("stDataFrame").first
    hand.click(table, position={"x": 60, "y": 60})
    home = tab.get_by_role("heading", name=re.compile("^K8, 1 lift"))
    expect(home).to_be_visible()
    assert "who=K8" in tab.url
    assert hand.clicks <= 26
    sets = stored.sets(store)
    assert len(sets) == 3 * 24 + 4 * 36 + 12
    assert stored.rejected(store).empty
    assert stored.unnamed(store).empty
    pick = sets.groupby(["lifter", "variant"])["load_kg"].agg(["size", "min", "max"])
    for code, first_kg in (("K1", 26), ("K2", 27), ("K3", 28)):
        for variant, kg in (
            ("standing_barbell_curl", first_kg),
            ("plank_row", first_kg + 20),
        ):
            assert pick.loc[(code, variant)].tolist() == [12, kg, kg + 2.5]
    for at, code in enumerate(("K4", "K5", "K6", "K7")):
        kg = 70.5 + 5 * at
        assert pick.loc[(code, "bench_press")].tolist() == [18, kg, kg + 5]
        assert pick.loc[(code, "hammer_curl")].tolist() == [18, 14 + at, 14 + at]
    # 1 lb is 0.45359237 kg: International yard and pound agreement, 1959
    (k8,) = pick.loc["K8"].to_numpy()
    assert k8 == pytest.approx([12, 55 * 0.45359237, 65 * 0.45359237])
    eight = sets[sets["lifter"] == "K8"]
    assert eight.groupby("rir").size().to_dict() == {2: 6, 3: 6}  # 10 less the RPE
    assert stored.sets_and_pains(store)["pain"].max() == 4


def test_a_researcher_leaves_with_tables_in_4_clicks(
    tab, serve, sample_store, tmp_path
):
    hand = Hand(tab)
    hand.opened(serve(sample_store))
    hand.follow("Research tables")
    make = tab.get_by_role("button", name="Make the data package", exact=True)
    expect(make).to_be_visible(timeout=300_000)  # every fit is made first
    hand.click(make)
    take = tab.get_by_role("button", name="Download the data package, ZIP")
    expect(take).to_be_visible(timeout=300_000)
    with tab.expect_download() as download:
        hand.click(take)
    assert hand.clicks <= 4
    with zipfile.ZipFile(Path(download.value.path())) as archive:
        archive.extractall(tmp_path)
    assert frictionless.validate(str(tmp_path / "datapackage.json")).valid
    assert (tmp_path / "ratios.csv").stat().st_size > 0
