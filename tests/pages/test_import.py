"""The page of logs: names, doubtful sets, pain, several files, sets by hand."""

from __future__ import annotations

import pytest
from page_runs import MAIN
from streamlit.testing.v1 import AppTest
from workbooks import book

from analytics import store as stored
from analytics.store import Store

HEAD = "date,lifter,exercise,load (kg),reps,rir,note\n"


@pytest.fixture
def page(store: Store, monkeypatch):
    """Open the page of logs on the store of the test."""
    monkeypatch.setenv("LACERTUS_STORE", str(store.path))

    def opened(view: str = "import_logs", **address: str) -> AppTest:
        app = AppTest.from_file(MAIN, default_timeout=120)
        app.query_params.update(address)
        app.run()
        app.switch_page(f"views/{view}/view.py").run()
        assert not app.exception
        return app

    return opened


def press(app: AppTest, label: str) -> None:
    next(button for button in app.button if button.label == label).click()
    app.run()
    assert not app.exception


def log(*rows: str) -> str:
    return HEAD + "\n".join(rows) + "\n"


def test_names_are_given_meanings_in_one_table_and_confirmed(bring, store, page):
    bring(log(*(f"2025-01-0{day},A,{name},60,8,2," for day in (6, 7)
                for name in ("Bankdings", "Scott 45 SZ", "Kniedings"))))  # fmt: skip
    app = page()
    app.selectbox(key="means_Scott 45 SZ").select("preacher_curl_45")
    # the form still holds a choice from before; what is typed goes first
    app.selectbox(key="means_Bankdings").select("preacher_curl_45")
    app.text_input(key="own_Bankdings").input("Bench press close")
    press(app, "Give these meanings")
    told = app.success[0].value
    assert "Scott 45 SZ means Supported curl on a 45° pad, 2 sets." in told
    assert "Bankdings means Bench press close, 2 sets. What you typed" in told
    assert stored.unnamed(store)["text"].tolist() == ["Kniedings"]
    assert [box.key for box in app.text_input if "own_" in str(box.key)] == [
        "own_Kniedings"
    ]


def test_meanings_are_listed_changed_and_taken_back(bring, store, page):
    bring(log("2025-01-06,A,Hamer curl,20,8,2,", "2025-01-06,A,Bankdings,60,8,2,"))
    stored.teach_name(store, "Bankdings", "bench", "press")
    app = page()
    listed = next(t.value for t in app.dataframe if "recognised" in t.value)
    assert listed.set_index("name in the log")["recognised"].to_dict() == {
        "Hamer curl": "by itself: a slip of the pen", "Bankdings": "you said so"
    }  # fmt: skip
    app.selectbox(key="changed_name").select("Hamer curl").run()
    app.selectbox(key="means_Hamer curl").select("reverse_curl")
    press(app, "Change its meaning")
    assert "Hamer curl means Reverse-grip barbell curl, 1 set." in app.success[0].value
    app.selectbox(key="changed_name").select("Bankdings").run()
    press(app, "Undo my word")
    assert "Bankdings waits for a meaning, 1 set." in app.success[0].value
    assert stored.unnamed(store)["text"].tolist() == ["Bankdings"]


def ten_times(*extra: str) -> str:
    """Bench presses of one lifter, one of them with its decimal sign lost."""
    loads = ["75", "75", "77.5", "775", "77.5", "80", "80"]
    return log(*(f"2025-01-{at:02d},A,Bankdings,{load},8,2,"
                 for at, load in enumerate(loads, start=6)), *extra)  # fmt: skip


def test_slips_stand_in_one_list_and_are_corrected_in_bulk(bring, store, page):
    bring(ten_times("2025-01-20,A,hammer curl,18,8,2,"))
    assert "To look at: 1 doubtful set." in page().warning[0].value
    app = page("check_sets")
    assert "like a slip: 1" in app.header[0].value
    listed = app.dataframe[0].value
    assert listed["doubt"].tolist() == ["10.0 times the middle of the sets around it"]
    field = next(box for box in app.selectbox if box.label == "Field")
    field.select("load_kg")
    next(box for box in app.text_input if box.label == "put").input("x0.1")
    press(app, "Replace")
    assert "1 set corrected" in app.success[0].value
    assert stored.doubtful_sets(store).empty
    kept = stored.history(store)
    assert kept[["column", "before", "after"]].to_numpy().tolist() == [
        ["load_kg", "775.0", "77.5"]
    ]


def test_the_exercise_of_many_sets_is_corrected_at_once(bring, store, page):
    bring(ten_times())
    app = page("check_sets")
    app.selectbox(key="which_sets").select("Bankdings").run()
    next(box for box in app.text_input if box.label == "put").input("hammer curl")
    press(app, "Replace")
    assert "7 sets corrected" in app.success[0].value
    assert set(stored.sets(store)["variant"]) == {"hammer_curl"}


def test_pain_in_a_note_is_accepted_with_one_click_and_ends(bring, store, page):
    rows = [f"2025-01-{day:02d},A,hammer curl,18,8,2," for day in range(6, 20, 3)]
    bring(log(*rows, "2025-01-21,A,hammer curl,18,8,2,elbow hurts 3/10",
              "2025-01-21,A,hammer curl,16,8,2,Schulter zwickt"))  # fmt: skip
    app = page("next_session", who="A")
    assert "2025-01-21 with hammer curl speaks of pain" in app.warning[0].value
    assert app.dataframe[0].value["load_kg"].notna().all()
    flags = page("clients").dataframe[0].value["flags"].iloc[0]
    assert flags.endswith("notes that speak of pain: 2, elbow, shoulder")
    app = page("check_sets")
    press(app, "Pain, elbow, 3 of 10")
    assert "Marked as pain 3 of 10" in app.success[0].value
    press(app, "No pain")
    assert stored.pain_in_notes(store).empty
    assert stored.sets_and_pains(store)["pain"].max() == 3
    flags = page("clients").dataframe[0].value["flags"].iloc[0]
    assert flags.startswith("pain 3 of 10 on 2025-01-21, elbow")
    loads = page("next_session", who="A").dataframe[0].value
    assert "pain 3 (elbow)" in loads["caution"].iloc[0]
    press(app, "It is over")
    assert "pain up to 2025-01-21 is over" in app.success[0].value
    assert not stored.sets_and_pains(store)["pain"].gt(0).any()
    press(app, "It is not over")
    assert stored.sets_and_pains(store)["pain"].max() == 3


def test_rejected_rows_are_dismissed_and_do_not_come_back(bring, store, page):
    bad = log("2025-01-06,A,hammer curl,18,8,2,", "2025-01-07,A,rest day,-,-,,")
    bring(bad)
    press(page(), "Dismiss 1 row, as they are no sets")
    assert stored.rejected(store).empty
    longer = bad + "2025-01-08,A,hammer curl,18,8,2,\n"
    assert bring(longer, name="longer.csv").rejected == 0


def upload(app: AppTest, *files: tuple[str, bytes]) -> AppTest:
    kind = "application/octet-stream"
    app.file_uploader[0].set_value([(name, content, kind) for name, content in files])
    app.run()
    assert not app.exception
    return app


def test_several_files_are_mapped_once_a_layout_and_imported_with_one_button(
    store, page
):
    files = [
        (f"{who}.csv", f"date,exercise,load (kg),reps\n2025-01-06,hammer curl,{kg},8\n"
         .encode()) for who, kg in (("anna", 14), ("bela", 16))
    ]  # fmt: skip
    files.append(("c.csv", log("2025-01-06,C,hammer curl,18,8,2,").encode()))
    app = upload(page(), *files)
    headers = [one.value for one in app.header]
    assert "How 2 files with the same headers are read" in headers
    assert "How c.csv is read" in headers
    for who in ("anna", "bela"):
        next(
            box for box in app.text_input if box.label.endswith(f"in {who}.csv")
        ).input(who)
    app.run()
    press(app, "Import 3 sets from 3 files")
    assert "anna.csv: 1 set added" in app.success[0].value
    found = stored.sets(store).set_index("lifter")["load_kg"].to_dict()
    assert found == {"anna": 14, "bela": 16, "C": 18}


def test_the_sheets_of_a_workbook_are_chosen_on_the_page(store, page):
    head = ["Datum", "Wer", "Übung", "kg", "Wdh"]
    winter = book(
        Januar=[head, ["26.01.2025", "A", "Hammercurl", 18, 8]],
        Plan=[head, ["06.01.2026", "A", "Hammercurl", 30, 8]],
        Notizen=[["nichts"]],
    )
    app = upload(page(), ("winter.xlsx", winter))
    choice = next(box for box in app.multiselect if box.label.startswith("Sheets of"))
    assert choice.options == ["Januar", "Plan"]
    choice.unselect("Plan").run()
    press(app, "Import 1 set")
    assert stored.sets(store)["load_kg"].tolist() == [18]


def test_sets_are_typed_in_todays_form_and_undone(bring, store, page):
    bring(log("2024-01-08,R01,hammer curl,16,8,2,"))
    app = page("today")

    def box(kind: str, label: str):
        return next(one for one in getattr(app, kind) if one.label.startswith(label))

    press(app, "Log it")
    assert "needed" in app.error[0].value
    box("selectbox", "Exercise").select("hammer_curl")
    box("number_input", "Load").set_value(18)
    box("number_input", "Repetitions").set_value(8)
    box("number_input", "Sets").set_value(2)
    box("number_input", "Pain").set_value(3)
    press(app, "Log it")
    assert not app.error, app.error[0].value
    assert "2 sets of Hammer curl, 18 kg × 8" in app.success[0].value
    assert "no load is suggested" in app.success[0].value
    rows = stored.sets(store).iloc[1:]
    assert rows["variant"].tolist() == ["hammer_curl"] * 2
    assert rows["pain"].tolist() == [3, 3]
    press(app, "Undo")
    assert stored.sets(store)["load_kg"].tolist() == [16]
