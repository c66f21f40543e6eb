"""Every page on an empty store and on the sample store: no exception, right words."""

from collections.abc import Callable
from concurrent.futures import Future
from pathlib import Path

import pandas as pd
import pytest
from click.testing import CliRunner
from streamlit.testing.v1 import AppTest

from analytics import mechanics, reports
from analytics import store as stored
from analytics.cli.main import main
from analytics.errors import FileRefusedError
from analytics.intake import take_in
from analytics.store import Store
from analytics.strength import beside_sets
from app import correcting, figure, worker
from app.views.import_logs import needs as intake_page
from app.views.strength_over_time import needs as strength_page

MAIN = str(Path(__file__).parents[2] / "app" / "main.py")
VIEWS = sorted(
    path.parent.name
    for path in (Path(__file__).parents[2] / "app" / "views").glob("*/view.py")
    if path.parent.name != "people_and_data"  # only there for people who sign in
)


def page(view: str, **address: str) -> AppTest:
    app = AppTest.from_file(MAIN, default_timeout=120)
    for name, value in address.items():
        app.query_params[name] = value
    app.run()
    return app.switch_page(f"views/{view}/view.py").run()


def words(app: AppTest) -> str:
    parts = [*app.title, *app.header, *app.markdown, *app.info, *app.warning]
    return "\n".join(part.value for part in parts)


@pytest.fixture(scope="module")
def visit() -> Callable[..., AppTest]:
    """Go on to a page as the same visitor, which spares the first page each time."""
    visitors: dict[str, AppTest] = {}

    def go(view: str, *, who: str = "", store: Path) -> AppTest:
        with pytest.MonkeyPatch.context() as patch:
            patch.setenv("LACERTUS_STORE", str(store))
            if f"{store} {who}" not in visitors:
                visitors[f"{store} {who}"] = page(view, who=who)
            return visitors[f"{store} {who}"].switch_page(f"views/{view}/view.py").run()

    return go


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


@pytest.fixture
def small_store(tmp_path, monkeypatch) -> Store:
    """Two lifters: one curls and never fails a set, one only presses with the legs."""
    store = Store(tmp_path / "small.duckdb")
    log = tmp_path / "log.csv"
    curls = [f"2025-01-{day:02d},A,{name},{load},8,2" for day in range(6, 30, 3)
             for name, load in (("barbell curl", 40), ("hammer curl", 18))]  # fmt: skip
    presses = [f"2025-01-{day:02d},B,leg press,140,8,2" for day in range(6, 30, 3)]
    rows = "\n".join([*curls, *presses])
    log.write_text(f"date,lifter,exercise,load (kg),reps,rir\n{rows}\n")
    take_in(store, log)
    stored.teach_name(store, "leg press", "own_press", "knee extension")
    monkeypatch.setenv("LACERTUS_STORE", str(store.path))
    return store


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


def test_a_stored_set_is_corrected_or_deleted_and_what_it_was_is_kept(small_store):
    page("import_logs")
    before = strength_page.stored_sets("A", "hammer_curl")
    after = before.copy()
    first, second, third = before.index[:3]
    after.loc[first, ["load_kg", "rir", "note"]] = [19.5, float("nan"), "read again"]
    after.loc[second, "delete"] = True
    after.loc[third, "rir"] = "RPE 8-9"
    assert correcting.corrected(before, after) == "2 sets corrected, 1 deleted."
    now = strength_page.stored_sets("A", "hammer_curl")
    assert now.loc[first, "load_kg"] == 19.5
    assert now["rir"].isna()[first]
    assert now.loc[third, "rir"] == "1-2"
    put = correcting.replaced(now.loc[[third]], "rir", "2-1", "0-1")
    assert put == "1 set corrected: rir is now 0-1."
    told = beside_sets(pd.DataFrame({"set_id": [third]}), stored.sets(small_store))
    assert told["done"].tolist() == ["8, 0-1 in reserve"]
    assert second not in now.index
    assert len(now) == len(before) - 1
    kept = strength_page.corrections("A")
    kept = kept[kept["column"] != "rir"].set_index("column")
    assert kept.loc["load_kg", ["before", "after"]].tolist() == ["18.0", "19.5"]
    assert kept.loc["deleted", "action"] == "deleted"
    app = page("strength_over_time", who="A")
    app.selectbox(key="setup").select("hammer_curl").run()
    assert not app.exception
    assert "A, Hammer curl: 1RM about" in words(app)


@pytest.mark.published
def test_a_load_corrected_in_pounds_is_stored_in_kilograms(small_store, monkeypatch):
    # 1 lb is 0.45359237 kg: International yard and pound agreement, 1959.
    monkeypatch.setattr(correcting, "unit", lambda: "lb")
    before = strength_page.stored_sets("A", "hammer_curl")
    assert before["load_kg"].iloc[0] == pytest.approx(18 / 0.45359237)
    after = before.copy()
    after.loc[after.index[0], "load_kg"] = 45.0
    assert correcting.corrected(before, after) == "1 set corrected, 0 deleted."
    now = stored.sets(small_store, lifter="A", variant="hammer_curl")
    loads = now.set_index("set_id")["load_kg"]
    assert loads[after.index[0]] == pytest.approx(45 * 0.45359237)
    assert loads.drop(after.index[0]).eq(18).all()


def test_a_damaged_store_is_said_in_plain_words(tmp_path, monkeypatch):
    damaged = tmp_path / "damaged.duckdb"
    damaged.write_bytes(b"no database " * 2000)
    monkeypatch.setenv("LACERTUS_STORE", str(damaged))
    app = AppTest.from_file(MAIN, default_timeout=120).run()
    assert not app.exception
    assert "restore a backup" in app.error[0].value


def test_rejected_rows_are_fixed_on_the_page(sample_copy, monkeypatch):
    monkeypatch.setenv("LACERTUS_STORE", str(sample_copy.path))
    page("import_logs")
    before = len(intake_page.rejected())
    rows = intake_page.waiting_rows(int(intake_page.rejected()["intake_id"].iloc[0]))
    eight = rows[rows["Reps"] == "eight"].replace({"Reps": {"eight": "8"}})
    assert len(eight) == 1
    assert intake_page.fixed(eight).startswith("1 set added")
    assert len(intake_page.rejected()) == before - 1


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
    for view in ("does_the_log_fit", "clients", "import_logs"):
        app = page(view, who="<b>*X*</b>")
        assert not app.exception
        assert "<b>" not in words(app).replace("\\<b\\>", "")


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


def test_a_kept_trace_is_undone_on_the_page_of_logs(sample_copy, monkeypatch):
    monkeypatch.setenv("LACERTUS_STORE", str(sample_copy.path))
    files = stored.intakes(sample_copy).set_index("intake_id")
    number = int(files.index[files["kind"] == "traces"][0])
    before = len(stored.reps(sample_copy))
    sets_before = len(stored.sets(sample_copy))
    app = page("import_logs")
    next(box for box in app.selectbox if box.key == "undo").select(number)
    next(box for box in app.checkbox if box.key == "sure").check().run()
    next(button for button in app.button if button.label == "Undo import").click().run()
    assert not app.exception
    gone = before - len(stored.reps(sample_copy))
    assert gone == files.at[number, "rows_added"] > 0
    assert len(stored.sets(sample_copy)) == sets_before


def test_the_stored_sets_are_offered_for_correction(small_store, monkeypatch):
    offered, stored_sets = [], strength_page.stored_sets

    def seen(lifter, variant):
        offered.append(len(stored_sets(lifter, variant)))
        return stored_sets(lifter, variant)

    monkeypatch.setattr(strength_page, "stored_sets", seen)
    page("strength_over_time", who="A", strength_part="Correct")
    assert offered
    assert all(offered)


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ("no column for load; map it under [columns] with `-c`", "; choose it below"),
        ("`1,500` can be read twice; say which with `decimal`", "; say which below"),
        ("no row names its columns; give the headers with `-c`", "in again"),
        ("holds NUL bytes, so it is no text", "no text"),
    ],
)
def test_a_question_is_answered_on_the_page_and_not_by_command(asked, said):
    told = intake_page.question(asked)
    assert told.endswith(said)
    assert "`-c`" not in told


@pytest.mark.parametrize(
    ("typed", "printed"),
    [
        ("now -0.40 % a week (-1.1 to +0.3)", "now −0.40\xa0% a week (−1.1 to +0.3)"),
        ("since 2026-03-19, 13% below", "since 2026-03-19, 13\xa0% below"),
        ("they agree (p = 0.8)", "they agree (p\xa0=\xa00.8)"),
        ("'-8' is refused", "'-8' is refused"),
    ],
)
def test_minus_and_per_cent_are_printed_and_not_typed(typed, printed):
    assert figure.lines(typed) == printed


# CommonMark 0.31: what a backslash stands before is but text; a word joiner is seen by
# nobody and parts what GitHub's extension would make a link of, and what Streamlit a
# picture.
@pytest.mark.published
@pytest.mark.parametrize(
    ("typed", "shown"),
    [
        ("![x](http://a.example/c.png)", "!\\[x\\](http:\u2060//a.example/c.png)"),
        ("<img src=x>", "\\<img src=x\\>"),
        ("www.a.example a@b.example", "www\u2060.a.example a@\u2060b.example"),
        (":material/home: :tada:", ":\u2060material/home: :\u2060tada:"),
        ("# R02", "#\u2060 R02"),
        ("1. R02", "1\u2060. R02"),
        ("a\n\n- b", "a - b"),
        ("&lt;b&gt;", "\\&lt;b\\&gt;"),
        (":red[R02] $x$", ":red\\[R02\\] \\$x\\$"),
    ],
)
def test_text_of_people_is_but_text(typed, shown):
    assert figure.lines(typed) == shown


def test_a_question_that_has_been_answered_is_asked_no_more(tmp_path, monkeypatch):
    monkeypatch.setenv("LACERTUS_STORE", str(tmp_path / "own.duckdb"))
    path = tmp_path / "s.csv"
    path.write_text("date;who;exercise;kg;Anz.\n2025-06-05;R;curl;20;8\n", "utf-8")
    found = intake_page.suggestion(path)
    with pytest.raises(FileRefusedError) as refused:
        intake_page.tried(path, found.column_map)
    (asked,) = intake_page.asked(path, found, refused.value)
    assert "reps" in asked
    assert intake_page.asked(path, found, None) == []
    path.write_text("date;who;exercise;kg;reps;effort\n2025-06-05;R;curl;20;8;8\n")
    (asked,) = intake_page.asked(path, intake_page.suggestion(path), None)
    assert asked.startswith("`effort` could be")


def test_what_a_file_leaves_open_is_answered_on_the_page(tmp_path, monkeypatch):
    monkeypatch.setenv("LACERTUS_STORE", str(tmp_path / "log.duckdb"))
    path = tmp_path / "log.csv"
    days = [f"2026-03-{day:02d}" for day in range(2, 8)]
    rows = [
        f"A,{day if number == 1 else ''},Curl,{number},20,8,{reserve}"
        for day in days for number, reserve in ((1, "2"), (2, "1-2"), (3, "hart"))
    ]  # fmt: skip
    path.write_text("Who,Date,Exercise,Satz,Load (kg),Reps,RIR\n" + "\n".join(rows))
    found = intake_page.suggestion(path)
    assert found.column_map.columns["set_no"] == ("Satz",)
    answers = dict.fromkeys([*intake_page.CHOICES, "lifter"])
    columns = found.column_map.columns
    unanswered = intake_page.mapped(found, columns, {}, **answers)
    with pytest.raises(FileRefusedError) as refused:
        intake_page.tried(path, unanswered)
    assert "[read]" not in intake_page.question(refused.value)
    answers["fill_down"] = True
    result = intake_page.tried(path, intake_page.mapped(found, columns, {}, **answers))
    assert (result.sets_added, result.rejected) == (18, 0)
    assert result.effort_words == {"hart": 6}
    result = intake_page.tried(
        path, intake_page.mapped(found, columns, {"hart": 1.0}, **answers)
    )
    assert result.effort_words == {}
    less = {name: at for name, at in columns.items() if name != "rir"}
    result = intake_page.tried(path, intake_page.mapped(found, less, {}, **answers))
    assert (result.sets_added, result.effort_words) == (18, {})
    assert "rir" not in result.column_map.columns
