"""The page of logs: names, doubtful sets, pain, several files, sets by hand."""

from __future__ import annotations

from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from analytics import store as stored
from analytics.store import Store

MAIN = str(Path(__file__).parents[1] / "app" / "main.py")
HEAD = "date,lifter,exercise,load (kg),reps,rir,note\n"


@pytest.fixture
def page(store: Store, monkeypatch):
    """Open the page of logs on the store of the test."""
    monkeypatch.setenv("LACERTUS_STORE", str(store.path))

    def opened(view: str = "import_logs") -> AppTest:
        app = AppTest.from_file(MAIN, default_timeout=120).run()
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
