"""The benchmark: our tasks beside general libraries doing the same, in one run.

Every task runs in a fresh process, so that its peak memory is its own.  Inputs are
invented, from fixed seeds.
"""

import multiprocessing
import resource
import tempfile
import time
import warnings
from collections.abc import Callable
from pathlib import Path
from typing import Any

import duckdb
import numpy as np
import pandas as pd

from analytics import intake, mechanics
from analytics.catalogue import load_catalogue
from analytics.store import Store
from analytics.strength.linear import fit_linear
from analytics.strength.panel import Panel

SEED = 20260101
TYPED_COLUMNS = {
    "lifter": "VARCHAR",
    "performed_on": "DATE",
    "exercise": "VARCHAR",
    "load_kg": "DOUBLE",
    "reps": "DOUBLE",
    "rir": "DOUBLE",
}
COLUMNS = ["task", "ours_s", "other", "other_s", "ratio", "peak_mb"]


def _write_log(path: Path, n_sets: int) -> None:
    rng = np.random.default_rng(SEED)
    names = np.array(load_catalogue().modelled)
    pd.DataFrame(
        {
            "lifter": np.char.mod("L%05d", rng.integers(0, n_sets // 500 + 1, n_sets)),
            "performed_on": np.datetime64("2024-01-01")
            + rng.integers(0, 700, n_sets).astype("timedelta64[D]"),
            "exercise": names[rng.integers(0, len(names), n_sets)],
            "load_kg": rng.integers(8, 120, n_sets) * 0.5,
            "reps": rng.integers(3, 13, n_sets),
            "rir": rng.integers(0, 5, n_sets),
        }
    ).to_csv(path, index=False)


def _take_in(path: Path) -> None:
    intake.take_in(Store(path.with_suffix(".duckdb")), path)


def _read_with_duckdb(path: Path) -> None:
    with duckdb.connect(str(path.with_suffix(".raw.duckdb"))) as con:
        con.read_csv(str(path), columns=TYPED_COLUMNS, header=True).create("raw")
        con.execute("CHECKPOINT")


def _read_with_pandas(path: Path) -> None:
    pd.read_csv(path, parse_dates=["performed_on"])


def _panel(n_lifters: int = 2000, n_weeks: int = 20) -> pd.DataFrame:
    """Log strength of lifters x variants x weeks, balanced, no sets behind it."""
    rng = np.random.default_rng(SEED)
    effect = np.array([0.0, -0.08, -0.15, 0.05, -0.22, 0.12])
    lifter, variant, week = np.meshgrid(
        np.arange(n_lifters), np.arange(len(effect)), np.arange(n_weeks), indexing="ij"
    )
    own = rng.normal(0, 0.25, n_lifters)
    offset = rng.normal(0, 0.06, (n_lifters, len(effect)))
    logs = 3.4 + effect[variant] + 0.0025 * week + own[lifter]
    logs = logs + offset[lifter, variant] + rng.normal(0, 0.045, lifter.shape)
    return pd.DataFrame(
        {
            "lifter": lifter.ravel(),
            "variant": variant.ravel(),
            "week": week.ravel(),
            "logs": logs.ravel(),
        }
    )


def _fit_mixed_model() -> None:
    rows = _panel()
    n = len(rows)
    lifter = rows["lifter"].to_numpy()
    fit_linear(
        Panel(
            cell_of_set=np.arange(n),
            lifter_of_set=lifter,
            lifter_of_cell=lifter,
            day_of_cell=rows.groupby("lifter").cumcount().to_numpy(),
            setup_of_cell=rows["variant"].to_numpy(),
            weeks_of_cell=rows["week"].to_numpy(float),
            cell_terms=np.zeros((n, 0)),
            set_terms=np.zeros((n, 0)),
            n_setups=6,
            days=False,
            slope=False,
            setups=True,
            setup_slopes=False,
            setup_means=True,
            mean_slope=True,
        ),
        rows["logs"].to_numpy(),
        free=("level_sd", "setup_sd", "set_sd"),
        start={"level_sd": 0.3, "setup_sd": 0.1, "set_sd": 0.1},
    )


def _fit_with_statsmodels() -> None:
    from statsmodels.regression.mixed_linear_model import MixedLM

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        MixedLM.from_formula(
            "logs ~ C(variant) + week",
            _panel(),
            groups="lifter",
            re_formula="1",
            vc_formula={"cell": "0 + C(variant)"},
        ).fit(method=["lbfgs"])


def _draw_limits() -> None:
    setups = load_catalogue().modelled
    mechanics.log_ratio_draws(setups, reference=setups[0], n_draws=10_000, seed=SEED)


def _run(task: Callable[..., Any], arguments: tuple[Any, ...], pipe: Any) -> None:
    started = time.perf_counter()
    task(*arguments)
    seconds = time.perf_counter() - started
    peak_kb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    pipe.send((seconds, peak_kb / 1024))


def _measure(task: Callable[..., Any] | None, *arguments: Any) -> tuple[float, float]:
    """Seconds and peak MB of one task in a process of its own; NaN for none."""
    if task is None:
        return float("nan"), float("nan")
    context = multiprocessing.get_context("spawn")
    receiving, sending = context.Pipe(duplex=False)
    process = context.Process(target=_run, args=(task, arguments, sending))
    process.start()
    sending.close()
    try:
        measured: tuple[float, float] = receiving.recv()
    except EOFError:  # the task failed, as without an optional library
        measured = float("nan"), float("nan")
    finally:
        process.join()
    return measured


def run(
    n_sets: int, *, on_progress: Callable[[int, int], None] | None = None
) -> pd.DataFrame:
    """Time our tasks and, beside them, general libraries doing the same.

    Parameters
    ----------
    n_sets : int
        Size of the log that is taken in.
    on_progress : callable, optional
        Told tasks done and tasks in all.

    Returns
    -------
    table : DataFrame
        ``task, ours_s, other, other_s, ratio, peak_mb``; ``ratio`` is ours over
        theirs, ``peak_mb`` ours. NaN where there is nothing to compare with or the
        other library is not installed.
    """
    with tempfile.TemporaryDirectory() as folder:
        log = Path(folder) / "log.csv"
        # In a process of its own too: a child begins with its parent's peak memory.
        _measure(_write_log, log, n_sets)
        size = f"{n_sets:,} sets"
        tasks: list[tuple[str, Any, tuple[Any, ...], str, Any]] = [
            (f"take in {size}", _take_in, (log,), "duckdb", _read_with_duckdb),
            (f"take in {size} again", _take_in, (log,), "pandas", _read_with_pandas),
            ("mixed model, 240,000 rows", _fit_mixed_model, (), "statsmodels",
             _fit_with_statsmodels),
            ("10,000 draws of limit loads", _draw_limits, (), "", None),
        ]  # fmt: skip
        rows = []
        for done, (task, ours, arguments, other, theirs) in enumerate(tasks):
            if on_progress:
                on_progress(done, len(tasks))
            ours_s, peak_mb = _measure(ours, *arguments)
            other_s, _ = _measure(theirs, *arguments)
            rows.append((task, ours_s, other, other_s, ours_s / other_s, peak_mb))
    return pd.DataFrame(rows, columns=COLUMNS)
