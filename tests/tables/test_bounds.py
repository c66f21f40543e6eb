"""Small files that would become large ones cost nothing and are refused truly."""

from __future__ import annotations

import json
import os
import zipfile

import openpyxl
import pyarrow as pa
import pyarrow.parquet as pq
import pytest
from file_cost import TAKEN, TRACED, cost, varint, workbook

from analytics.errors import FileRefusedError
from analytics.intake import take_in
from analytics.tables import bounds, open_sheets, scan

HEADER = ["lifter", "date", "exercise", "load_kg", "reps"]
ROW = ["R01", "2025-01-06", "barbell curl", 20, 8]
NAMESPACE = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"


@pytest.mark.parametrize("code", [TAKEN, TRACED])
def test_a_row_number_of_a_million_costs_nothing(tmp_path, code):
    path = workbook(
        tmp_path / "far.xlsx", HEADER, ROW, cells=[("A1048576", "R02"), ("B1048576", 1)]
    )
    assert path.stat().st_size < 6000
    near = workbook(tmp_path / "near.xlsx", HEADER, ROW, ["R02", 1])
    far, close = cost(code, path), cost(code, near)
    assert far[0] < close[0] + 100_000
    assert far[1] < close[1] + 30
    if code == TAKEN:
        assert far[2] == "2"


def test_a_far_row_keeps_its_number(store, tmp_path):
    cells = [(f"{c}1048576", v) for c, v in zip("ABCDE", [*ROW[:4], "x"], strict=True)]
    path = workbook(tmp_path / "far.xlsx", HEADER, ROW, cells=cells)
    result = take_in(store, path)
    assert (result.sets_added, result.issues[0].row) == (1, 1048576)


def sheet_of(rows):
    return f'<worksheet xmlns="{NAMESPACE}"><sheetData>{rows}</sheetData></worksheet>'


STRINGS = f'<sst xmlns="{NAMESPACE}">' + "<si><t>a</t></si>" * 5_000_000
NOISE = os.urandom(500_000).hex()  # or the ratio alone would give the bomb away
WORKBOOK_BOMBS = {
    "columns": ({"cells": [("XFD3", 1)]}, "16384 columns in row 3"),
    "styles": (
        {"styles": f'<styleSheet xmlns="{NAMESPACE}"><cellXfs>' + "<xf/>" * 900_000},
        "styles.xml` of 4",
    ),
    "strings": (
        {"sharedStrings": STRINGS, "media/noise": NOISE},
        "sharedStrings.xml` of 8",
    ),
    "one row": (
        {
            "worksheets/sheet1": sheet_of(
                '<row r="1">' + "<c/>" * 5_000_000 + "</row>"
            ),
            "media/noise": NOISE,
        },
        "a row of more than 1",
    ),
    "rows that repeat": (
        {"worksheets/sheet1": sheet_of('<row r="2"/>' * 2)},
        "row 2 comes after row 2",
    ),
    "rows that fall": (
        {"worksheets/sheet1": sheet_of('<row r="2"/><row r="1"/>')},
        "row 1 comes after row 2",
    ),
    "packed": ({"worksheets/sheet1": sheet_of(" " * (100 << 20))}, "would unpack to 1"),
}


@pytest.mark.parametrize("bomb", WORKBOOK_BOMBS)
def test_a_workbook_that_would_grow_is_refused(tmp_path, bomb):
    parts, reason = WORKBOOK_BOMBS[bomb]
    path = workbook(tmp_path / f"{bomb}.xlsx", HEADER, ROW, **parts)
    for code in (TAKEN, TRACED):
        calls, megabytes, said = cost(code, path)
        assert reason in said
        assert calls < 50_000
        assert megabytes < 250


def test_a_workbook_of_very_many_sheets_is_refused(store, tmp_path):
    book = openpyxl.Workbook()
    for number in range(bounds.MOST_SHEETS):
        book.create_sheet(f"s{number}")
    book.save(tmp_path / "many.xlsx")
    with pytest.raises(FileRefusedError, match="101 sheets; at most 100"):
        take_in(store, tmp_path / "many.xlsx")


def repeated(value, count):
    indices = pa.array(pa.nulls(count, pa.int32()).fill_null(0))
    return pa.DictionaryArray.from_arrays(indices, pa.array([value]))


PARQUET_BOMBS = {
    # rows that a dictionary and run lengths pack into nothing
    "rows": ({name: (str(value), 6_000_000) for name, value in zip(
        HEADER, ROW, strict=True)}, "would unpack to"),
    "very many rows": ({"lifter": ("R", 70_000_000)}, "70,000,000 rows"),
    # one long text repeated
    "texts": ({"lifter": ("R" * 100_000, 100_000)}, "would unpack to"),
}  # fmt: skip


@pytest.mark.parametrize("bomb", PARQUET_BOMBS)
def test_a_parquet_file_that_would_grow_is_refused_before_it_does(tmp_path, bomb):
    columns, reason = PARQUET_BOMBS[bomb]
    path = tmp_path / f"{bomb}.parquet"
    table = pa.table({name: repeated(*column) for name, column in columns.items()})
    table = table.cast(pa.schema([(name, pa.dictionary(pa.int32(), pa.string()))
                                  for name in columns]))  # fmt: skip
    pq.write_table(table, path, compression="zstd")
    assert path.stat().st_size < 300_000
    for code in (TAKEN, TRACED):
        calls, megabytes, said = cost(code, path)
        assert reason in said
        assert "times its size" in said or "at most" in said
        assert calls < 2_000
        assert megabytes < 200


@pytest.mark.parametrize(
    "column",
    [
        pa.array([b"\0" * (300 << 20)], pa.binary()),
        pa.array([list(range(2)) * 40_000_000]),
        pa.nulls(80_000_000, pa.int64()),
    ],
    ids=["zeros", "a long list", "nothing"],
)
def test_packed_pages_lists_and_nothing_at_all_are_refused(tmp_path, column):
    path = tmp_path / "packed.parquet"
    pq.write_table(pa.table({"lifter": column}), path, compression="zstd")
    del column
    calls, megabytes, said = cost(TAKEN, path)
    assert "would unpack to" in said or "cells; at most" in said
    assert calls < 2_000
    assert megabytes < 100


def test_a_parquet_footer_that_declares_few_rows_is_refused(store, tmp_path):
    rows, path = 50_000, tmp_path / "forged.parquet"
    log = {name: [value] * rows for name, value in zip(HEADER, ROW, strict=True)}
    pq.write_table(pa.table(log), path)
    content = path.read_bytes()
    length = int.from_bytes(content[-8:-4], "little")
    body, footer = content[: -8 - length], content[-8 - length : -8]
    # Behind the schema the rows of the file come first, doubled for their sign.
    footer = footer.replace(b"\x16" + varint(2 * rows), b"\x16" + varint(20), 1)
    path.write_bytes(body + footer + len(footer).to_bytes(4, "little") + b"PAR1")
    assert pq.read_metadata(path).num_rows == 10
    with pytest.raises(FileRefusedError, match="declares 10 rows and holds more"):
        take_in(store, path)


@pytest.mark.parametrize("part", ["worksheets/sheet1", "media/sheet1"])
def test_a_sheet_under_any_name_is_bounded_row_by_row(tmp_path, part):
    path = workbook(tmp_path / "w.xlsx", HEADER, ROW)
    with zipfile.ZipFile(path) as old:
        content = {name: old.read(name) for name in old.namelist()}
    rows = content.pop("xl/worksheets/sheet1.xml")
    wide = b'<row r="3">' + b"<c/>" * 5_000_000 + b"</row></sheetData>"
    content[f"xl/{part}.bin"] = rows.replace(b"</sheetData>", wide)
    links = content["xl/_rels/workbook.xml.rels"]
    content["xl/_rels/workbook.xml.rels"] = links.replace(
        b"worksheets/sheet1.xml", f"{part}.bin".encode()
    )
    content["xl/noise"] = NOISE.encode()
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as new:
        for name, text in content.items():
            new.writestr(name, text)
    for code in (TAKEN, TRACED):
        calls, megabytes, said = cost(code, path)
        assert f"a row of more than 16,777,216 bytes in xl/{part}.bin" in said
        assert calls < 50_000
        assert megabytes < 150


def test_a_table_of_texts_under_any_name_is_bounded(tmp_path):
    path = workbook(tmp_path / "w.xlsx", HEADER, ROW)
    kind = "application/vnd.openxmlformats-officedocument.spreadsheetml.sharedStrings"
    part = f'<Override PartName="/xl/media/t.bin" ContentType="{kind}+xml"/></Types>'
    with zipfile.ZipFile(path) as old:
        content = {name: old.read(name) for name in old.namelist()}
    types = content["[Content_Types].xml"].decode()
    content["[Content_Types].xml"] = types.replace("</Types>", part)
    content |= {"xl/media/t.bin": STRINGS + "</sst>", "xl/noise": NOISE}
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as new:
        for name, text in content.items():
            new.writestr(name, text)
    calls, megabytes, said = cost(TAKEN, path)
    assert "a row of more than 16,777,216 bytes in xl/media/t.bin" in said
    assert calls < 50_000
    assert megabytes < 250


def test_an_ordinary_parquet_log_is_read(store, tmp_path):
    rows = {name: [value] * 200_000 for name, value in zip(HEADER, ROW, strict=True)}
    rows["reps"] = [n % 12 + 1 for n in range(200_000)]
    rows["load_kg"] = [n % 97 / 2 + 1 for n in range(200_000)]
    pq.write_table(pa.table(rows), tmp_path / "log.parquet")
    assert take_in(store, tmp_path / "log.parquet", trial=True).rows_read == 200_000


@pytest.mark.slow
def test_one_line_of_100_mb_of_json_is_read(tmp_path):
    path = tmp_path / "long.json"
    with path.open("w") as file:
        file.write("[")
        for n in range(920_000):
            load = n % 97 / 2 + 1
            record = dict(zip(HEADER, ROW, strict=True)) | {"load_kg": load, "n": n}
            file.write(json.dumps(record) + ", ")
        file.write(json.dumps(record) + "]")
    assert path.stat().st_size > 100_000_000
    calls, megabytes, said = cost(TAKEN, path)
    assert said == "920001"
    assert calls < 200 * 920_001
    assert megabytes < 2000


@pytest.mark.parametrize(
    ("content", "reason"),
    [
        ('{"sets": [' + "1, " * 12_000_000 + "1]}", "one JSON object of 36,000"),
        ("[" + "1," * (65 << 20) + "1]", "JSON of 130 MB"),
        ("[" * 200_000, "nested too deep"),
        ('["' + "a" * 3_000_000 + '"]', "a longer cell in row 1"),
        ('[{"a": 1} {"a": 2}]', "a `,` or `]` is missing at character 11"),
        ('[{"a": 1},]', "line 1 is no sound JSON"),
        ('[{"a": 1}', "a `,` or `]` is missing"),
        ('{"a": 1}\n{"a": }', "line 2 is no sound JSON"),
        ('[{"a": 1}] x', "`x` after the list"),
    ],
)
def test_json_is_refused_with_the_true_reason(store, tmp_path, content, reason):
    path = tmp_path / "log.json"
    path.write_text(content)
    with pytest.raises(FileRefusedError, match=reason):
        take_in(store, path)


@pytest.mark.parametrize(
    "content",
    [
        '[["lifter", "n"], ["R", 1]]', '{"lifter": "R", "n": 1}',
        '{"x": 1, "sets": [{"lifter": "R", "n": 1}]}',
        '{"lifter": "R", "n": 1}\n\n{"lifter": "R", "n": 2}\n',
        '\ufeff [\n{"lifter": "R",\n"n": 1}\n]\n', '["lifter", "n"]\n["R", 1]',
        '{\n "lifter": "R",\n "n": 1}',
    ],
)  # fmt: skip
def test_json_of_every_form_is_read(tmp_path, content):
    path = tmp_path / "log.json"
    path.write_text(content, "utf-8")
    (sheet,) = open_sheets(path, scan(path), {})
    rows = [cells for _, cells in sheet.rows()]
    assert rows[0] == ["lifter", "n"] or rows[0] == ["lifter", "n", "x"][::-1]
    assert rows[1][-2:] == ["R", "1"]


BOUNDS = [
    ("MOST_ROWS", "lines"), ("MOST_CELLS", "more cells by row"),
    ("MOST_COLUMNS", "5 columns in row 1"), ("MOST_LETTERS", "a longer cell in row 2"),
    ("MOST_BYTES", "bytes"), ("MOST_SECONDS", "not read to its end"),
]  # fmt: skip


@pytest.mark.parametrize(("name", "reason"), BOUNDS)
def test_every_bound_says_what_was_found_and_what_is_read(
    store, tmp_path, monkeypatch, name, reason
):
    path = tmp_path / "log.csv"
    rows = [HEADER, *[ROW] * 200]
    path.write_text("\n".join(",".join(map(str, row)) for row in rows))
    most = {"MOST_LETTERS": 10, "MOST_SECONDS": 0}.get(name, 4)
    monkeypatch.setattr(bounds, name, most)
    with pytest.raises(FileRefusedError) as refused:
        take_in(store, path)
    assert reason in str(refused.value)
    assert f"at most {most}" in str(refused.value)


def test_short_rows_of_a_wide_table_do_not_fill_the_disk(store, tmp_path):
    names = [*HEADER, *(f"x{n}" for n in range(1900))]
    path = tmp_path / "wide.csv"
    row = ",".join(map(str, ROW))
    path.write_text("\n".join([",".join(names), *[row] * 30_000]))
    assert take_in(store, path, trial=True).rows_read == 30_000
