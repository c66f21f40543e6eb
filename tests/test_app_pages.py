"""Every page on an empty store and on the sample store: no exception, right words."""

import shutil
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from analytics.intake import take_in
from analytics.store import Store
from app import bringing

MAIN = str(Path(__file__).parents[1] / "app" / "main.py")
VIEWS = sorted(
    path.stem
    for path in (Path(__file__).parents[1] / "app" / "views").glob("*.py")
    if path.stem != "__init__" and not path.stem.endswith("_section")
)


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


def test_next_load_begins_with_what_the_lifter_does_most(sample_store, monkeypatch):
    monkeypatch.setenv("LACERTUS_STORE", str(sample_store))
    app = page("next_load", who="R02")
    chosen = next(box for box in app.selectbox if box.key == "load_setup")
    assert chosen.value == "standing_barbell_curl"


def test_clients_begin_with_the_lifter_whose_truth_is_a_stall(
    sample_store, monkeypatch
):
    # sample_logs/truth.toml: of the 14 invented lifters only R06 stops gaining.
    monkeypatch.setenv("LACERTUS_STORE", str(sample_store))
    app = page("clients_side_by_side")
    assert "R06 is the likeliest" in words(app)
    assert len(app.dataframe[0].value) == 14


def test_rows_set_aside_are_mended_on_the_page(sample_store, tmp_path, monkeypatch):
    store = shutil.copy(sample_store, tmp_path / "own.duckdb")
    monkeypatch.setenv("LACERTUS_STORE", str(store))
    page("bring_in_logs")
    before = len(bringing.aside())
    rows = bringing.waiting_rows(int(bringing.aside()["intake_id"].iloc[0]))
    eight = rows[rows["Reps"] == "eight"].replace({"Reps": {"eight": "8"}})
    assert len(eight) == 1
    assert bringing.mended(eight).startswith("1 sets added")
    assert len(bringing.aside()) == before - 1


def test_next_load_shows_interval_basis_and_caution(sample_store, monkeypatch):
    monkeypatch.setenv("LACERTUS_STORE", str(sample_store))
    text = words(page("next_load", who="R02"))
    assert "90 % interval" in text
    assert "pain" in text


def test_a_lifter_with_pain_is_given_no_load(sample_store, monkeypatch):
    monkeypatch.setenv("LACERTUS_STORE", str(sample_store))
    app = page("next_load", who="R09")
    assert "No load is suggested" in words(app)


def test_markup_in_a_log_is_shown_as_written(tmp_path, monkeypatch):
    store = Store(tmp_path / "own.duckdb")
    log = tmp_path / "log.csv"
    rows = "\n".join(
        f"2025-01-{day:02d},<b>*X*</b>,curl,40,8,1,<img src=x onerror=alert(1)>"
        for day in range(1, 15)
    )
    log.write_text(f"date,lifter,exercise,load (kg),reps,rir,note\n{rows}\n")
    take_in(store, log)
    monkeypatch.setenv("LACERTUS_STORE", str(store.path))
    for view in ("log_against_curve", "clients_side_by_side", "bring_in_logs"):
        app = page(view, who="<b>*X*</b>")
        assert not app.exception
        assert "<b>" not in words(app).replace("\\<b\\>", "")


@pytest.mark.slow
def test_the_range_page_takes_any_resistance_and_says_what_asks_for_nothing(
    tmp_path, monkeypatch
):
    monkeypatch.setenv("LACERTUS_STORE", str(tmp_path / "none.duckdb"))
    app = page("through_the_range")

    def choose(kind, key, value):
        next(one for one in getattr(app, kind) if one.key == key).set_value(value)
        app.run()
        assert not app.exception
        assert not app.error

    name = "standing_barbell_curl"
    assert "without lean it holds" in words(app)
    choose("selectbox", f"pull_{name}", "cable")
    choose("slider", f"anchor_forward_m_{name}", -1.0)
    choose("selectbox", f"pull_{name}", "cam")
    assert "moves the limit load most" in words(app)
    choose("number_input", "forearm", 0.2)
    choose("selectbox", "variant", "preacher_curl_45")
    assert "On a pad the start of the range decides nearly everything" in words(app)
    choose("selectbox", "variant", "low_cable_curl")
    choose("slider", "range_low_cable_curl", (0, 15))
    assert "asks for nothing here" in words(app)
