"""The benchmark: our tasks beside general libraries doing the same, in one run.

Every task runs in a fresh process, so that its peak memory is its own.
"""

import multiprocessing
import tempfile
import time
import warnings
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any

import duckdb
import numpy as np
import pandas as pd
from numpy.typing import NDArray
from threadpoolctl import threadpool_limits

from analytics import intake, mechanics
from analytics.catalogue import load_catalogue, main_movement
from analytics.outgoing import frame_csv
from analytics.store import Store
from analytics.strength.core.linear import fit_linear
from analytics.strength.core.panel import Panel

Floats = NDArray[np.float64]
Task = Callable[[], object]  # what is timed; its result is kept if it is a number

SEED = 20260101
TYPED_COLUMNS = {
    "lifter": "VARCHAR",
    "performed_on": "DATE",
    "exercise": "VARCHAR",
    "load_kg": "DOUBLE",
    "reps": "DOUBLE",
    "rir": "DOUBLE",
}
MOVEMENT = main_movement({})
COLUMNS = ["task", "ours_s", "other", "other_s", "ratio", "peak_mb"]


def _write_log(path: Path, n_sets: int) -> None:
    rng = np.random.default_rng(SEED)
    names = np.array(load_catalogue().modelled_in(MOVEMENT))
    log = pd.DataFrame(
        {
            "lifter": np.char.mod("L%05d", rng.integers(0, n_sets // 500 + 1, n_sets)),
            "performed_on": np.datetime64("2024-01-01")
            + rng.integers(0, 700, n_sets).astype("timedelta64[D]"),
            "exercise": names[rng.integers(0, len(names), n_sets)],
            "load_kg": rng.integers(8, 120, n_sets) * 0.5,
            "reps": rng.integers(3, 13, n_sets),
            "rir": rng.integers(0, 5, n_sets),
        }
    )
    path.write_text(frame_csv(log), "utf-8")


def _take_in(path: Path) -> Task:
    return partial(intake.take_in, Store(path.with_suffix(".duckdb")), path)


def _read_with_duckdb(path: Path) -> Task:
    def read() -> None:
        with duckdb.connect(str(path.with_suffix(".raw.duckdb"))) as con:
            con.read_csv(str(path), columns=TYPED_COLUMNS, header=True).create("raw")
            con.execute("CHECKPOINT")

    return read


def _read_with_pandas(path: Path) -> Task:
    return partial(pd.read_csv, path, parse_dates=["performed_on"])


def balanced_panel(n_lifters: int = 2000, n_weeks: int = 20) -> pd.DataFrame:
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


def closed_form(rows: pd.DataFrame) -> Floats:
    """Estimates of a balanced panel by analysis of variance, which REML equals.

    Parameters
    ----------
    rows : DataFrame
        From :func:`balanced_panel`.

    Returns
    -------
    estimates : ndarray, shape (4,)
        Variance between lifters, between a lifter's variants, of the rest; mean
        slope per week.
    """
    n, v, w = (rows[k].nunique() for k in ("lifter", "variant", "week"))
    cube = rows["logs"].to_numpy().reshape(n, v, w)
    cell, lifter = cube.mean(2), cube.mean((1, 2))
    x = np.arange(w) - (w - 1) / 2
    slope = (cube * x).sum() / (n * v * (x**2).sum())
    within = ((cube - cell[..., None] - slope * x) ** 2).sum() / (n * v * (w - 1) - 1)
    both = cell - lifter[:, None] - cube.mean((0, 2)) + cube.mean()
    by_cell = w * (both**2).sum() / ((n - 1) * (v - 1))
    by_lifter = v * w * ((lifter - cube.mean()) ** 2).sum() / (n - 1)
    variances = [(by_lifter - by_cell) / (v * w), (by_cell - within) / w, within]
    return np.array([*variances, slope])


def fit_ours(rows: pd.DataFrame) -> Floats:
    """Estimates of a panel by the linear part of the strength model.

    A lifter's sets of one variant are one cell, as the sets of one day are in the
    full model; the week is a term that differs between the sets of a cell.
    """
    lifter = rows["lifter"].to_numpy()
    variant = rows["variant"].to_numpy()
    n_setups = int(variant.max()) + 1
    first = np.diff(lifter * n_setups + variant, prepend=-1) != 0
    n_cells = int(first.sum())
    with threadpool_limits(1):  # as around the fit of a log
        fit = fit_linear(
            Panel(
                cell_of_set=np.cumsum(first) - 1,
                lifter_of_set=lifter,
                lifter_of_cell=lifter[first],
                day_of_cell=np.zeros(n_cells, dtype=np.int64),
                setup_of_cell=variant[first],
                weeks_of_cell=np.zeros(n_cells),
                cell_terms=np.zeros((n_cells, 0)),
                set_terms=rows[["week"]].to_numpy(float),
                n_setups=n_setups,
                mean_set_terms=(0,),
                days=False,
                slope=False,
                setup_slopes=False,
                mean_slope=False,
            ),
            rows["logs"].to_numpy(),
            free=("level_sd", "setup_sd", "set_sd"),
            start={"level_sd": 0.3, "setup_sd": 0.1, "set_sd": 0.1},
        )
    spread = [fit.values[k] ** 2 for k in ("level_sd", "setup_sd", "set_sd")]
    return np.array([*spread, fit.fixed_mean[-1]])


def fit_statsmodels(rows: pd.DataFrame) -> Floats:
    """Estimates of a panel by the general mixed-model library, as it recommends."""
    from statsmodels.regression.mixed_linear_model import MixedLM

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        fit = MixedLM.from_formula(
            "logs ~ C(variant) + week",
            rows,
            groups="lifter",
            re_formula="1",
            vc_formula={"cell": "0 + C(variant)"},
        ).fit(method=["lbfgs"])
    spread = [fit.cov_re.iloc[0, 0], fit.vcomp[0], fit.scale]
    return np.array([*spread, fit.fe_params["week"]])


def _off(fit: Callable[[pd.DataFrame], Floats]) -> Task:
    """Relative distance of the estimates from the closed form."""
    fit(balanced_panel(20))  # imports are not what is timed
    rows = balanced_panel()
    exact = closed_form(rows)
    return lambda: float(np.abs(fit(rows) / exact - 1).max())


def _draw_limits() -> Task:
    setups = load_catalogue().modelled_in(MOVEMENT)
    return partial(
        mechanics.log_ratio_draws,
        setups,
        reference=setups[0],
        n_draws=10_000,
        seed=SEED,
    )


def _run(prepare: Callable[..., Task], arguments: tuple[Any, ...], pipe: Any) -> None:
    import resource  # not on Windows

    task = prepare(*arguments)
    started = time.perf_counter()
    result = task()
    seconds = time.perf_counter() - started
    peak_kb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    pipe.send((seconds, peak_kb / 1024, result if isinstance(result, float) else None))


def _measure(
    prepare: Callable[..., Task] | None, *arguments: Any
) -> tuple[float, float, float | None]:
    """Seconds, peak MB and result of one task in a process of its own; NaN for none."""
    missing = float("nan"), float("nan"), None
    if prepare is None:
        return missing
    context = multiprocessing.get_context("spawn")
    receiving, sending = context.Pipe(duplex=False)
    process = context.Process(target=_run, args=(prepare, arguments, sending))
    process.start()
    sending.close()
    try:
        measured: tuple[float, float, float | None] = receiving.recv()
    except EOFError:  # the task failed, as without an optional library
        measured = missing
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
        other library is not installed. The mixed models tell how far their estimates
        lie from the closed form.
    """
    with tempfile.TemporaryDirectory() as folder:
        log = Path(folder) / "log.csv"
        # In a process of its own too: a child begins with its parent's peak memory.
        _measure(partial, _write_log, log, n_sets)
        size = f"{n_sets:,} sets"
        tasks: list[tuple[str, Any, tuple[Any, ...], str, Any]] = [
            (f"take in {size}", _take_in, (log,), "duckdb", _read_with_duckdb),
            (f"take in {size} again", _take_in, (log,), "pandas", _read_with_pandas),
            ("mixed model, 240,000 rows", partial(_off, fit_ours), (), "statsmodels",
             partial(_off, fit_statsmodels)),
            ("10,000 draws of limit loads", _draw_limits, (), "", None),
        ]  # fmt: skip
        rows = []
        for done, (task, ours, arguments, other, theirs) in enumerate(tasks):
            if on_progress:
                on_progress(done, len(tasks))
            ours_s, peak_mb, off = _measure(ours, *arguments)
            other_s, _, other_off = _measure(theirs, *arguments)
            task += "" if off is None else f", off by {off:.0e}"
            other += "" if other_off is None else f", off by {other_off:.0e}"
            rows.append((task, ours_s, other, other_s, ours_s / other_s, peak_mb))
    return pd.DataFrame(rows, columns=COLUMNS)
