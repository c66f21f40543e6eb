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


def cost(code, *arguments):
    """Seconds and MB that the code takes beyond its imports, and what it printed."""
    done = subprocess.run(
        [sys.executable, "-c", textwrap.dedent("""
            import resource, sys, time
            import pyarrow.parquet, pyarrow.compute, openpyxl
            from analytics.errors import FileRefusedError
            from analytics.intake import take_in
            from analytics.traces import read_trace
            from analytics.store import Store
            used = lambda: resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
            before = used()
            try:
                result = eval(sys.argv[1])
                print(getattr(result, "rows_read", result))
            except FileRefusedError as error:
                print(error)
            print(time.process_time(), used() - before)
        """), code, *map(str, arguments)],
        capture_output=True, text=True, timeout=300, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    *said, figures = done.stdout.splitlines()
    seconds, megabytes = map(float, figures.split())
    return seconds, megabytes, " ".join(said)


TAKEN = "take_in(Store(sys.argv[2] + '.duckdb'), sys.argv[2], trial=True)"
TRACED = "read_trace(sys.argv[2], lifter='R', exercise='curl')"
