"""Every page on an empty store and on the sample store: no exception, right words."""

from pathlib import Path

import pytest
from click.testing import CliRunner
from page_runs import MAIN, VIEWS, page, words
from streamlit.testing.v1 import AppTest

from analytics import mechanics
from analytics import store as stored
from analytics.catalogue import load_catalogue
from analytics.cli.main import main
from analytics.mechanics.side_view import FRAME_DEG
from analytics.store import Store


@pytest.mark.parametrize("view", VIEWS)
def test_page_on_an_empty_store_says_what_to_do_next(view, visit):
    app = visit(view, store=Path("none.duckdb"))
    assert not app.exception
    assert not app.error
    assert len(app.title) == 1
    if view not in (
        *("import_logs", "today", "method_and_cautions", "through_the_range"),
    ):
        assert "nothing to say" in words(app)


@pytest.mark.parametrize("who", ["", "R02"])
@pytest.mark.parametrize("view", VIEWS)
def test_page_on_the_sample_store_shows_its_answer(view, who, sample_store, visit):
    app = visit(view, who=who, store=sample_store)
    assert not app.exception
    assert not app.error
    assert "nothing to say" not in words(app)


def test_a_session_begins_with_the_exercises_of_the_last_one(sample_store, visit):
    app = visit("next_session", who="R02", store=sample_store)
    last = stored.sets(Store(sample_store), lifter="R02")
    last = last[last["performed_on"] == last["performed_on"].max()]
    (chosen,) = (box for box in app.multiselect if box.key == "exercises")
    assert chosen.value == list(last["variant"].unique())
    assert len(app.dataframe[0].value) == len(chosen.value)


def test_home_shows_lifts_last_session_and_loads_of_one_lifter(sample_store, visit):
    app = visit("home", who="R02", store=sample_store)
    assert "11 lifts: 11 with no trend to be told yet" in words(app)
    assert "Last session on 2026-03-22: 3 exercises, 9 sets" in words(app)
    loads, lifts, session = (table.value for table in app.dataframe)
    assert lifts["low_kg"].lt(lifts["strength_kg"]).all()
    assert set(session["setup"]) == set(loads["variant"]) <= set(lifts["setup"])


def test_home_of_everyone_begins_with_pain_and_its_row_opens_the_lifter(
    sample_store, monkeypatch
):
    monkeypatch.setenv("LACERTUS_STORE", str(sample_store))
    app = page("home")
    assert "R09 first: pain 4 of 10" in words(app)
    assert app.dataframe[0].value["lifter"].iloc[0] == "R09"
    app.session_state["who"] = "R09"
    assert "Look at: pain 4 of 10" in words(app.run())


def test_home_of_a_lifter_with_pain_gives_no_load(sample_store, visit):
    app = visit("home", who="R09", store=sample_store)
    assert app.dataframe[0].value["load_kg"].isna().all()
    assert "Do not train through it" in words(app)


def test_pounds_are_shown_everywhere_once_they_are_chosen(sample_store, monkeypatch):
    monkeypatch.setenv("LACERTUS_STORE", str(sample_store))
    in_kg = page("next_session", who="R02")
    app = page("next_session", who="R02", unit="lb")
    load_kg, load_lb = (a.dataframe[0].value["low_kg"] for a in (in_kg, app))
    assert load_lb.tolist() == pytest.approx((load_kg / 0.45359237).tolist())
    assert (app.dataframe[0].value["load_kg"] % 5).round(6).isin([0, 5]).all()
    for view in ("home", "next_session", "strength_over_time", "clients"):
        app = page(view, who="R02", unit="lb")
        assert not app.exception
        assert " kg" not in words(app)


def test_clients_begin_with_pain_and_say_who_has_fallen_below_their_best(
    sample_store, visit
):
    # sample_logs/truth.toml: of the 14 invented lifters only R06 stops gaining, and
    # only R09 has pain.
    app = visit("clients", store=sample_store)
    assert "R09 first: pain 4 of 10" in words(app)
    table = app.dataframe[0].value.set_index("lifter")
    assert len(table) == 14
    assert "below the highest 1RM" in table.loc["R06", "flags"]
    assert table["gaining_frac"].idxmin() == "R06"


def test_strength_is_told_for_the_chosen_repetitions_and_where_it_is_known_best(
    sample_store, monkeypatch
):
    monkeypatch.setenv("LACERTUS_STORE", str(sample_store))
    told = words(page("strength_over_time", who="R02", times="8"))
    assert "8RM about" in told
    assert "known best at" in told
    assert "8 repetitions are taken to be possible at" in told
    assert "Strength against 4 weeks before" in told


@pytest.mark.slow
@pytest.mark.parametrize("view", VIEWS)
def test_page_holds_with_one_lifter_without_failures_and_one_without_curls(
    view, small_store
):
    for who in ("", "A", "B"):
        for movement in ("elbow_flexion", "knee extension"):
            app = page(view, who=who, movement=movement)
            assert not app.exception, (who, movement)
            assert len(app.title) == 1


def test_a_damaged_store_is_said_in_plain_words(tmp_path, monkeypatch):
    damaged = tmp_path / "damaged.duckdb"
    damaged.write_bytes(b"no database " * 2000)
    monkeypatch.setenv("LACERTUS_STORE", str(damaged))
    app = AppTest.from_file(MAIN, default_timeout=120).run()
    assert not app.exception
    assert "restore a backup" in app.error[0].value


def test_next_load_shows_interval_basis_and_caution(sample_store, visit):
    app = visit("next_session", who="R02", store=sample_store)
    loads = app.dataframe[0].value
    assert loads["load_kg"].between(loads["low_kg"], loads["high_kg"]).all()
    assert loads["basis"].str.startswith("own sets").all()
    assert "pain" in words(app)


def test_a_lifter_with_pain_is_given_no_load(sample_store, monkeypatch):
    monkeypatch.setenv("LACERTUS_STORE", str(sample_store))
    app = page("next_session", who="R09")
    assert "No load is suggested" in words(app)


def test_a_limit_load_is_one_number_on_page_command_and_table(tmp_path, monkeypatch):
    store, name = str(tmp_path / "none.duckdb"), "standing_barbell_curl"
    monkeypatch.setenv("LACERTUS_STORE", store)
    row = mechanics.hardest([name]).iloc[0]
    told, best = mechanics.limit_sentences(row, 2)  # a bar weighs on both arms
    ends = (f"limit_load{end}_kg" for end in ("", "_low", "_high"))
    middle, low, high = (f"{2 * row[end]:.0f}" for end in ends)
    assert f"{middle} kg as logged (90 % interval {low} to {high} kg)" in told
    shown = words(page("through_the_range")).replace("\N{NO-BREAK SPACE}", " ")
    assert told in shown
    assert best.rpartition(",")[0] in shown
    assert "lowered at 30 to 210° a second the elbow flexors resist" in shown
    done = CliRunner().invoke(main, ["curve", name, "--store", store])
    assert told in done.stderr


def test_the_range_page_draws_the_lift_of_every_joint(tmp_path, monkeypatch):
    monkeypatch.setenv("LACERTUS_STORE", str(tmp_path / "none.duckdb"))
    catalogue = load_catalogue()
    modelled = [one for one in catalogue.movements.values() if one.joint]
    assert {one.joint for one in modelled} >= catalogue.joints.keys()
    for movement in modelled:
        app = page("through_the_range", movement=movement.title)
        assert not app.exception
        joint = catalogue.joints[movement.joint]
        (angle,) = (one for one in app.slider if one.key == joint.joint)
        assert (angle.value - joint.grid_deg[0]) % FRAME_DEG == 0
        (span,) = (one for one in app.slider if str(one.key).startswith("range_"))
        assert (span.min, span.max) == joint.grid_deg


@pytest.mark.slow
def test_the_range_page_takes_any_resistance_and_says_what_asks_for_nothing(
    tmp_path, monkeypatch
):
    monkeypatch.setenv("LACERTUS_STORE", str(tmp_path / "none.duckdb"))
    name = "standing_barbell_curl"

    def choose(kind, key, value):
        next(one for one in getattr(app, kind) if one.key == key).set_value(value)
        app.run()
        assert not app.exception
        assert not app.error

    assert "without lean it holds" in words(
        page("through_the_range", range_part="Balance")
    )
    app = page("through_the_range", range_part="Sensitivity")
    choose("selectbox", f"pull_{name}", "cable")
    choose("slider", f"anchor_forward_m_{name}", -1.0)
    choose("selectbox", f"pull_{name}", "cam")
    assert "moves the limit load most" in words(app)
    app = page("through_the_range")
    choose("number_input", "forearm", 0.2)
    choose("selectbox", "variant", "preacher_curl_45")
    assert "On a pad the start of the range decides nearly everything" in words(app)
    choose("selectbox", "variant", "low_cable_curl")
    choose("slider", "range_low_cable_curl", (0, 15))
    assert "asks for nothing here" in words(app)


PARTS = {
    "through_the_range": (
        "range_part",
        ["Muscles", "All exercises", "Equipment", "One lift", "Balance", "Sensitivity"],
    ),
    "are_curls_needed": (
        "pull_part",
        ["Length of the biceps", "How muscles share", "Against measured people"],
    ),
    "does_the_log_fit": (
        "fit_part",
        ["Known angles", "Own curve", "Sticking point", "What to log next"],
    ),
    "strength_over_time": ("strength_part", ["Sets", "Correct", "Report"]),
    "next_session": (
        "session_part",
        ["Lockout", "Weekly work", "Technique", "Repetitions and load", "Report"],
    ),
}


@pytest.mark.parametrize("view", PARTS)
def test_every_tab_shows_its_part(view, sample_store, monkeypatch):
    monkeypatch.setenv("LACERTUS_STORE", str(sample_store))
    key, parts = PARTS[view]
    for part in parts:
        app = page(view, who="R02", **{key: part})
        assert not app.exception, part
        assert not app.error, part
        assert part in [tab.label for tab in app.tabs]


def test_the_length_of_the_biceps_is_drawn_and_said(sample_store, monkeypatch):
    monkeypatch.setenv("LACERTUS_STORE", str(sample_store))
    app = page("are_curls_needed", who="R02", pull_part="Length of the biceps")
    assert not app.exception
    assert "biceps' change of length in a curl" in words(app)
    assert len(app.get("vega_lite_chart")) == 2  # beside the shares of the flexors
