"""One process beside the pages for long work, so that they stay alive meanwhile."""

import multiprocessing
import os
import signal
from collections.abc import Callable
from concurrent.futures import Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from threading import Thread
from typing import Any

import streamlit as st

from app import sign_in

NICE = 10
_BEGUN: set[Future[Any]] = set()  # and not done yet


def submit(work: Callable[[], Any]) -> Future[Any]:
    """Hand work to the process, which does one thing after another."""
    try:
        begun = _pool().submit(work)
    except BrokenProcessPool:  # its process was killed, perhaps for want of memory
        _pool.clear()
        begun = _pool().submit(work)
    _BEGUN.add(begun)
    begun.add_done_callback(_BEGUN.discard)
    return begun


def idle() -> bool:
    """Tell whether the process has nothing to do."""
    return not _BEGUN


def stop() -> None:
    """End the process whatever it does, since nobody waits for it any more."""
    for child in multiprocessing.active_children():
        child.terminate()


@st.cache_resource(show_spinner=False)
def _pool() -> ProcessPoolExecutor:
    # A fork would copy the locks of the server's threads as they happen to be.
    context = multiprocessing.get_context("spawn")
    return ProcessPoolExecutor(1, mp_context=context, initializer=_begin)


def _begin() -> None:
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # the server's, who then ends us
    if sign_in.shared() and hasattr(os, "nice"):
        os.nice(NICE)  # pages of others go first; alone, one waits for this
    Thread(target=_end_with_server, daemon=True).start()


def _end_with_server() -> None:
    """Leave nothing running when the server was killed."""
    if (server := multiprocessing.parent_process()) is not None:
        server.join()
        os._exit(1)
