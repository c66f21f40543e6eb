"""The report of one lifter: what it says, on how many pages, and those of all."""

import builtins
import re
import socketserver
import threading
import xml.etree.ElementTree as ET
import zipfile
from datetime import date, timedelta
from pathlib import Path

import pytest
from markupsafe import escape
from pypdf import PdfReader

from analytics import advice, intake, reports, strength
from analytics.advice.direct.answer import FORMS
from analytics.catalogue import load_catalogue
from analytics.errors import InputError, NotWrittenError
from analytics.evidence import curve_test
from analytics.labels import typeset
from analytics.reports.client import MOST_LIFTS, _file_names
from analytics.reports.printing import pdf_of
from analytics.store import Store, bodies, note_on, sets_and_pains, teach_name


@pytest.fixture(scope="module")
def club(sample_store) -> Store:
    return Store(sample_store)


@pytest.fixture(scope="module")
def page(club) -> str:
    return reports.report_html(club, "R02")


def test_the_report_names_lifter_dates_counts_and_version(page):
    assert "R02" in page
    assert "2025-10-07 to 2026-03-22" in page
    assert "lacertus 0." in page
    assert re.search(r"\d+ sets, 7\d\N{NO-BREAK SPACE}% with effort", page)


def test_the_report_stands_on_its_own_without_outside_parts(page):
    assert not re.search(r'(src|href)="https?:', page)
    pictures = re.findall(r"<svg.*?</svg>", page, flags=re.DOTALL)
    # Three of the curls, one each of pulls, leg curls and calf raises.
    assert len(pictures) == 6
    for picture in pictures:
        ET.fromstring(picture)


def test_the_report_says_what_is_estimated_and_modelled_and_carries_cautions(page):
    for words in ("Measured:", "Estimated:", "Modelled:", "Assumed:", "physician"):
        assert words in page
    assert "What this log cannot say" in page


def test_a_movement_of_ones_own_has_a_report_without_mechanics(sample_copy):
    teach_name(sample_copy, "Leg press", "leg_press", "leg press")
    log = sample_copy.path.with_name("legs.csv")
    rows = [f"L1,2026-03-{day:02d},Leg press,100,8,2\n" for day in range(1, 9)]
    log.write_text("lifter,date,exercise,load_kg,reps,rir\n" + "".join(rows))
    intake.take_in(sample_copy, log)
    page = reports.report_html(sample_copy, "L1")
    assert "logged, not modelled" in page
    assert "Where the lift is hardest" not in page
    assert "Curl strength" not in page
    assert ">leg press<" in page


def test_every_movement_of_the_lifter_is_in_the_one_report(club, page):
    logged = sets_and_pains(club)
    own = logged[logged["lifter"] == "R02"]
    for movement in own["movement"].unique():
        title = load_catalogue().movements[movement].title
        assert f"<h2>{title}</h2>" in page
    lifts = re.findall("<tr><td>.*?</tr>", page.split("</table>")[0], flags=re.DOTALL)
    assert own["variant"].nunique() > MOST_LIFTS == len(lifts)
    loads = page.split('<table class="loads">')[1].split("</table>")[0]
    assert "Barbell row" in loads or "Pulldown" in loads or "Chin-up" in loads


def test_the_verdict_is_that_of_the_lifters_own_log(club, page):
    fit = reports.seen_by(strength.fitted(club, "elbow_flexion"), "R02")
    own = curve_test(fit, lifter="R02")
    assert own.verdict == "not enough data yet"
    assert "Your own log cannot tell yet whether" in page
    assert "over all lifters" not in page


# Words of statistics and of the code that a client has no use for; common practice.
SPECIALIST = re.compile(
    r"χ|posterior|\bprior\b|residual|likelier|covariance|\bp [=<]|deviation|\bsetups?\b"
    r"|\bvariants?\b|\[\d\]|\bσ\b|[a-z]+_[a-z_]+|\bNaN\b|\bnan\b|shrunk"
)


@pytest.mark.parametrize("lifter", ["R02", "R09", "R13"])
def test_a_report_speaks_plainly(club, lifter):
    page = reports.report_html(club, lifter)
    body = page.split("<body>")[1]
    text = re.sub(r"<svg.*?</svg>|<[^>]+>", " ", body, flags=re.DOTALL)
    assert not SPECIALIST.findall(text.replace("setups: fewer", ""))


def test_coach_and_note_are_printed_as_text(club):
    page = reports.report_html(
        club, "R02", coach="Kim <b>", note="Grip first.\n<script>"
    )
    assert "Coach: Kim &lt;b&gt;" in page
    assert "Grip first.\n&lt;script&gt;" in page
    assert "Coach:" not in reports.report_html(club, "R13")


# 1 lb is 0.45359237 kg: International yard and pound agreement, 1959.
@pytest.mark.published
def test_a_report_in_pounds_has_no_kilogram_but_those_a_person_typed(club, page):
    pounds = reports.report_html(club, "R02", unit="lb", note="20 kg felt hard")

    def first(text):
        row = re.search(r'<td class="number">([\d.]+)</td>', text)
        return float(row[1])

    assert first(pounds) == pytest.approx(first(page) / 0.45359237, abs=0.2)
    text = re.sub(r"<style.*?</style>", "", pounds, flags=re.DOTALL)
    assert "20 kg felt hard" in text
    assert not re.findall(r"\bkg\b|kilogram", text.replace("20 kg felt hard", ""))
    loads = pounds.split('<table class="loads">')[1].split("</table>")[0]
    kept = re.findall(r'<td class="number">([\d.]+)</td>', loads)
    assert all(float(load) % 5 == 0 for load in kept)  # what pound plates make up


def test_the_stored_note_is_printed_beside_that_of_the_report(sample_copy):
    note_on(sample_copy, "R13", "Thumbs around <the> bar.")
    page = reports.report_html(sample_copy, "R13", note="See you in May.")
    assert "Thumbs around &lt;the&gt; bar." in page
    assert "See you in May." in page


def test_changes_are_told_against_the_day_asked_for(club):
    page = reports.report_html(club, "R02", since=date(2025, 12, 24))
    assert "against 2025-12-24" in page
    sets = sets_and_pains(club)
    own = sets[(sets["lifter"] == "R02") & (sets["performed_on"] > "2025-12-24")]
    assert f"{len(own)} sets on {own['performed_on'].nunique()} days" in page


def test_the_reports_of_all_come_in_one_zip_each_as_its_reader_may_see_it(tmp_path):
    log, few = tmp_path / "log.csv", Store(tmp_path / "few.duckdb")
    rows = [
        f"Q{n},2026-03-{day:02d},Leg press,{100 + 17 * n},8,2\n"
        for n in (1, 2, 3)
        for day in range(1, 9)
    ]
    log.write_text("lifter,date,exercise,load_kg,reps,rir\n" + "".join(rows))
    intake.take_in(few, log)
    teach_name(few, "Leg press", "leg_press", "legs")
    path = tmp_path / "all.zip"
    words = {"coach": "Kim", "since": date(2026, 3, 2)}
    codes = reports.write_reports(few, path, **words)
    assert codes == ["Q1", "Q2", "Q3"]
    assert path.stat().st_mode & 0o077 == 0
    with zipfile.ZipFile(path) as archive:
        pages = {name: archive.read(name).decode() for name in archive.namelist()}
    assert set(pages) == {f"report_{code}.html" for code in codes}
    for code in codes:
        page = pages[f"report_{code}.html"]
        assert set(re.findall(r"\bQ\d\b", page)) == {code}
        assert page == reports.report_html(few, code, **words)


def test_codes_that_are_no_file_names_get_some_of_their_own():
    codes = ["../up", "a/b", "a?b", "A_b", "C" * 60]
    assert list(_file_names(codes).values()) == [
        *("report__up.html", "report_a_b.html", "report_a_b_2.html"),
        *("report_A_b_3.html", f"report_{'C' * 60}.html"),
    ]


def test_only_a_zip_holds_all_and_nobody_makes_none(club, tmp_path):
    with pytest.raises(InputError, match=r"must end in \.zip"):
        reports.write_reports(club, tmp_path / "all.html")
    log, store = tmp_path / "log.csv", Store(tmp_path / "none.duckdb")
    log.write_text("lifter,date,exercise,load_kg,reps\nA,2026-03-01,what,1,1\n")
    intake.take_in(store, log)
    with pytest.raises(InputError, match="nobody has sets"):
        reports.write_reports(store, tmp_path / "all.zip")


def test_who_has_no_curls_gets_the_report_of_another_movement(tmp_path):
    log, store = tmp_path / "log.csv", Store(tmp_path / "own.duckdb")
    rows = [f"A,2026-03-{day:02d},Leg press,100,8,2\n" for day in range(1, 9)]
    log.write_text("lifter,date,exercise,load_kg,reps,rir\n" + "".join(rows))
    intake.take_in(store, log)
    teach_name(store, "Leg press", "leg_press", "legs")
    assert "leg_press, once: about" in reports.report_html(store, "A")


QUICK = ("R02", "R13")  # all in the slow run
CURLS = [
    variant.variant
    for variant in load_catalogue().variants.values()
    if variant.modelled and variant.movement == "elbow_flexion"
]
WORDY = "code of sixty letters, as a spreadsheet of a club may have it".ljust(60)[:60]
STANCES = [
    f"stance {n} of sixty letters, told foot by foot, block by block" for n in "123456"
]


@pytest.fixture(scope="module")
def busy(tmp_path_factory) -> Store:
    """Every modelled variant at stations of long names: seen by all, some, nobody.

    The wordy one has six stances, a cheat, two sides, pain that is over, girths and
    loads held back; one is sore and of the last nothing but loads and reps is known.
    """
    folder = tmp_path_factory.mktemp("busy")
    log, bodies, store = folder / "log.csv", folder / "body.csv", Store(folder / "b.db")
    rows = []
    for number, variant in enumerate(CURLS):
        for week in range(6):
            day = date(2026, 1, 5) + timedelta(days=7 * week + number % 3)
            start = f"{day},{variant},station of a rather long name"
            for side in ("left", "right"):
                rows.append(
                    f'"{WORDY}",{start},{20 + number + week / 2},8,6,'
                    f'"{STANCES[(number + week) % 6]}",{(number * week) % 11},'
                    f"{'yes' if week % 3 else 'no'},{side},{1 if week == 0 else ''}"
                )
            rows += [f"Z<b>,{start},20,8,2,,,,,", f"bare,{start},20,8,,,,,,"]
        rows.append(f"sore,{start},20,8,2,,,,,6")
    head = "lifter,date,exercise,equipment,load_kg,reps,rir,stance,lean,cheat,side,pain"
    log.write_text("\n".join([head, *rows]) + "\n")
    girths = [f'"{WORDY}",2026-0{m}-02,{80 + m},1.8,0.{33 + m}' for m in (1, 2, 3)]
    head = "lifter,measured_on,body_mass_kg,stature_m,arm_girth_m"
    bodies.write_text("\n".join([head, *girths]) + "\n")
    for path in (log, bodies):
        intake.take_in(store, path, dates="iso")
    return store


def test_of_many_variants_as_many_are_drawn_as_can_be_read(busy):
    page = reports.report_html(busy, "Z<b>")
    assert f"The 8 most logged of {len(CURLS) - 1}." in page
    assert "Z<b>" not in page


def test_all_that_was_seen_of_technique_is_printed(busy):
    page = reports.report_html(busy, WORDY)
    sets = sets_and_pains(busy)
    fit = reports.seen_by(strength.fitted(busy, "elbow_flexion"), WORDY)
    seen = advice.technique(
        sets, fit.trend, lifter=WORDY, bodies=bodies(busy, lifter=WORDY)
    )
    assert len(seen.sentences) >= 8  # lean, its change, cheat, balance, stances
    for sentence in seen.sentences:
        assert escape(typeset(sentence)) in page


def test_a_load_held_back_says_so_beside_its_variant(busy):
    page = reports.report_html(busy, WORDY)
    loads = page.split('<table class="loads">')[1]
    rows = re.findall("<tr><td>.*?</tr>", loads, flags=re.DOTALL)
    assert len(rows) == 5
    for row in rows:
        assert re.search(
            r"own sets: 12, (held to|more than) 5\s?% above the [\d.]+ kg shown", row
        )
    assert len(re.findall(r"5\s?% above", page)) == 5


def pages_of(store: Store, lifter: str, path: Path) -> int:
    reports.write_report(store, lifter, path)
    return len(PdfReader(path).pages)


@pytest.mark.parametrize("lifter", [WORDY, "Z<b>", "bare", "sore"])
def test_the_report_of_an_unusual_lifter_has_at_most_three_pages(
    busy, tmp_path, lifter
):
    assert pages_of(busy, lifter, tmp_path / "report.pdf") in (2, 3)


def test_pain_replaces_loads_by_the_reason(club):
    page = reports.report_html(club, "R09")
    assert "No load suggested: pain 4" in page
    assert '<table class="loads">' not in page
    assert "to failure" not in page  # nor is a hold asked of who is in pain


def test_a_lifter_who_is_not_there_is_named_beside_those_who_are(club):
    with pytest.raises(InputError, match=r"'R77'.*R01, R02"):
        reports.report_html(club, "R77")


def test_only_html_and_pdf_are_written(club, tmp_path):
    with pytest.raises(InputError, match=r"\.html or \.pdf"):
        reports.write_report(club, "R02", tmp_path / "report.docx")


def test_a_folder_that_does_not_exist_is_said(club, tmp_path):
    with pytest.raises(NotWrittenError, match="cannot write"):
        reports.write_report(club, "R02", tmp_path / "nowhere" / "report.html")


def test_without_the_type_library_it_says_what_to_do(club, tmp_path, monkeypatch):
    def missing(name: str, *rest: object, **more: object) -> object:
        if name == "weasyprint":
            raise OSError("cannot load library 'libpango-1.0-0'")
        return importer(name, *rest, **more)

    importer = builtins.__import__
    monkeypatch.setattr(builtins, "__import__", missing)
    with pytest.raises(InputError, match=r"libpango.*or write the report as \.html"):
        reports.write_report(club, "R02", tmp_path / "report.pdf")
    assert not list(tmp_path.iterdir())


def test_a_report_is_readable_by_its_owner_alone(club, tmp_path):
    path = reports.write_report(club, "R02", tmp_path / "report.html")
    assert path.stat().st_mode & 0o077 == 0


def test_nothing_a_page_names_is_fetched_for_the_print(tmp_path):
    secret = tmp_path / "secret.svg"
    secret.write_text("<svg xmlns='http://www.w3.org/2000/svg'/>")
    asked = []
    server = socketserver.TCPServer(
        ("127.0.0.1", 0), lambda request, *_: asked.append(request)
    )
    with server:
        threading.Thread(target=server.serve_forever, daemon=True).start()
        address = f"http://127.0.0.1:{server.server_address[1]}"
        content = pdf_of(
            f"<link rel=stylesheet href='{address}/a.css'><img src='{address}/a.png'>"
            f"<style>@import '{address}/b.css'; p {{background: url({address}/c.png)}}"
            f"</style><img src='{secret.as_uri()}'><p>text</p>",
            most_pages=1,
        )
        server.shutdown()
    assert content.startswith(b"%PDF")
    assert asked == []


@pytest.mark.parametrize(
    "lifter",
    [
        pytest.param(code, marks=[] if code in QUICK else pytest.mark.slow)
        for code in (f"R{n:02d}" for n in range(1, 15))
    ],
)
def test_the_printed_report_has_two_pages_and_one_of_other_movements(
    club, tmp_path, lifter
):
    assert pages_of(club, lifter, tmp_path / "report.pdf") == 3


def test_notes_and_stations_cannot_inject_markup(club, tmp_path):
    log = tmp_path / "log.csv"
    log.write_text(
        "lifter,date,exercise,equipment,load,reps,rir\n"
        + "".join(
            f"R50,2026-03-{d:02d},barbell curl,<script>alert(1)</script>,30,8,2\n"
            for d in range(1, 9)
        )
    )
    other = Store(tmp_path / "other.duckdb")
    intake.take_in(other, log, unit="kg", dates="iso")
    assert "<script>" not in reports.report_html(other, "R50")


def test_the_report_answers_whether_curls_are_needed(page, sample_copy):
    said = [form for form in FORMS.values() if form in page]
    assert len(said) == 1
    assert "Published growth of the elbow flexors" in page
    log = sample_copy.path.with_name("legs.csv")
    rows = [f"L1,2026-03-{day:02d},Leg extension,40,8,2\n" for day in range(1, 9)]
    log.write_text("lifter,date,exercise,load_kg,reps,rir\n" + "".join(rows))
    intake.take_in(sample_copy, log)
    legs = reports.report_html(sample_copy, "L1")
    assert not [form for form in FORMS.values() if form in legs]
