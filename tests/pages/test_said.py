"""How text of people, signs and questions are shown."""

import pytest
from page_runs import page, words

from analytics.intake import take_in
from analytics.store import Store
from app import figure
from app.views.import_logs import needs as intake_page


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
