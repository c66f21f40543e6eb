"""Every page on an empty store and on the sample store: no exception, right words."""

from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from analytics import demo
from analytics.store import Store

MAIN = str(Path(__file__).parents[1] / "app" / "main.py")
VIEWS = sorted(
    path.stem
    for path in (Path(__file__).parents[1] / "app" / "views").glob("*.py")
    if path.stem != "__init__" and not path.stem.endswith("_section")
)


@pytest.fixture(scope="module")
def sample_store(tmp_path_factory):
    store = Store(tmp_path_factory.mktemp("pages") / "sample.duckdb")
    demo.build(store)
    return store.path


def page(view: str, *, who: str = "") -> AppTest:
    app = AppTest.from_file(MAIN, default_timeout=120)
    if who:
        app.query_params["who"] = who
    app.run()
    return app.switch_page(f"views/{view}.py").run()


def words(app: AppTest) -> str:
    parts = [*app.title, *app.header, *app.markdown, *app.info, *app.warning]
    return "\n".join(part.value for part in parts)


@pytest.mark.parametrize("view", VIEWS)
def test_page_on_an_empty_store_says_what_to_do_next(view, tmp_path, monkeypatch):
    monkeypatch.setenv("LACERTUS_STORE", str(tmp_path / "none.duckdb"))
    app = page(view)
    assert not app.exception
    assert not app.error
    assert len(app.title) == 1
    if view not in ("bring_in_logs", "method_and_cautions", "through_the_range"):
        assert "nothing to say" in words(app)


@pytest.mark.parametrize("who", ["", "R02"])
@pytest.mark.parametrize("view", VIEWS)
def test_page_on_the_sample_store_shows_its_answer(
    view, who, sample_store, monkeypatch
):
    monkeypatch.setenv("LACERTUS_STORE", str(sample_store))
    app = page(view, who=who)
    assert not app.exception
    assert not app.error
    assert "nothing to say" not in words(app)


def test_next_load_shows_interval_basis_and_caution(sample_store, monkeypatch):
    monkeypatch.setenv("LACERTUS_STORE", str(sample_store))
    text = words(page("next_load", who="R02"))
    assert "90 % interval" in text
    assert "pain" in text


def test_a_lifter_with_pain_is_given_no_load(sample_store, monkeypatch):
    monkeypatch.setenv("LACERTUS_STORE", str(sample_store))
    app = page("next_load", who="R09")
    assert "No load is suggested" in words(app)
