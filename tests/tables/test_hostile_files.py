"""Files that lie about their size or repeat themselves cost seconds, and no memory."""

import json
import zipfile

import pyarrow as pa
import pyarrow.parquet as pq
import pytest
from file_cost import TAKEN, TRACED, cost, varint, workbook

HEADER = ["lifter", "date", "exercise", "load_kg", "reps"]
ROW = ["R01", "2025-01-06", "barbell curl", 20, 8]
LOG = f"{','.join(HEADER)}\n{','.join(map(str, ROW))}\n"


def forged(where, whole):
    """Bytes of a Parquet file that claims 2 GB where it has none."""
    if where == "length of the footer":
        return whole[:-8] + (2_000_000_000).to_bytes(4, "little") + b"PAR1"
    if where == "page":  # its unpacked size is the second field of the first page
        end = next(at for at in range(7, 20) if not whole[at] & 0x80) + 1
        return whole[:7] + varint(2 * (2**31 - 8)) + whole[end:]
    kind = {"list of columns": b"\x19\xfc", "name": b"\x18"}[where]
    footer = b"\x15\x02" + kind + varint(2**31 - 1) + bytes(200)
    return b"PAR1" + footer + len(footer).to_bytes(4, "little") + b"PAR1"


@pytest.mark.parametrize("code", [TAKEN, TRACED])
@pytest.mark.parametrize(
    "where", ["length of the footer", "list of columns", "name", "page"]
)
def test_parquet_that_claims_2_gb_is_refused_at_once(tmp_path, where, code):
    path = tmp_path / "claims.parquet"
    log = {name: [value] * 5 for name, value in zip(HEADER, ROW, strict=True)}
    pq.write_table(pa.table(log), path)
    path.write_bytes(forged(where, path.read_bytes()))
    calls, megabytes, said = cost(code, path)
    assert "is no sound Parquet file" in said or "is damaged" in said
    assert calls < 2_000
    assert megabytes < 100


@pytest.mark.parametrize("depth", [900, 970, 975, 980, 985, 990, 10_000, 1_000_000])
@pytest.mark.parametrize(
    ("begins", "ends"),
    [("[", "]"), ('{"a":', "}"), ('[{"a":[', "]}]")],
    ids=["lists", "objects", "both"],
)
def test_deep_json_is_refused_in_a_sentence(store, tmp_path, depth, begins, ends):
    path = tmp_path / "deep.json"
    path.write_text(begins * depth + "1" + ends * depth)
    said = cost(TAKEN, path)[2]
    if depth >= 10_000:
        assert said == "`deep.json` is JSON nested too deep for any log; " + (
            "bring a list of records"
        )
    assert "deep.json" in said


ONE_SET = dict(zip(HEADER[2:], ROW[2:], strict=True))
BEFORE = {"lifter": "R01", "date": "2025-01-06", "note": "x" * 1_900_000}


def test_a_long_text_that_json_repeats_for_each_set_is_refused(tmp_path):
    path = tmp_path / "repeats.json"
    path.write_text(json.dumps([BEFORE | {"sets": [ONE_SET] * 150_000}]))
    assert path.stat().st_size < 12_000_000  # 285 GB if it were written out
    calls, megabytes, said = cost(TAKEN, path)
    assert "more letters by row" in said
    assert calls < 100 * 150_000
    assert megabytes < 1500  # of 2,400 that any file may take


def test_a_long_text_that_a_workbook_repeats_is_refused(tmp_path):
    text = f"<si><t>{'y' * 2_000_000}</t></si></sst>"
    kind = "application/vnd.openxmlformats-officedocument.spreadsheetml.sharedStrings"
    part = f'<Override PartName="/xl/sharedStrings.xml" ContentType="{kind}+xml"/>'
    path = workbook(tmp_path / "w.xlsx", HEADER, ROW)
    with zipfile.ZipFile(path) as old:
        content = {name: old.read(name).decode() for name in old.namelist()}
    rows = "".join(
        f'<row r="{n}"><c r="A{n}" t="s"><v>0</v></c></row>' for n in range(3, 100_000)
    )
    sheet, types = "xl/worksheets/sheet1.xml", "[Content_Types].xml"
    content[sheet] = content[sheet].replace("</sheetData>", f"{rows}</sheetData>")
    content[types] = content[types].replace("</Types>", f"{part}</Types>")
    namespace = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
    content["xl/sharedStrings.xml"] = f'<sst xmlns="{namespace}">{text}'
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as new:
        for name, part in content.items():
            new.writestr(name, part)
    for code in (TAKEN, TRACED):
        calls, megabytes, said = cost(code, path)
        assert "more letters by row" in said
        assert calls < 400_000
        assert megabytes < 1500  # of 2,400 that any file may take


def test_json_of_very_many_names_is_refused_before_they_are_gathered(tmp_path):
    path = tmp_path / "names.json"
    path.write_text(json.dumps([{f"k{n}": 1} for n in range(1_000_000)]))
    calls, megabytes, said = cost(TAKEN, path)
    assert "2001 names; at most 2,000" in said
    assert calls < 100_000
    assert megabytes < 100


TEXTS = {
    "field of 50 MB": (LOG + '"' + "x" * 50_000_000 + '",,,,\n', "longer than 1 MB"),
    "quote open over 50 MB": (
        LOG + '"' + ("x" * 99 + "\n") * 500_000,
        "a longer cell|a quote is opened and never closed|field larger than",
    ),
    "a million columns": (",".join(["c"] * 1_000_000) + "\n" + LOG, "longer than 1 MB"),
    "a row of many cells": (LOG + "," * 500_000 + "\n", "500001 columns in row 3"),
    "50 million commas": (LOG + "," * 50_000_000 + "\n", "longer than 1 MB"),
}


@pytest.mark.parametrize("name", TEXTS)
def test_text_of_very_long_rows_is_refused(tmp_path, name):
    content, reason = TEXTS[name]
    path = tmp_path / "log.csv"
    path.write_text(content)
    for code in (TAKEN, TRACED):
        calls, megabytes, said = cost(code, path)
        assert any(words in said for words in reason.split("|")), said
        assert calls < 10_000
        assert megabytes < 200
