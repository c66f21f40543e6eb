"""A Dask cluster in a process of its own: prints its address, ends with its input."""

import os
import subprocess
import sys
from contextlib import contextmanager
from pathlib import Path

import dask
from distributed import LocalCluster

from analytics.cohort.engine import PATIENT

ROOT = Path(__file__).parents[1]


@contextmanager
def started(workers, **environment):
    """Address of a cluster: in this process, other tests may stop its event loop."""
    running = subprocess.Popen(
        [sys.executable, __file__, str(workers)],
        env={**os.environ, "PYTHONPATH": f"{ROOT}:{ROOT / 'tests'}", **environment},
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
    )  # fmt: skip
    with running:
        yield running.stdout.readline().strip()
        running.stdin.close()


if __name__ == "__main__":
    with (
        dask.config.set(PATIENT),
        LocalCluster(
            n_workers=int(sys.argv[1]),
            threads_per_worker=1,
            dashboard_address="127.0.0.1:0",
            host="127.0.0.1",
            silence_logs="CRITICAL",
        ) as cluster,
    ):
        print(cluster.scheduler_address, flush=True)
        sys.stdin.read()
