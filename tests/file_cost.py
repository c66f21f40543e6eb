"""What a file costs to read, in a process of its own."""

import subprocess
import sys
import textwrap
import zipfile

import openpyxl


def workbook(path, *rows, cells=(), **parts):
    book = openpyxl.Workbook()
    for row in rows:
        book.active.append(row)
    for at, value in cells:
        book.active[at] = value
    book.save(path)
    if parts:
        with zipfile.ZipFile(path) as old:
            content = {name: old.read(name) for name in old.namelist()}
        content |= {f"xl/{name}.xml": text for name, text in parts.items()}
        with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as new:
            for name, text in content.items():
                new.writestr(name, text)
    return path


def varint(number):
    """A number as the compact protocol of Parquet's footer and pages writes it."""
    out = b""
    while number > 0x7F:
        number, out = number >> 7, out + bytes([number & 0x7F | 0x80])
    return out + bytes([number])


def cost(code, *arguments):
    """Calls and MB that the code takes beyond its imports, and what it printed.

    Calls of functions stand for time: they are as many on a busy machine.
    """
    done = subprocess.run(
        [sys.executable, "-c", textwrap.dedent("""
            import cProfile, pstats, sys
            from pathlib import Path
            import pyarrow.parquet, pyarrow.compute, openpyxl
            from analytics.errors import FileRefusedError
            from analytics.intake import take_in
            from analytics.traces import read_trace
            from analytics.store import Store
            # Not ru_maxrss: it begins at what the process had that started this one.
            status = Path("/proc/self/status")
            used = lambda: int(status.read_text().split("VmHWM:")[1].split()[0]) / 1024
            before, counted = used(), cProfile.Profile()
            try:
                with counted:
                    result = eval(sys.argv[1])
                print(getattr(result, "rows_read", result))
            except FileRefusedError as error:
                print(error)
            calls = pstats.Stats(counted).total_calls
            print(calls, used() - before)
        """), code, *map(str, arguments)],
        capture_output=True, text=True, timeout=600, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    *said, figures = done.stdout.splitlines()
    calls, megabytes = map(float, figures.split())
    return calls, megabytes, " ".join(said)


TAKEN = "take_in(Store(sys.argv[2] + '.duckdb'), sys.argv[2], trial=True)"
TRACED = "read_trace(sys.argv[2], lifter='R', exercise='curl')"
