"""What pages read, and the only caching.

A result is kept under the fingerprint of the sets or the file it was made from, so
a page is never slower than it must be and never shows a number of an older store.
"""

import os
from collections.abc import Callable, Hashable
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

import pandas as pd
import streamlit as st

from analytics import store as stored
from analytics.catalogue import load_catalogue
from analytics.store import Store


@dataclass(frozen=True, slots=True)
class Choice:
    """Who, which movement and which dates: chosen once, kept in the address bar."""

    lifter: str | None
    movement: str
    since: date | None
    until: date | None


@st.cache_resource(max_entries=200, show_spinner=False)
def kept(task: str, key: Hashable, _make: Callable[[], Any]) -> Any:
    """Return what `_make` gives, made once per task and key. Never change it."""
    return _make()


def store_path() -> Path:
    """Return the store this dashboard reads, ``LACERTUS_STORE`` or the default."""
    return Path(os.environ.get("LACERTUS_STORE", "lacertus.duckdb"))


def stamp() -> tuple[Hashable, ...]:
    """Return a fingerprint of the store's file and the log DuckDB keeps beside it."""
    path = store_path()
    files = (path, path.with_name(path.name + ".wal"))
    stats = [file.stat() if file.exists() else None for file in files]
    return (str(path), *((s.st_mtime_ns, s.st_size) if s else None for s in stats))


def store() -> Store:
    """Return the store; nothing stays open between reads."""
    return Store(store_path())


def _read(query: Callable[..., Any], **chosen: Hashable) -> Any:
    key = (stamp(), *sorted(chosen.items()))
    return kept(query.__name__, key, lambda: query(store(), **chosen))


def lifters() -> pd.DataFrame:
    """Lifters and what their logs hold."""
    return _read(stored.lifters)


def movement_titles() -> dict[str, str]:
    """Titles of the movements by identifier, those with most sets first."""
    rows = _read(stored.movements).sort_values("sets", ascending=False, kind="stable")
    return dict(zip(rows["movement"], rows["title"], strict=True))


def variant_titles() -> dict[str, str]:
    """Titles of all variants by identifier."""
    rows = _read(stored.variants)
    return dict(zip(rows["variant"], rows["title"], strict=True))


def sets(choice: Choice) -> pd.DataFrame:
    """Return the chosen sets of everyone: the fit needs the others too."""
    return _read(
        stored.sets, movement=choice.movement, since=choice.since, until=choice.until
    )


def sources() -> pd.DataFrame:
    """Return the publications and other origins of the catalogue's numbers."""
    rows = pd.DataFrame.from_dict(load_catalogue().sources, orient="index")
    return rows.rename_axis("key").reset_index()


def line_facts(*, wait: bool) -> dict[str, str]:
    """Return what the line from log to verdict says of each stage."""
    rows = lifters()
    count = int(rows["sets"].sum())
    return {"Log": f"{count:,} sets, {len(rows)} lifters" if count else "no sets yet"}
