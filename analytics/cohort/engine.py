"""Dask as it is used here: its workers, and that they compute as this machine does."""

import importlib.metadata
import os
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache

import dask
from distributed import Client, LocalCluster

from analytics.errors import InputError
from analytics.strength.model.cache import code_hash

LIBRARIES = ("duckdb", "numpy", "pandas", "pyarrow", "scipy")
# A worker may be killed, by the system or by hand, more often than Dask puts up with.
PATIENT = {"distributed.scheduler.allowed-failures": 20}


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
                silence_logs="ERROR",
            ) as cluster,
            Client(cluster, set_as_default=False) as client,
        ):
            yield client
