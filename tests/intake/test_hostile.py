"""Files made to hurt: refused clearly, in bounded time and memory, nothing executed."""

from __future__ import annotations

import json
import os
import resource
import subprocess
import sys
import textwrap
import zipfile

import openpyxl
import pytest

from analytics.errors import FileRefusedError
from analytics.intake import export_rejected, take_in
from analytics.store import intakes, rejected, sets, teach_name

HEADER = "lifter,date,exercise,load_kg,reps\n"
ROW = "R01,2025-01-06,barbell curl,20,8\n"


@pytest.fixture
def sheet(tmp_path):
    path = tmp_path / "sound.xlsx"
    book = openpyxl.Workbook()
    book.active.append(["Lifter", "Date", "Exercise", "Load (kg)", "Reps"])
    book.active.append(["R01", "2025-01-06", "curl", 20, 8])
    book.save(path)
    return path


def rewritten(source, target, member, change):
    with zipfile.ZipFile(source) as old, zipfile.ZipFile(target, "w") as new:
        for name in old.namelist():
            content = old.read(name)
            new.writestr(name, change(content) if name == member else content)
    return target


BOMB = b'<!DOCTYPE x [<!ENTITY a "%s">%s]>' % (
    b"x" * 1000,
    b"".join(
        b'<!ENTITY %c "%s">' % (98 + n, b"&%c;" % (97 + n) * 50) for n in range(6)
    ),
)
REACH = b'<!DOCTYPE x [<!ENTITY g SYSTEM "file:///etc/passwd">]>'


@pytest.mark.parametrize("trick", [BOMB, REACH])
@pytest.mark.parametrize(
    "member", ["xl/workbook.xml", "xl/worksheets/sheet1.xml", "xl/styles.xml"]
)
def test_xml_with_entities_is_refused(store, sheet, tmp_path, trick, member):
    path = rewritten(
        sheet, tmp_path / "trick.xlsx", member,
        lambda text: b'<?xml version="1.0"?>' + trick + text.split(b"?>", 1)[-1]
        if text.startswith(b"<?xml") else trick + text,
    )  # fmt: skip
    with pytest.raises(FileRefusedError, match="no sound XLSX"):
        take_in(store, path)


def test_a_zip_bomb_and_other_archives_are_refused_unopened(store, tmp_path):
    bomb = tmp_path / "bomb.xlsx"
    with zipfile.ZipFile(bomb, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("xl/workbook.xml", "<a/>")
        with archive.open("xl/worksheets/sheet1.xml", "w") as member:
            for _ in range(200):
                member.write(bytes(1 << 20))
    with pytest.raises(FileRefusedError, match="unpack to 200 MB"):
        take_in(store, bomb)
    other = tmp_path / "other.xlsx"
    with zipfile.ZipFile(other, "w") as archive:
        archive.writestr("../../evil.txt", "x")
    with pytest.raises(FileRefusedError, match="no XLSX workbook"):
        take_in(store, other)


@pytest.mark.parametrize(
    ("content", "word"),
    [
        (b"", "empty"),
        (b" \n\n\t", "empty"),
        (bytes(range(256)) * 40, "NUL"),
        (HEADER.encode() + b"R\0,2025-01-06,c,20,8\n", "NUL"),
        (b"\xd0\xcf\x11\xe0" + b"0" * 600, "Excel"),
        (b"%PDF-1.7\n", "PDF"),
        (b"\x1f\x8b\x08\x00", "gzip"),
        (HEADER.encode() + "Jörg Jörg".encode() + b"J\xf6rg,,,,\n", "mixes UTF-8"),
        (b"PAR1" + b"0" * 100 + b"PAR1", "Parquet"),
        (b"PK\x03\x04 not a zip", "XLSX"),
        (b"<html>\n<body>\n", "no row that names its columns"),
        (b"{\\rtf1 hello}", "JSON"),
        (b"[" * 200_000, "JSON"),
        (HEADER.encode(), "no rows below"),
        (HEADER.encode() + b'R,2025-01-06,"curl,20,8\n' + ROW.encode() * 3, "quote"),
        (b",".join(b"c%d" % n for n in range(10_000)) + b"\n1\n", "10000 columns"),
    ],
)
def test_what_is_no_log_is_refused_with_a_reason(store, tmp_path, content, word):
    path = tmp_path / "bad.csv"
    path.write_bytes(content)
    with pytest.raises(FileRefusedError, match=word):
        take_in(store, path)
    assert not store.exists


def test_a_folder_pipe_or_device_is_refused_and_not_waited_for(store, tmp_path):
    os.mkfifo(tmp_path / "pipe.csv")
    for path in (tmp_path, tmp_path / "pipe.csv", "/dev/zero"):
        with pytest.raises(FileRefusedError, match="folder, pipe or device"):
            take_in(store, path)


def _limited(code: str, *arguments: object) -> subprocess.CompletedProcess[str]:
    """Run code with at most 2 GB of address space beyond what the libraries take."""
    return subprocess.run(
        [sys.executable, "-c", textwrap.dedent(code), *map(str, arguments)],
        capture_output=True, text=True, timeout=300, check=False,
        preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_AS, (4 << 30,) * 2),
    )  # fmt: skip


def test_one_line_of_a_gigabyte_is_refused_within_little_memory(tmp_path):
    path = tmp_path / "line.csv"
    with path.open("wb") as file:  # sparse, but read as a gigabyte of one letter
        for _ in range(64):
            file.write(b"a" * (1 << 24))
    done = _limited(
        """
        import sys
        from pathlib import Path
        from analytics.errors import FileRefusedError
        from analytics.intake import take_in
        from analytics.store import Store
        def told(file, name):
            text = Path("/proc/self", file).read_text()
            return int(text.split(f"{name}:")[1].split()[0])
        read, used = told("io", "rchar"), told("status", "VmHWM")
        try:
            take_in(Store(sys.argv[1]), sys.argv[2])
        except FileRefusedError as error:
            print(error)
        assert told("io", "rchar") - read < 20_000_000  # of a gigabyte
        assert told("status", "VmHWM") - used < 100_000
        """, tmp_path / "s.duckdb", path,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    assert "longer than 1 MB" in done.stdout


SQL = "'); DROP TABLE logged_set; --"


def test_sql_html_and_paths_in_text_are_text(store, tmp_path):
    path = tmp_path / "sql.csv"
    note = "<script>alert(1)</script>"
    path.write_text(
        "lifter,date,exercise,load_kg,reps,equipment,note,tempo\n"
        f"\"{SQL}\",2025-01-06,\"{SQL}\",20,8,../../etc/passwd,{note},$1 ?\n"
        f"R,2025-01-06,barbell curl,\"{SQL}\",8,,,\n"
    )  # fmt: skip
    result = take_in(store, path)
    assert (result.sets_added, result.rejected) == (1, 1)
    assert rejected(store).value.tolist() == [SQL]
    teach_name(store, SQL, "odd_lift", "outliers")
    found = sets(store, lifter=SQL)
    assert found.note.tolist() == [note]
    assert found.equipment.tolist() == ["../../etc/passwd"]
    assert len(intakes(store)) == 1


def test_a_formula_is_not_run_here_nor_by_a_spreadsheet_that_opens_the_export(
    store, tmp_path
):
    path = tmp_path / "formula.csv"
    path.write_text(HEADER + 'R,2025-01-06,"=cmd()",=1+1,8\nR,2025-01-06,+49,-5,8\n')
    result = take_in(store, path)
    assert result.issues[0].problem == "a formula, not a value"
    assert export_rejected(store, result.intake_id, tmp_path / "out.csv") == 2
    cells = (tmp_path / "out.csv").read_text("utf-8-sig")
    # CWE-1236: text that begins with = + - @ gets a quote; numbers stay numbers
    assert "'=cmd()" in cells
    assert "'=1+1" in cells
    assert ",-5," in cells


def test_names_of_files_and_sheets_cannot_leave_their_place(store, tmp_path, sheet):
    path = tmp_path / "..%2f'; DROP TABLE body;--.csv"
    path.write_text(HEADER + ROW)
    assert take_in(store, path).file == path.name
    book = openpyxl.load_workbook(sheet)
    book.active.title = "'; DROP TABLE x --"
    book.save(sheet)
    assert take_in(store, sheet).sets_added == 1


def test_very_many_different_names_or_texts_are_refused(store, tmp_path):
    path = tmp_path / "names.csv"
    path.write_text(
        HEADER + "".join(f"R,2025-01-06,lift number {n},20,8\n" for n in range(25_000))
    )
    with pytest.raises(FileRefusedError, match="is it the exercise"):
        take_in(store, path)


def test_deep_and_odd_json_is_read_or_refused(store, tmp_path):
    path = tmp_path / "odd.json"
    record = {"lifter": "R", "date": "2025-01-06", "exercise": {"name": "curl"},
              "load_kg": True, "reps": [8, 7],
              "x": {"y": {"z": [None, {}]}}}  # fmt: skip
    path.write_text(json.dumps([record, 3, None, "text"]))
    result = take_in(store, path)
    assert (result.rows_read, result.rejected) == (3, 3)  # null is a blank row
