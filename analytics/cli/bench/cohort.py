"""The benchmark of the cohort: sets by workers, beside the same on one machine.

``python -m analytics.cli.bench.cohort [SETS ...] [--workers N ...]`` prints time,
processor time and peak memory, and the same of reading and fitting these logs in one
store. Every worker and the one machine have one core: threads of all libraries are one.
Making the logs and starting interpreters are outside of the time.
"""

from __future__ import annotations

import argparse
import multiprocessing
import os
import shutil
import sys
import tempfile
import threading
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from itertools import pairwise
from multiprocessing.connection import Connection
from pathlib import Path
from unittest import mock

import numpy as np
import pandas as pd
import psutil

from analytics import intake, reports
from analytics.catalogue import load_catalogue, main_movement
from analytics.cohort import run_cohort
from analytics.outgoing import frame_csv
from analytics.store import Store

SEED = 20261127
SETS_EACH = 500  # of a lifter
ONE_CORE = {"OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1"}  # as Dask's workers
EFFECTS = (0.0, -0.3, 0.02, -0.05, -0.15, -0.2)  # log ratios of as many variants


def write_logs(
    folder: Path, lifters: int, *, files: int = 4, sets_each: int = SETS_EACH
) -> list[Path]:
    """Write an invented federation's logs.

    Parameters
    ----------
    folder : Path
        Where.
    lifters : int
        How many.
    files : int
        Over which their sets are spread. [1]
    sets_each : int
        Of a lifter. [1]

    Returns
    -------
    paths : list of Path
    """
    rng = np.random.default_rng(SEED)
    known = load_catalogue().modelled_in(main_movement({}))
    names = np.array(known[: len(EFFECTS)])
    each = -(-lifters // files)
    paths = []
    for number in range(files):
        mine = np.arange(number * each, min(lifters, (number + 1) * each))
        n = len(mine) * sets_each
        at = np.repeat(np.arange(len(mine)), sets_each)
        day = np.tile(np.arange(sets_each) // 6 * 3, len(mine))
        done = rng.integers(0, len(names), n)
        own = rng.normal(3.5, 0.25, len(mine))
        offset = rng.normal(EFFECTS, 0.06, (len(mine), len(names)))
        reps, rir = rng.integers(3, 13, n), rng.integers(0, 4, n)
        level = own[at] + offset[at, done] + 0.0004 * day + rng.normal(0, 0.03, n)
        load = np.exp(level) / (1 + (reps + rir - 1) / 30)
        log = pd.DataFrame(
            {
                "lifter": np.char.mod("L%06d", mine)[at],
                "performed_on": np.datetime64("2024-01-01") + day.astype("m8[D]"),
                "exercise": names[done],
                "load_kg": np.maximum(np.round(load / 0.5) * 0.5, 0.5),
                "reps": reps,
                "rir": np.where(rng.random(n) < 0.7, rir, np.nan),
            }
        )
        path = folder / f"log_{number:03d}.csv"
        path.write_text(frame_csv(log), "utf-8")
        paths.append(path)
    return paths


def _one_machine(paths: list[Path], folder: Path, told: Connection) -> None:
    store, began = Store(folder / "one.duckdb"), time.monotonic()
    for path in paths:
        intake.take_in(store, path)
    reports.research_tables(store)
    me = psutil.Process()
    told.send((time.monotonic() - began, sum(me.cpu_times()[:2])))


def _alone(paths: list[Path], folder: Path) -> dict[str, float]:
    """Cost of the same on one machine, in a fresh process, once it has its imports."""
    context = multiprocessing.get_context("spawn")
    here, there = context.Pipe()
    child = context.Process(target=_one_machine, args=(paths, folder, there))
    with mock.patch.dict(os.environ, ONE_CORE):
        child.start()
    with _peaks() as peak:
        child.join()
    if child.exitcode:
        raise RuntimeError(f"the one-machine path ended with {child.exitcode}")
    seconds, cpu_s = here.recv()
    return {"alone_s": seconds, "alone_cpu_s": cpu_s, "alone_peak_mb": peak["child"]}


@contextmanager
def _peaks() -> Iterator[dict[str, float]]:
    """Most memory of this process and of any below it, and processor time of these."""
    over, me = threading.Event(), psutil.Process()
    found: dict[str, float] = {"driver": 0.0, "child": 0.0}
    cpu_s: dict[int, float] = {}

    def watch() -> None:
        while not over.wait(0.2):
            found["driver"] = max(found["driver"], me.memory_info().rss / 2**20)
            for child in me.children(recursive=True):
                try:
                    held_mb = child.memory_info().rss / 2**20
                    cpu_s[child.pid] = sum(child.cpu_times()[:2])
                except psutil.NoSuchProcess:
                    continue
                found["child"] = max(found["child"], held_mb)
            found["cpu_s"] = sum(cpu_s.values())

    watcher = threading.Thread(target=watch)
    watcher.start()
    try:
        yield found
    finally:
        over.set()
        watcher.join()


class _Clock:
    """Progress: begins once the workers are there, says and keeps the time of steps."""

    def __init__(self) -> None:
        self.began: dict[str, float] = {}

    def __call__(self, step: str, done: int, total: int) -> None:
        self.began.setdefault(step, time.monotonic())
        if not done or done == total:
            passed = time.monotonic() - min(self.began.values())
            print(f"{passed:8.1f} s {step} {done}/{total}", file=sys.stderr, flush=True)

    def steps(self) -> dict[str, float]:
        """Seconds of each step."""
        at = pairwise([*self.began.values(), time.monotonic()])
        return {step: b - a for step, (a, b) in zip(self.began, at, strict=True)}


def _cohort(paths: list[Path], out: Path, workers: int) -> dict[str, float]:
    """Cost of a run, from when its workers have their imports."""
    clock, logs = _Clock(), [str(path) for path in paths]
    before = time.process_time()
    with _peaks() as peak:
        run_cohort(logs, str(out), workers=workers, on_progress=clock)
        steps = clock.steps()
    own_s = time.process_time() - before
    return {"workers": workers, "seconds": sum(steps.values()),
            "workers_cpu_s": peak["cpu_s"], "driver_cpu_s": own_s,
            "worker_peak_mb": peak["child"], "driver_peak_mb": peak["driver"],
            } | {f"{step}_s": took for step, took in steps.items()}  # fmt: skip


def measure(n_sets: int, workers: Sequence[int], *, alone: bool) -> None:
    """Print a row for each number of workers as soon as it is known.

    Parameters
    ----------
    n_sets : int
        Sets.
    workers : sequence of int
        Numbers of workers.
    alone : bool
        Also on one machine, first.
    """
    rows = []
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        files = max(4, n_sets // 250_000)
        paths = write_logs(folder, n_sets // SETS_EACH, files=files)
        one = _alone(paths, folder) if alone else {}
        if one:
            print(pd.DataFrame([{"sets": n_sets} | one]).round(2), flush=True)
        for number in workers:
            out = folder / f"out {number}"
            row = {"sets": n_sets} | one | _cohort(paths, out, number)
            rows.append(row)
            if one:
                row["over_alone"] = row["seconds"] / row["alone_s"]
            row["speed_up"] = rows[0]["seconds"] / row["seconds"]
            print(pd.DataFrame(rows).T.round(2).to_string(header=False), flush=True)
            shutil.rmtree(out)


def main() -> None:
    """Read how many sets and workers."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("sets", nargs="*", type=float, default=[1e6])
    parser.add_argument("--workers", nargs="+", type=int, default=[1, 2])
    parser.add_argument("--no-alone", action="store_true")
    given = parser.parse_args()
    for n_sets in given.sets:
        measure(int(n_sets), given.workers, alone=not given.no_alone)


if __name__ == "__main__":
    main()
