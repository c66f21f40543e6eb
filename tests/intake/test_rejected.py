"""Rejected rows are fixed in a table or a file and come back once."""

from __future__ import annotations

import pandas as pd
import pytest

from analytics.errors import InputError
from analytics.intake import export_rejected, fix_rejected, rejected_table, take_in
from analytics.store import Store, rejected, sets, undo

LOG = (
    "Athlet;Datum;Übung;Gewicht (kg);Wdh\n"
    "R01;13.01.2025;LH Curl;22,5;8\n"
    "R01;02.01.2025;LH Curl;-22,5;8\n"
    "R01;03.01.2025;LH Curl;22,5;acht\n"
    "R01;03.01.2025;LH Curl;22,5;acht\n"
)


@pytest.fixture
def store(tmp_path):
    store = Store(tmp_path / "store.duckdb")
    (tmp_path / "log.csv").write_text(LOG, "utf-8")
    assert take_in(store, tmp_path / "log.csv").rejected == 3
    return store


def test_a_fixed_row_is_read_as_its_file_was(store):
    table = rejected_table(store, 1)
    assert len(table) == 3
    table["Wdh"] = table["Wdh"].replace("acht", "8")
    (result,) = fix_rejected(store, table.iloc[1:])
    assert (result.sets_added, result.rejected) == (2, 0)
    # 03.01.2025 stays day first, as the whole file proved, and 22,5 stays 22.5
    assert sets(store).performed_on.dt.strftime("%d.%m.").tolist() == [
        "03.01.", "03.01.", "13.01.",
    ]  # fmt: skip
    assert set(sets(store).load_kg) == {22.5}
    assert rejected(store).row.tolist() == [3]


def test_a_row_fixed_badly_waits_again_and_the_file_adds_nothing(store, tmp_path):
    table = rejected_table(store, 1)
    table.loc[0, "Gewicht (kg)"] = "5000"
    (result,) = fix_rejected(store, table.iloc[:1])
    assert result.rejected == 1
    assert sorted(rejected(store).value) == ["5000", "acht", "acht"]
    again = take_in(store, tmp_path / "log.csv")
    assert (again.rows_read, again.sets_added, again.rejected) == (4, 0, 2)
    (tmp_path / "longer.csv").write_text(LOG + "R01;14.01.2025;LH Curl;25;6\n", "utf-8")
    longer = take_in(store, tmp_path / "longer.csv")
    assert (longer.rows_read, longer.sets_added, longer.rejected) == (5, 1, 2)


def test_rows_come_back_through_a_csv_file(store, tmp_path):
    path = tmp_path / "waiting.csv"
    assert export_rejected(store, 1, path) == 3
    text = path.read_text("utf-8-sig").replace("acht", "8").replace("-22,5", "22,5")
    path.write_text(text, "utf-8")
    (result,) = fix_rejected(store, path)
    assert result.sets_added == 3
    assert rejected(store).empty
    with pytest.raises(InputError, match="does not wait"):
        fix_rejected(store, path)


def test_undoing_a_fix_lets_the_rows_wait_again(store):
    table = rejected_table(store, 1)
    table["Wdh"] = "8"
    (result,) = fix_rejected(store, table.iloc[1:])
    undo(store, result.intake_id)
    assert len(rejected(store)) == 2 + 1


def test_a_table_that_is_no_export_is_refused(store):
    with pytest.raises(InputError, match="rejected row"):
        fix_rejected(store, pd.DataFrame({"Wdh": ["8"]}))
    with pytest.raises(InputError, match="as exported"):
        fix_rejected(store, pd.DataFrame({"rejected row": ["x"]}))
