"""Files of samples: what is read, and what is refused with which words."""

import numpy as np
import pandas as pd
import pytest

from analytics import store as storage
from analytics.cli import rep_log
from analytics.errors import FileRefusedError, InputError
from analytics.intake import take_in
from analytics.store import Store
from analytics.traces import read_trace, reading


def one_rep(**changes: object) -> pd.DataFrame:
    time = np.arange(0, 3, 0.01)
    elbow = 70 - 60 * np.cos(np.pi * np.clip(time - 0.5, 0, 2) / 2)
    frame = pd.DataFrame(
        {
            "lifter": "R01",
            "performed_on": "2026-01-12",
            "exercise": "standing_barbell_curl",
            "set": 1,
            "time_s": time.round(3),
            "elbow_deg": elbow.round(3),
        }
    )
    return frame.assign(**changes)


@pytest.mark.parametrize("suffix", [".csv", ".tsv", ".txt", ".xlsx", ".parquet"])
def test_every_file_kind_gives_the_same_samples(tmp_path, suffix):
    path = tmp_path / f"trace{suffix}"
    frame = one_rep()
    if suffix == ".xlsx":
        frame.to_excel(path, index=False)
    elif suffix == ".parquet":
        frame.to_parquet(path)
    else:
        frame.to_csv(path, index=False, sep="," if suffix == ".csv" else "\t")
    read = read_trace(path)
    np.testing.assert_allclose(read["elbow_deg"], frame["elbow_deg"])
    assert read["lifter"].eq("R01").all()
    assert read["performed_on"].eq(pd.Timestamp("2026-01-12")).all()


def test_decimal_commas_byte_order_mark_and_capital_headers_are_read(tmp_path):
    path = tmp_path / "trace.csv"
    frame = one_rep().rename(columns=str.upper)
    frame.to_csv(path, index=False, sep=";", decimal=",", encoding="utf-8-sig")
    np.testing.assert_allclose(read_trace(path)["elbow_deg"], one_rep()["elbow_deg"])


def test_quoted_decimal_commas_in_a_comma_separated_file_are_read(tmp_path):
    path = tmp_path / "trace.csv"
    frame = one_rep()
    frame["elbow_deg"] = frame["elbow_deg"].map("{:.3f}".format).str.replace(".", ",")
    frame.to_csv(path, index=False)
    np.testing.assert_allclose(read_trace(path)["elbow_deg"], one_rep()["elbow_deg"])


def test_an_empty_cell_of_a_signal_is_a_dropout_not_an_error(tmp_path):
    frame = one_rep()
    frame.loc[50:60, "elbow_deg"] = np.nan
    path = tmp_path / "trace.csv"
    frame.to_csv(path, index=False)
    assert read_trace(path)["elbow_deg"].isna().sum() == 11


def refused(tmp_path, frame: pd.DataFrame) -> str:
    path = tmp_path / "trace.csv"
    frame.to_csv(path, index=False)
    with pytest.raises(FileRefusedError) as caught:
        read_trace(path)
    assert caught.value.exit_code == 3
    assert str(caught.value).startswith("trace.csv: ")
    assert "\n" not in str(caught.value)
    return str(caught.value)


def test_time_that_falls_names_row_and_value(tmp_path):
    frame = one_rep()
    frame.loc[100, "time_s"] = 0.5
    message = refused(tmp_path, frame)
    assert "row 102, column time_s, value 0.5" in message
    assert "must rise" in message


def test_time_that_repeats_is_refused(tmp_path):
    frame = one_rep()
    frame.loc[100, "time_s"] = frame.loc[99, "time_s"]
    assert "row 102" in refused(tmp_path, frame)


def test_time_may_start_again_in_the_next_set(tmp_path):
    path = tmp_path / "trace.csv"
    pd.concat([one_rep(), one_rep(set=2)]).to_csv(path, index=False)
    assert read_trace(path)["set"].nunique() == 2


def test_angles_in_radians_are_named_as_such(tmp_path):
    frame = one_rep()
    frame["elbow_deg"] = np.deg2rad(frame["elbow_deg"])
    assert "radians" in refused(tmp_path, frame)


def test_an_included_angle_is_named_as_such(tmp_path):
    frame = one_rep()
    frame["elbow_deg"] = 180 - frame["elbow_deg"]
    assert "180 minus the flexion angle" in refused(tmp_path, frame)


@pytest.mark.parametrize(
    ("factor", "word"), [(1000, "millimetres"), (100, "centimetres")]
)
def test_heights_in_another_unit_are_named(tmp_path, factor, word):
    frame = one_rep()
    frame["height_m"] = factor * (0.9 + frame.pop("elbow_deg") / 250)
    assert word in refused(tmp_path, frame)


@pytest.mark.parametrize("noise", [0.0, 0.3])
def test_a_constant_signal_is_refused(tmp_path, noise):
    frame = one_rep()
    frame["elbow_deg"] = 40 + noise * np.random.default_rng(1).standard_normal(
        len(frame)
    )
    assert "constant signal" in refused(tmp_path, frame)


def test_milliseconds_are_named(tmp_path):
    frame = one_rep()
    frame["time_s"] = frame["time_s"] * 1000
    assert "milliseconds" in refused(tmp_path, frame)


def test_a_missing_column_is_named_with_what_a_trace_has(tmp_path):
    message = refused(tmp_path, one_rep().drop(columns=["exercise", "elbow_deg"]))
    assert "column exercise, elbow_deg or height_m is missing" in message


def test_a_word_among_the_numbers_names_row_column_and_value(tmp_path):
    frame = one_rep().astype({"elbow_deg": object})
    frame.loc[20, "elbow_deg"] = "lost"
    assert "row 22, column elbow_deg, value 'lost'" in refused(tmp_path, frame)


@pytest.mark.parametrize("value", ["12/01/2026", "", "yesterday"])
def test_a_date_is_never_guessed(tmp_path, value):
    assert "row 2, column performed_on" in refused(
        tmp_path, one_rep(performed_on=value)
    )


def test_an_empty_time_or_table_is_refused(tmp_path):
    frame = one_rep()
    frame.loc[7, "time_s"] = np.nan
    assert "row 9, column time_s is empty" in refused(tmp_path, frame)
    assert "no samples" in refused(tmp_path, one_rep().iloc[:0])


@pytest.mark.parametrize(
    "name", ["trace.xlsx", "trace.parquet", "trace.csv", "trace.c3d"]
)
def test_a_damaged_or_foreign_file_is_refused_in_one_sentence(tmp_path, name):
    path = tmp_path / name
    path.write_bytes(b"\x00\xff\x13 not a table")
    with pytest.raises(FileRefusedError, match=name):
        read_trace(path)


def test_a_trace_of_more_samples_than_are_read_is_refused(tmp_path, monkeypatch):
    rows = "".join(f"{number / 100},{10 + number}\n" for number in range(40))
    path = tmp_path / "long.csv"
    path.write_text("time_s,elbow_deg\n" + rows)
    monkeypatch.setattr(reading, "MOST_TRACE_ROWS", 40)
    assert len(read_trace(path, lifter="R01", exercise="standing_barbell_curl")) == 40
    monkeypatch.setattr(reading, "MOST_TRACE_ROWS", 39)
    with pytest.raises(FileRefusedError, match="more samples; at most 39 are read"):
        read_trace(path, lifter="R01", exercise="standing_barbell_curl")


def test_a_file_that_is_not_there_is_refused(tmp_path):
    with pytest.raises(FileRefusedError, match="no such file"):
        read_trace(tmp_path / "none.csv")


def test_a_bare_recording_is_told_whose_it_is_and_kept_once(tmp_path):
    path, store = tmp_path / "bare.csv", Store(tmp_path / "s.duckdb")
    one_rep()[["time_s", "elbow_deg"]].to_csv(path, index=False)
    numbers = {
        rep_log.store_trace(store, path, lifter="Z1", variant="hammer_curl")[1]
        for _ in range(2)
    }
    assert numbers == {1}
    assert storage.intakes(store)[["file", "kind"]].values.tolist() == [
        ["bare.csv", "traces"]
    ]
    kept = storage.reps(store, lifter="Z1", variant="hammer_curl")
    assert len(kept) == 1
    assert kept["performed_on"].isna().all()


def test_undoing_a_trace_removes_exactly_what_it_added(tmp_path):
    store, log = Store(tmp_path / "s.duckdb"), tmp_path / "log.csv"
    log.write_text(
        "lifter,date,exercise,load_kg,reps\nZ1,2026-01-05,hammer curl,20,8\n"
    )
    take_in(store, log, dates="iso")
    before = [query(store) for query in (storage.sets, storage.names, storage.reps)]
    numbers = []
    for exercise in ("hammer curl", "qqqqq"):
        path = tmp_path / f"{exercise}.csv"
        one_rep(exercise=exercise).to_csv(path, index=False)
        numbers.append(rep_log.store_trace(store, path)[1])
    assert numbers == [2, 3]
    storage.undo(store, 3)
    assert set(storage.reps(store)["exercise"]) == {"hammer curl"}
    assert storage.undo(store, 2).rows == 1
    for query, was in zip(
        (storage.sets, storage.names, storage.reps), before, strict=True
    ):
        pd.testing.assert_frame_equal(query(store), was)
    with pytest.raises(InputError, match="intake 2 was undone on"):
        storage.undo(store, 2)
    # Undone by mistake: the file comes back under a number of its own.
    assert rep_log.store_trace(store, tmp_path / "qqqqq.csv")[1] == 4
    assert len(storage.reps(store)) == 1
