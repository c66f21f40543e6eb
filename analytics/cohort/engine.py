"""Dask as it is used here: its workers, and that they compute as this machine does."""

import importlib.metadata
import os
import time
from collections.abc import Iterator, Sequence
from concurrent.futures import CancelledError
from contextlib import contextmanager
from functools import cache
from typing import Any

import dask
from distributed import Client, Future, KilledWorker, LocalCluster, as_completed

from analytics.errors import AnalyticsError, InputError
from analytics.strength.model.cache import code_hash

LIBRARIES = ("duckdb", "numpy", "pandas", "pyarrow", "scipy")
# A worker may be killed, by the system or by hand, more often than Dask puts up with,
# and a busy machine needs longer to start another than Dask waits for it.
PATIENT = {
    "distributed.scheduler.allowed-failures": 20,
    "distributed.deploy.lost-worker-timeout": "1 hour",
}
NO_WORKER_S = 300.0  # without any worker before a run is given up
LOOK_S = 0.2
AGAIN = (
    "start what is missing and give the same command again: what is finished is kept"
)


@cache
def versions() -> dict[str, str]:
    """Name the program, its data and the libraries that compute."""
    known = {name: importlib.metadata.version(name) for name in LIBRARIES}
    return {"code": code_hash((".",))[:16]} | known


def check_workers(client: Client) -> None:
    """Refuse workers that would compute otherwise than this machine."""
    for address, theirs in client.run(versions).items():
        if theirs != versions():
            other = sorted(k for k in theirs if theirs[k] != versions().get(k))
            raise InputError(
                f"worker {address} has another version of {', '.join(other)}; install "
                "the same on every machine"
            )


@contextmanager
def client_of(scheduler: str | None, workers: int | None) -> Iterator[Client]:
    """Open a scheduler, or a cluster on this machine.

    Parameters
    ----------
    scheduler : str or None
        Address; without, the cores of this machine.
    workers : int or None
        On this machine. [1]

    Yields
    ------
    client : Client
        Closed at the end, the cluster with it.

    Raises
    ------
    InputError
        If no scheduler answers.
    """
    with dask.config.set(PATIENT):
        if scheduler:
            try:
                with Client(scheduler, timeout=10, set_as_default=False) as client:
                    yield client
            except OSError as error:
                raise InputError(
                    f"no Dask scheduler answers at {scheduler}: {error}"
                ) from error
            return
        with (
            LocalCluster(
                n_workers=workers or os.cpu_count(),
                threads_per_worker=1,
                dashboard_address="127.0.0.1:0",
                host="127.0.0.1",
                security=True,  # keys of this run alone: others are on this machine too
                silence_logs="CRITICAL",  # a task's error is raised where the run is
            ) as cluster,
            Client(cluster, set_as_default=False) as client,
        ):
            yield client


def results(
    client: Client, futures: Sequence[Future[Any]]
) -> Iterator[tuple[Future[Any], Any]]:
    """Hand over what tasks return as they end.

    Parameters
    ----------
    client : Client
        Their scheduler's.
    futures : sequence of Future
        Tasks.

    Yields
    ------
    future, result
        In the order in which they end.

    Raises
    ------
    AnalyticsError
        If there is no worker for ``NO_WORKER_S``, the scheduler is gone, or a task ends
        one worker after the other.
    """
    waiting, alive = as_completed(futures, loop=client.loop), time.monotonic()
    try:
        while not waiting.is_empty():
            ended = waiting.next_batch(block=False)
            for future in ended:
                yield future, future.result()
            if ended or client.scheduler_info(n_workers=1)["workers"]:
                alive = time.monotonic()
            elif time.monotonic() - alive > NO_WORKER_S:
                raise AnalyticsError(
                    f"no worker at the Dask scheduler for {NO_WORKER_S:.0f} s; {AGAIN}"
                )
            time.sleep(0 if ended else LOOK_S)
    except CancelledError as error:
        raise AnalyticsError(f"the Dask scheduler is gone; {AGAIN}") from error
    except KilledWorker as error:
        raise AnalyticsError(
            "a task ended one worker after the other, most likely for want of memory; "
            "give each worker more and the same command again: what is finished is kept"
        ) from error
