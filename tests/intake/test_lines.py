"""Lines of any shape keep their numbers, whichever way the rows are read."""

from __future__ import annotations

import csv
import io

import duckdb
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from analytics.intake import ColumnMap, staging, take_in
from analytics.intake.planning import make_plan
from analytics.store import Store
from analytics.tables.even_lines import even_copy

HEADER = "lifter,date,exercise,load_kg,reps\n"
ROW = "R01,2025-01-06,barbell curl,20,8\n"


def staged(plan, monkeypatch, *, by_python):
    with monkeypatch.context() as patch, duckdb.connect() as con:
        patch.setattr(staging, "fill_down", lambda con, plan: None)
        patch.setattr(staging, "_stage_plain", lambda con, plan: False)
        if by_python:
            patch.setattr(staging, "_stage_even", lambda con, plan: False)
        staging.stage(con, plan)
        return con.execute("SELECT * FROM cell_row ORDER BY row_no").fetchall()


CELL = st.sampled_from(
    ["", " ", "R1", "NA", " NA", "22,5", "a\nb", 'a"b', "a\r\nb", "ü\u00a0", "\t", "-"]
)


@settings(
    max_examples=20, deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)  # fmt: skip
@given(rows=st.lists(st.lists(CELL, max_size=7), min_size=1, max_size=8),
       end=st.sampled_from(["\n", "\r\n"]))  # fmt: skip
def test_the_fast_way_gives_every_cell_and_line_that_the_plain_way_gives(
    tmp_path, monkeypatch, rows, end
):
    path = tmp_path / "log.csv"
    text = io.StringIO(newline="")
    csv.writer(text, lineterminator=end).writerows(rows)
    path.write_text(HEADER.replace("\n", end) + ROW + text.getvalue(), newline="")
    commas = ColumnMap(read={"delimiter": ","})
    plan = make_plan(Store(tmp_path / "none.duckdb"), path, commas, {})
    fast = staged(plan, monkeypatch, by_python=False)
    assert fast == staged(plan, monkeypatch, by_python=True)
    assert fast


@pytest.mark.parametrize(
    ("text", "rows"),
    [
        (b"a,b\n5'11\",x\n", None),  # the quote stands inside a cell
        (b'a,b\n"1""2",x\n\n3,4,5\n6', b'"1""2",x\n,\n,\n6,\n'),
        (b"a,b\n1,2\r3,4\r\n", None),  # line ends of two kinds
        (b'a,b\n"1\n2",3\n4,5', b'"1\n2",3\n,\n4,5\n'),
        (b'a,b\n"1,2\n', None),  # never closed
    ],
)
def test_an_even_copy_has_a_row_for_each_line_or_is_given_up(tmp_path, text, rows):
    source, target = tmp_path / "a.csv", tmp_path / "b.csv"
    source.write_bytes(text)
    wide = even_copy(
        source, target, encoding="utf-8", delimiter=",", width=2, skip=1
    )  # fmt: skip
    assert (wide is None) == (rows is None)
    if rows is not None:
        assert target.read_bytes() == rows


@pytest.mark.slow
def test_rows_of_a_long_uneven_file_keep_their_line_numbers(tmp_path):
    lines = [ROW.replace(",20,", f",{n % 400}.5,") for n in range(600_000)]
    faulty = range(1000, 600_000, 50_000)
    for n in faulty:
        lines[n] = ROW.replace(",20,", ",heavy,")
        lines[n + 1] = "\n"
        lines[n + 2] = ROW.strip() + ",more\n"
    path = tmp_path / "long.csv"
    path.write_text(HEADER + "".join(lines))
    result = take_in(Store(tmp_path / "s.duckdb"), path)
    assert (result.rows_read, result.rejected) == (600_000 - 12, 24)
    assert [issue.row for issue in result.issues] == [
        n + at for n in faulty for at in (2, 4)
    ]
