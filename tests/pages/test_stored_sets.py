"""Sets, rows and questions of a log, corrected and answered on the pages."""

import pandas as pd
import pytest
from page_runs import page, words

from analytics import store as stored
from analytics.errors import FileRefusedError
from analytics.strength import beside_sets
from app import correcting
from app.views.import_logs import needs as intake_page
from app.views.strength_over_time import needs as strength_page


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


def test_rejected_rows_are_fixed_on_the_page(sample_copy, monkeypatch):
    monkeypatch.setenv("LACERTUS_STORE", str(sample_copy.path))
    page("import_logs")
    before = len(intake_page.rejected())
    rows = intake_page.waiting_rows(int(intake_page.rejected()["intake_id"].iloc[0]))
    eight = rows[rows["Reps"] == "eight"].replace({"Reps": {"eight": "8"}})
    assert len(eight) == 1
    assert intake_page.fixed(eight).startswith("1 set added")
    assert len(intake_page.rejected()) == before - 1


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
