"""Workers that are lost, come late or never, and a scheduler that goes."""

import os
import signal

import psutil
import pytest
from cluster import started
from distributed import Client

from analytics.cohort import engine, run_cohort
from analytics.errors import AnalyticsError

pytestmark = pytest.mark.long
SLOW_START_S = 20  # longer than Dask by itself waits for a worker to come back


def process_ids(scheduler):
    with Client(scheduler, set_as_default=False) as client:
        return set(client.run(os.getpid).values())


def at(step, do):
    """A progress that does something once, when a step begins."""

    def report(now, done, total):
        if (now, done) == (step, 0):
            do()

    return report


def test_a_run_without_workers_ends_with_a_sentence(logs, tmp_path, monkeypatch):
    monkeypatch.setattr(engine, "NO_WORKER_S", 3.0)
    with started(0) as scheduler, pytest.raises(AnalyticsError) as told:
        run_cohort(logs, str(tmp_path / "out"), scheduler=scheduler)
    assert "no worker at the Dask scheduler for 3 s" in str(told.value)
    assert "start what is missing and give the same command again" in str(told.value)


def test_a_scheduler_that_goes_ends_a_run_with_a_sentence(logs, tmp_path):
    with started(1) as scheduler:
        (worker,) = process_ids(scheduler)
        (whole,) = (
            p for p in psutil.Process().children()
            if worker in {c.pid for c in p.children(recursive=True)}
        )  # fmt: skip

        def end():
            for process in (*whole.children(recursive=True), whole):
                process.send_signal(signal.SIGKILL)

        with pytest.raises(AnalyticsError, match="the Dask scheduler is gone"):
            run_cohort(
                logs, str(tmp_path / "out"), scheduler=scheduler,
                on_progress=at("gather", end),
            )  # fmt: skip


@pytest.mark.slow
def test_workers_that_come_back_late_are_waited_for(logs, tmp_path):
    late = tmp_path / "late.py"
    late.write_text(f"import time\ntime.sleep({SLOW_START_S})\n")
    told = {"DASK_DISTRIBUTED__WORKER__PRELOAD": f"[{str(late)!r}]"}
    with started(2, **told) as scheduler:
        before = process_ids(scheduler)
        assert len(before) == 2

        def kill():
            for number in before:
                os.kill(number, signal.SIGKILL)

        accounts = run_cohort(
            logs, str(tmp_path / "out"), scheduler=scheduler,
            on_progress=at("tell", kill),
        )  # fmt: skip
        assert not before & process_ids(scheduler)
    assert (tmp_path / "out" / "verdict.json").is_file()
    assert accounts["taken"].sum()
