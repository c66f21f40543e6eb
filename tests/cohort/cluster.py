"""A Dask cluster in a process of its own: prints its address, ends with its input."""

import sys

import dask
from distributed import LocalCluster

from analytics.cohort.engine import PATIENT

if __name__ == "__main__":
    with (
        dask.config.set(PATIENT),
        LocalCluster(
            n_workers=2,
            threads_per_worker=1,
            dashboard_address="127.0.0.1:0",
            host="127.0.0.1",
            silence_logs="CRITICAL",
        ) as cluster,
    ):
        print(cluster.scheduler_address, flush=True)
        sys.stdin.read()
