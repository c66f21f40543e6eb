"""Long work beside the pages: made once, left and found again, ended with them."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from functools import partial
from pathlib import Path
from threading import Thread

import psutil
import pytest
import streamlit as st

from analytics.errors import AnalyticsError, InputError, StoreError
from analytics.store import Store, lock, sets, teach_name
from app import fits, state, worker

ROOT = Path(__file__).parents[2]
SERVER = """
import os, sys, time
from functools import partial
from app import worker

if __name__ == "__main__":
    print(worker.submit(os.getpid).result(), flush=True)
    worker.submit(partial(time.sleep, 120))
    sys.stdin.readline()
    worker.stop()
"""


class Left(BaseException):
    """What ends the run of a page that is left."""


class Place:
    """Stands for the place above the page; is left after so many words."""

    def __init__(self, words: float = float("inf")) -> None:
        self.left, self.said = words, []

    def info(self, text: str, **_: object) -> None:
        self.said.append(text)
        if len(self.said) > self.left:
            raise Left

    def empty(self) -> None:
        self.said.append("")


def slowly(note: Path, seconds: float) -> str:
    with note.open("a", encoding="utf-8") as out:
        out.write(f"{os.getpid()}\n")
    time.sleep(seconds)
    return "done"


def refuse(note: Path) -> None:
    slowly(note, 0)
    raise InputError("`x` is no load")


@pytest.fixture
def place(monkeypatch):
    def put(words: float = float("inf")) -> Place:
        monkeypatch.setattr(st, "session_state", {"progress": Place(words)})
        return st.session_state["progress"]

    return put


def test_work_goes_on_when_the_page_is_left_and_is_made_once(tmp_path, place):
    note = tmp_path / "note"
    make = partial(slowly, note, 2.5)
    left = place(words=1)
    with pytest.raises(Left):
        state.made_beside("slow", str(note), make, doing="Working")
    assert left.said[-1] == ""  # nothing is left standing
    assert not state.is_cached("slow", str(note))
    stayed = place()
    assert state.made_beside("slow", str(note), make, doing="Working") == "done"
    assert all(text.startswith("Working, ") for text in stayed.said[:-1])
    assert state.is_cached("slow", str(note))
    (made_in,) = note.read_text().split()
    assert int(made_in) != os.getpid()


def test_what_is_known_already_needs_no_work(tmp_path, place):
    place()
    make = partial(slowly, tmp_path / "note", 0)
    known = state.made_beside("k", str(tmp_path), make, doing="", known=lambda: 7)
    assert known == 7
    assert not (tmp_path / "note").exists()


def test_a_refusal_is_told_and_asked_for_anew(tmp_path, place):
    place()
    note = tmp_path / "note"
    for _ in range(2):
        with pytest.raises(InputError, match="`x` is no load"):
            state.made_beside("no", str(note), partial(refuse, note), doing="")
    assert len(note.read_text().split()) == 2


def test_a_process_that_was_killed_is_said_and_replaced(tmp_path, place):
    place()
    die = partial(os.kill, worker.submit(os.getpid).result(60), signal.SIGKILL)
    with pytest.raises(AnalyticsError, match="was ended; open the page again"):
        state.made_beside("die", str(tmp_path), die, doing="")
    make = partial(slowly, tmp_path / "note", 0)
    assert state.made_beside("after", str(tmp_path), make, doing="") == "done"


def test_who_waits_for_a_fit_keeps_nobody_else_waiting_without_a_way_out(monkeypatch):
    key = ("fit", "of A alone")

    def uncut(_):
        other = Thread(target=state.cached, args=(*key, lambda: "made meanwhile"))
        other.start()
        other.join(60)
        assert not other.is_alive()

    keys = dict.fromkeys(["fit_key", "_now", "_key"], key)
    for name, value in {"set_count": 1, "_cut_to": "A", **keys}.items():
        monkeypatch.setattr(fits, name, lambda *_, value=value: value)
    monkeypatch.setattr(fits, "_uncut", uncut)
    assert fits.fit(None) == "made meanwhile"


@pytest.mark.parametrize("how", ["killed", "stopped"])
def test_the_process_ends_with_its_server(how, tmp_path):
    path = tmp_path / "serving.py"
    path.write_text(SERVER, encoding="utf-8")
    server = subprocess.Popen(
        [sys.executable, str(path)], stdin=subprocess.PIPE, stdout=subprocess.PIPE,
        text=True, env={**os.environ, "PYTHONPATH": str(ROOT)},
    )  # fmt: skip
    beside = psutil.Process(int(server.stdout.readline()))
    if how == "killed":
        server.kill()
    server.communicate("\n" if how == "stopped" else None, timeout=60)
    assert not psutil.wait_procs([beside], timeout=60)[1]


def test_who_waits_for_one_who_writes_is_told_once_and_soon(tmp_path, monkeypatch):
    path, told, waits_s = tmp_path / "store.duckdb", [], []
    acquire = lock.FileLock.acquire

    def acquired(self, timeout=None):
        if timeout is None:  # a folder that is nobody else's
            return acquire(self)
        waits_s.append(timeout)
        return acquire(self, timeout=0)

    store = Store(path, wait_s=600, on_wait=lambda: told.append(list(waits_s)))
    teach_name(store, "curl", "hammer_curl")
    assert not told
    with Store(path).write():
        monkeypatch.setattr(lock.FileLock, "acquire", acquired)
        with pytest.raises(StoreError, match="being written to"):
            sets(store)
    assert told == [[lock.SILENT_S]]
    assert lock.SILENT_S < 1.5
    assert 60 < waits_s[1] <= 600  # then it waits on
