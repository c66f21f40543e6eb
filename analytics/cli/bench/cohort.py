"""The benchmark of the cohort: sets by workers, beside the same on one machine.

``python -m analytics.cli.bench.cohort [SETS ...]`` prints time, peak memory
of a worker, and the ratio to reading and fitting the same logs in one store.
"""

from __future__ import annotations

import multiprocessing
import sys
import tempfile
import threading
import time
from collections.abc import Callable
from functools import partial
from pathlib import Path

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


def _one_machine(paths: list[Path], folder: Path) -> None:
    store = Store(folder / "one.duckdb")
    for path in paths:
        intake.take_in(store, path)
    reports.research_tables(store)


def _alone(paths: list[Path], folder: Path) -> tuple[float, float]:
    """Seconds and peak memory of the same on one machine, in a fresh process."""
    began = time.monotonic()
    context = multiprocessing.get_context("spawn")
    child = context.Process(target=_one_machine, args=(paths, folder))
    child.start()
    child.join()
    if child.exitcode:
        raise RuntimeError(f"the one-machine path ended with {child.exitcode}")
    import resource  # not on Windows

    peak_kb = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss
    return time.monotonic() - began, peak_kb / 1024


def _watched(run: Callable[[], object]) -> tuple[float, float]:
    """Seconds, and the most memory any process below this one held at a time."""
    over, peak = threading.Event(), [0]

    def watch() -> None:
        while not over.wait(0.2):
            for child in psutil.Process().children(recursive=True):
                try:
                    peak[0] = max(peak[0], child.memory_info().rss)
                except psutil.NoSuchProcess:
                    continue

    watcher = threading.Thread(target=watch)
    watcher.start()
    began = time.monotonic()
    try:
        run()
    finally:
        took = time.monotonic() - began
        over.set()
        watcher.join()
    return took, peak[0] / 2**20


def main(sizes: list[int]) -> None:
    """Print a row for each size and number of workers.

    Parameters
    ----------
    sizes : list of int
        Sets.
    """
    rows = []
    for n_sets in sizes:
        with tempfile.TemporaryDirectory() as name:
            folder = Path(name)
            files = max(4, n_sets // 250_000)
            paths = write_logs(folder, n_sets // SETS_EACH, files=files)
            alone_s, alone_mb = _alone(paths, folder)
            for workers in (1, 2):
                out, logs = str(folder / f"out {workers}"), [str(p) for p in paths]
                run = partial(run_cohort, logs, out, workers=workers)
                took_s, worker_mb = _watched(run)
                rows.append(
                    {"sets": n_sets, "workers": workers, "seconds": took_s,
                     "worker_peak_mb": worker_mb, "one_machine_s": alone_s,
                     "one_machine_peak_mb": alone_mb, "ratio": took_s / alone_s}
                )  # fmt: skip
                print(pd.DataFrame(rows).round(2).to_string(), flush=True)


if __name__ == "__main__":
    main([int(float(text)) for text in sys.argv[1:]] or [1_000_000])
