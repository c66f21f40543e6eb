"""Research tables, packages and reports asked for on the pages."""

from collections.abc import Callable
from concurrent.futures import Future
from pathlib import Path

from page_runs import page

from analytics import reports
from analytics import store as stored
from analytics.store import Store
from app import worker


def test_the_page_says_how_many_cells_are_withheld_and_how_to_cite(
    sample_copy, monkeypatch
):
    monkeypatch.setenv("LACERTUS_STORE", str(sample_copy.path))
    app = page("research_tables")
    next(b for b in app.button if b.label == "Make the data package").click().run()
    assert not app.exception
    told = next(t.value for t in app.dataframe if "why" in t.value).set_index("table")
    assert told.loc["ratios", "withheld"].sum() > 0
    assert told["why"].str.contains("fewer than 10 lifters").any()
    assert any(text.value.startswith("Cite as: ") for text in app.markdown)


def test_the_coachs_words_and_all_reports_are_asked_for_on_the_page(
    sample_store, monkeypatch
):
    asked: dict = {}

    def record(_store: Store, lifter: str, path: Path, **words: object) -> None:
        asked.update(words, lifter=lifter)
        path.write_bytes(b"<p>")

    def at_once(work: Callable[[], bytes]) -> Future:
        future = Future()
        future.set_result(work())
        return future

    monkeypatch.setattr(reports, "write_report", record)
    monkeypatch.setattr(worker, "submit", at_once)  # another process records nothing
    monkeypatch.setenv("LACERTUS_STORE", str(sample_store))
    app = page("next_session", who="R13", session_part="Report")
    assert not app.exception
    next(box for box in app.text_input if box.label == "Coach").input("Kim Doe")
    next(box for box in app.text_area if box.label == "Note").input("Grip first")
    next(b for b in app.button if b.label == "Write it as HTML").click().run()
    assert not app.exception
    assert asked == {
        **{"lifter": "R13", "coach": "Kim Doe", "note": "Grip first"},
        **{"since": None, "unit": "kg"},
    }
    app = page("clients")
    assert not app.exception
    assert "Write the reports of all" in [b.label for b in app.button]


def test_a_key_that_can_be_guessed_is_refused_and_not_shown(sample_store, monkeypatch):
    monkeypatch.setenv("LACERTUS_STORE", str(sample_store))
    app = page("research_tables")
    next(box for box in app.text_input if "Key" in box.label).input("geheim")
    next(b for b in app.button if "personal" in b.label).click().run()
    assert "16 bytes or more, got 6" in app.error[0].value
    assert "geheim" not in app.error[0].value
    assert "geheim" not in str(app.query_params)


def test_a_release_that_a_former_one_could_be_subtracted_from_is_refused_on_the_page(
    sample_copy, monkeypatch
):
    monkeypatch.setenv("LACERTUS_STORE", str(sample_copy.path))
    app = page("research_tables")

    def make() -> None:
        button = next(b for b in app.button if b.label == "Make the data package")
        button.click().run()

    make()
    assert not app.error
    sets = stored.sets(sample_copy, lifter="R02")
    stored.delete_set(sample_copy, sets["set_id"].iloc[0])
    app.run()
    make()
    assert "nearly the same cohort" in app.error[0].value
    app.checkbox[0].check().run()
    make()
    assert not app.error
