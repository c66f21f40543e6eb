"""What pages read, and the only caching.

A result is cached under the fingerprint of the sets or the file it was made from, so
a page is never slower than it must be and never shows a number of an older store.
"""

import os
import time
from collections import OrderedDict
from collections.abc import Callable, Hashable, Iterator
from concurrent.futures import Future, wait
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import date
from functools import cache
from pathlib import Path
from threading import Lock, RLock
from typing import Any, Literal

import pandas as pd
import streamlit as st

from analytics import store as stored
from analytics.catalogue import Joint, load_catalogue, say_setups
from analytics.errors import AnalyticsError
from analytics.store import HOLDER, Asking, Store
from app import sign_in, worker

MOST_CACHED = 2000  # twenty people have some thirty each
LOOK_S = 0.5  # how often a page that waits can be left


@dataclass(frozen=True, slots=True)
class Choice:
    """Who, which movement and which dates: chosen once, kept in the address bar."""

    lifter: str | None
    movement: str
    since: date | None
    until: date | None


@dataclass(slots=True)
class _Result:
    lock: RLock = field(default_factory=RLock)
    made: bool = False
    value: Any = None


_CACHE: OrderedDict[Hashable, _Result] = OrderedDict()
_SHOWN: dict[Hashable, Hashable] = {}  # the newest key that was ready, see `ready_key`
_CACHE_LOCK = Lock()


def cached(task: str, key: Hashable, make: Callable[[], Any]) -> Any:
    """Return what `make` gives, made once per task and key. Never change it."""
    with _CACHE_LOCK:
        result = _CACHE.setdefault((task, key), _Result())
        _CACHE.move_to_end((task, key))  # what was asked for longest ago goes first
        while len(_CACHE) > MOST_CACHED:
            _CACHE.popitem(last=False)
    with result.lock:  # who asks while another makes it, waits
        if not result.made:
            result.value, result.made = make(), True
        return result.value


def made_beside(
    task: str,
    key: Hashable,
    make: Callable[[], Any],
    *,
    doing: str,
    known: Callable[[], Any] = lambda: None,
) -> Any:
    """Return what `make` gives as `cached` does, made in the process beside.

    What is `known` already needs no work. Whoever waits can leave the page at any
    time, and the work goes on.
    """
    work = _begun(task, key, make, known)
    if not isinstance(work, Future):
        return work
    _show_until_done(work, doing)
    return _result(task, key, work)


def make_ahead(task: str, key: Hashable, make: Callable[[], Any]) -> None:
    """Have a result made beside before anybody asks for it, and wait for it."""
    work = _begun(task, key, make, lambda: None)
    if isinstance(work, Future):
        wait([work])


def _begun(
    task: str, key: Hashable, make: Callable[[], Any], known: Callable[[], Any]
) -> Any:
    """Return what is there: the result, or the work that will give it."""

    def begin() -> Any:
        found = known()
        return worker.submit(make) if found is None else found

    return cached(task, key, begin)


def _result(task: str, key: Hashable, work: Future[Any]) -> Any:
    if work.exception() is not None:
        with _CACHE_LOCK:
            _CACHE.pop((task, key), None)  # the next who asks may have more luck
    try:
        return work.result()
    except BrokenProcessPool as error:
        raise AnalyticsError(
            "the process that works beside the pages was ended; open the page again"
        ) from error


def ready_key(task: str, line: Hashable, key: Hashable) -> Hashable:
    """Return the key whose result is shown: this one, or the newest one before it.

    Where people share a server, one who brings in a log must not make all the others
    wait. They see what was made of the log before, and are told so (`behind`); pages
    have the new result made (`renew`). Keys of one `line` differ by the state of the
    log alone.
    """
    before = _SHOWN.get((task, line), key)
    if sign_in.shared() and is_cached(task, before) and not is_cached(task, key):
        return before
    _SHOWN[task, line] = key
    return key


def renew(
    task: str,
    key: Hashable,
    make: Callable[[], Any],
    *,
    known: Callable[[], Any] = lambda: None,
    at_once: bool = False,
) -> None:
    """Have a result made beside, at once or if there is nothing else to do."""
    st.session_state["behind"] = True
    if at_once or worker.idle():
        work = _begun(task, key, make, known)
        if isinstance(work, Future) and work.done():
            _result(task, key, work)


def behind() -> bool:
    """Tell whether the page shows what was made of the log before its newest sets."""
    return st.session_state.get("behind", False)


def _show_until_done(work: Future[Any], doing: str) -> None:
    began = time.monotonic()
    if wait([work], LOOK_S).done:
        return
    place = st.session_state["progress"]
    try:
        while not wait([work], LOOK_S).done:
            place.info(
                f"{doing}, {time.monotonic() - began:.0f} s. Other pages can be opened "
                "meanwhile.",
                icon=":material/hourglass_top:",
            )
    finally:
        place.empty()


def clear_cache() -> None:
    """Drop every result, since what one was made from has been erased."""
    with _CACHE_LOCK:
        _CACHE.clear()
        _SHOWN.clear()


def is_cached(task: str, key: Hashable) -> bool:
    """Tell whether a result is there without making it."""
    result = _CACHE.get((task, key))
    if result is None or not isinstance(result.value, Future):
        return result is not None and result.made
    return result.value.done() and result.value.exception() is None


@contextmanager
def progress(doing: str) -> Iterator[Callable[[int, int], None]]:
    """Show a bar while long work runs; gives the work's ``on_progress``."""
    # In one place above the page: beside what follows it, it would move that when it
    # is gone, and an opened expander would close.
    bar = st.session_state["progress"]
    bar.progress(0.0, doing)
    try:
        yield lambda done, total: bar.progress(min(done / max(total, 1), 1.0), doing)
    finally:
        bar.empty()


def store_path() -> Path:
    """Return the store this dashboard reads, ``LACERTUS_STORE`` or the default."""
    return Path(os.environ.get("LACERTUS_STORE", "lacertus.duckdb"))


def stamp(*, whose: Asking | None = None) -> tuple[Hashable, ...]:
    """Return a fingerprint of what there is in the store for who asks.

    For who may see everything it is of the file and the log DuckDB keeps beside it.
    For others it is of their rows, so that what others bring in costs them nothing.
    """
    who = whose or asking()
    path = _resolved(store_path())
    files = (path, path.with_name(path.name + ".wal"))
    state = (who, str(path), *map(_state_of, files))
    if who.everything:
        return state
    theirs = Store(path, asking=who, on_wait=_say_waiting)
    return who, str(path), cached("rows", state, lambda: stored.rows_hash(theirs))


@cache
def _resolved(path: Path) -> Path:
    return Store(path).path


def asking() -> Asking:
    """Return who asks, as the list of people says now."""
    address = sign_in.address()
    if address is None:  # on one's own machine, whoever holds the file
        return HOLDER
    key = stamp(whose=HOLDER)

    def look() -> Asking:
        whole = Store(store_path())
        people = cached("people", key, lambda: stored.people(whole))
        return stored.asking_in(people, address)

    return cached("asking", (key, address), look)


def _state_of(file: Path) -> tuple[int, int, int] | None:
    try:
        found = file.stat()
    except OSError:  # not there, or not for us: reading will say so
        return None
    return found.st_ino, found.st_mtime_ns, found.st_size


def unit() -> str:
    """Return the unit in which loads are shown, kg or lb."""
    return st.session_state.get("unit") or "kg"


def bind() -> Literal["query-params"] | None:
    """Return how a choice is kept in the address; not while its page is being left."""
    return None if "leaving" in st.session_state else "query-params"


def chosen() -> Choice:
    """Return what the frame above the page was set to."""
    return st.session_state["choice"]


def store() -> Store:
    """Return the store for who asks; nothing stays open between reads."""
    return Store(store_path(), asking=asking(), on_wait=_say_waiting)


def _say_waiting() -> None:
    """Say in the place of progress, which the page empties at its end."""
    if (place := st.session_state.get("progress")) is not None:
        place.info("Somebody is bringing in a log or changing one; waiting for it.")


def read(
    query: Callable[..., Any], *, of: Store | None = None, **chosen: Hashable
) -> Any:
    """Return what one query of the store gives, once per state of the file."""
    key = (stamp(whose=of and of.asking), *sorted(chosen.items()))
    return cached(query.__name__, key, lambda: query(of or store(), **chosen))


def lifters() -> pd.DataFrame:
    """Lifters and what their logs hold."""
    return read(stored.lifters)


def movement_titles() -> dict[str, str]:
    """Titles of the movements by identifier, those with most sets first."""
    place = {name: -i for i, name in enumerate(load_catalogue().movements)}
    rows = read(stored.movements)
    rows = rows.assign(place=rows["movement"].map(place).fillna(-len(place)))
    rows = rows.sort_values(["sets", "place"], ascending=False, kind="stable")
    return dict(zip(rows["movement"], rows["title"], strict=True))


def variant_titles() -> dict[str, str]:
    """Titles of all variants by identifier."""

    def look() -> dict[str, str]:
        rows = read(stored.variants)
        return dict(zip(rows["variant"], rows["title"], strict=True))

    return cached("titles", stamp(), look)


def sets(choice: Choice, *, lifter: str | None = None) -> pd.DataFrame:
    """Return the chosen sets, of one lifter or of everyone."""
    return read(
        stored.sets,
        lifter=lifter,
        movement=choice.movement,
        since=choice.since,
        until=choice.until,
    )


def sources() -> pd.DataFrame:
    """Return the publications and other origins of the catalogue's numbers."""
    rows = pd.DataFrame.from_dict(load_catalogue().sources, orient="index")
    return rows.rename_axis("key").reset_index()


def joint_of(movement: str) -> Joint:
    """Return the joint of a movement that has mechanics."""
    catalogue = load_catalogue()
    return catalogue.joints[catalogue.movements[movement].joint or ""]


def in_words(text: str) -> str:
    """Return a setup or a sentence for people: titles, stations and ranges in words."""
    return say_setups(text, variant_titles())


def named(frame: pd.DataFrame) -> pd.DataFrame:
    """Return a table for people: setups and variants by their titles."""
    names = [name for name in ("setup", "variant", "reference") if name in frame]
    return frame.assign(
        **{
            name: frame[name].map({one: in_words(one) for one in frame[name].unique()})
            for name in names
        }
    )
