"""What everybody's first pages share is done from the server's start."""

from __future__ import annotations

from concurrent.futures import Future

import pandas as pd
import pytest

from analytics import advice
from analytics.intake import take_in
from analytics.store import Store
from analytics.strength import saved_fit
from app import ahead, state, worker
from app.views.next_session import needs

HEADER = "lifter,date,exercise,load_kg,reps,rir\n"


@pytest.fixture
def done(monkeypatch):
    """Stand for the process beside: does a piece when it is handed over."""
    pieces: list[Future] = []

    def submit(work) -> Future:
        assert all(piece.done() for piece in pieces)  # visitors go between
        pieces.append(Future())
        pieces[-1].set_result(work())
        return pieces[-1]

    monkeypatch.setattr(worker, "submit", submit)
    yield pieces
    state.clear_cache()


def test_fit_and_what_exercises_ask_are_there_before_anybody_comes(
    done, tmp_path, monkeypatch
):
    path = tmp_path / "club.duckdb"
    log = tmp_path / "log.csv"
    log.write_text(
        HEADER
        + "".join(
            f"{who},2025-03-{day:02d},{name},{load},8,2\n"
            for who in ("R01", "R02")
            for day in range(1, 9)
            for name, load in (("standing barbell curl", 30), ("preacher curl", 20))
        )
    )
    take_in(Store(path), log)
    monkeypatch.setenv("LACERTUS_STORE", str(path))
    monkeypatch.setattr(ahead.evidence, "draw_ahead", lambda fit: [lambda: None] * 3)
    ahead.work()
    fit = saved_fit(Store(path), "elbow_flexion")
    key, _ = needs.facts_of(fit, advice.measured_body(pd.DataFrame())[0])
    assert state.is_cached("variant_facts", key)
    assert len(done) == 5  # the fit, three pieces, what exercises ask


def test_without_a_store_there_is_nothing_to_do(done, tmp_path, monkeypatch):
    monkeypatch.setenv("LACERTUS_STORE", str(tmp_path / "none.duckdb"))
    ahead.work()
    assert not done
    assert not list(tmp_path.iterdir())


def test_a_store_that_cannot_be_read_ends_it_quietly(done, tmp_path, monkeypatch):
    broken = tmp_path / "broken.duckdb"
    broken.write_bytes(b"no store" * 4000)
    monkeypatch.setenv("LACERTUS_STORE", str(broken))
    ahead.work()
    assert not done
