"""Where people share a server, nobody waits for what another brings in."""

from __future__ import annotations

from concurrent.futures import Future

import pytest
import streamlit as st

from analytics import store as stored
from analytics.intake import take_in
from app import sign_in, state, worker

HEADER = "lifter,date,exercise,load_kg,reps,rir\n"


@pytest.fixture
def session(monkeypatch):
    monkeypatch.setenv(sign_in.HOURS, "12")
    monkeypatch.setattr(st, "session_state", {})
    yield st.session_state
    state.clear_cache()


@pytest.fixture
def work(monkeypatch):
    """Stand for the process beside: what was begun is done when a test says so."""
    begun: list[Future] = []

    def submit(_make) -> Future:
        begun.append(Future())
        return begun[-1]

    monkeypatch.setattr(worker, "submit", submit)
    monkeypatch.setattr(worker, "idle", lambda: all(one.done() for one in begun))
    return begun


def test_what_was_made_of_the_log_before_is_shown_until_the_new_is_ready(session, work):
    assert state.ready_key("fit", "curls", 1) == 1
    state.cached("fit", 1, lambda: "of monday")
    assert state.ready_key("fit", "curls", 2) == 1
    assert not state.behind()
    state.renew("fit", 2, lambda: None)
    assert state.behind()
    assert state.ready_key("fit", "curls", 2) == 1
    work[0].set_result("of tuesday")
    assert state.ready_key("fit", "curls", 2) == 2
    assert state.ready_key("fit", "rows", 2) == 2  # another line has no before


def test_one_on_the_own_machine_waits_for_the_new(session, monkeypatch):
    monkeypatch.delenv(sign_in.HOURS)
    state.cached("fit", 1, lambda: "of monday")
    assert state.ready_key("fit", "curls", 1) == 1
    assert state.ready_key("fit", "curls", 2) == 2


def test_renewing_waits_for_a_free_moment_unless_all_rests_on_it(session, work):
    state.renew("test", 1, lambda: None)
    state.renew("test", 2, lambda: None)
    assert len(work) == 1
    state.renew("fit", 3, lambda: None, at_once=True)
    assert len(work) == 2
    state.renew("fit", 3, lambda: None, at_once=True)
    assert len(work) == 2  # it is being made


def test_what_cannot_be_renewed_is_said_and_tried_again(session, work):
    state.renew("fit", 2, lambda: None, at_once=True)
    work[0].set_exception(ValueError("no strength in this"))
    with pytest.raises(ValueError, match="no strength"):
        state.renew("fit", 2, lambda: None, at_once=True)
    state.renew("fit", 2, lambda: None, at_once=True)
    assert len(work) == 2


def test_rows_of_others_do_not_change_what_is_there_for_a_lifter(tmp_path):
    whole = stored.Store(tmp_path / "club.duckdb")
    for number, code in enumerate(("AA1", "BB2")):
        stored.add_person(whole, f"{code}@club.test", "lifter", [code])
        _bring_in(whole, tmp_path / f"{number}.csv", code)
    first, second = (
        whole.asked_by(stored.asking_of(whole, f"{code}@club.test"))
        for code in ("AA1", "BB2")
    )
    before = [stored.rows_hash(one) for one in (first, second)]
    assert before[0] != before[1]
    _bring_in(whole, tmp_path / "more.csv", "BB2", load_kg=41)
    after = [stored.rows_hash(one) for one in (first, second)]
    assert after[0] == before[0]
    assert after[1] != before[1]
    key = stored.sets(first)["set_id"].iloc[0]
    stored.edit_set(first, key, reps=7)
    assert stored.rows_hash(first) != before[0]
    assert stored.rows_hash(second) == after[1]


def _bring_in(store, path, code, *, load_kg=40):
    path.write_text(f"{HEADER}{code},2024-02-01,hammer curl,{load_kg},8,2\n", "utf-8")
    take_in(store, path)
