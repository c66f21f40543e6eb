"""The sample logs in a fresh store, and what they show in sentences."""

from collections.abc import Callable
from importlib.resources import files
from pathlib import Path

import pandas as pd

from analytics import evidence, intake, strength
from analytics import store as storage
from analytics.catalogue import main_movement
from analytics.cli.rep_log import store_trace
from analytics.errors import StoreError
from analytics.store import Store

SAMPLE_LOGS = Path(str(files("sample_logs")))


def build(
    store: Store, *, on_progress: Callable[[int, int], None] | None = None
) -> pd.DataFrame:
    """Fill a fresh store from the invented sample logs.

    Parameters
    ----------
    store : Store
        Replaced if it holds sample logs only.
    on_progress : callable, optional
        Told steps done and steps in all.

    Returns
    -------
    findings : DataFrame
        ``finding``: what the log says, one sentence each.

    Raises
    ------
    StoreError
        If the store holds anything but the sample logs.
    """
    maps = sorted(SAMPLE_LOGS.glob("*.toml"))
    logs = {
        log: column_map
        for column_map in maps
        for log in SAMPLE_LOGS.glob(f"{column_map.stem}.*")
        if log.suffix in (".csv", ".xlsx")
    }
    sample_traces = sorted((SAMPLE_LOGS / "traces").glob("*.csv"))
    _clear(store, {path.name for path in (*logs, *sample_traces)})
    steps = len(logs) + len(sample_traces) + 2

    def tell(done: int) -> None:
        if on_progress:
            on_progress(done, steps)

    for done, (log, column_map) in enumerate(logs.items()):
        tell(done)
        intake.take_in(store, log, column_map=intake.read_column_map(column_map))
    for done, path in enumerate(sample_traces, len(logs)):
        tell(done)
        store_trace(store, path)
    tell(steps - 2)
    logged = storage.movements(store).set_index("movement")["sets"].to_dict()
    fit = strength.fitted(store, main_movement(logged))
    tell(steps - 1)
    test = evidence.curve_test(fit)
    tell(steps)
    return pd.DataFrame({"finding": _findings(store, fit, test)})


def _clear(store: Store, known: set[str]) -> None:
    if not store.exists:
        return
    standing = storage.intakes(store).query("undone_at.isna()")
    own = sorted(set(standing["file"]) - known)
    if own:
        raise StoreError(
            f"store `{store.path}` holds logs of yours ({', '.join(own[:3])}); "
            "the demo would replace it: give another `--store`"
        )
    store.path.with_name(store.path.name + ".wal").unlink(missing_ok=True)
    store.path.unlink()


def _findings(
    store: Store, fit: strength.StrengthFit, test: evidence.CurveTest
) -> list[str]:
    lifters = storage.lifters(store)
    waiting = storage.unnamed(store)
    lines = [
        "The sample logs are invented; nothing here is evidence about anybody.",
        f"Measured: {lifters['sets'].sum():.0f} sets of {len(lifters)} lifters; "
        f"{len(storage.rejected(store))} rows rejected with a reason; "
        f"{len(waiting)} exercise names wait to be named.",
    ]
    lines += [
        f"Estimated: {row.setup} takes {row.ratio:.2f} ({row.low:.2f} to "
        f"{row.high:.2f}) of the load per arm of {row.reference}, "
        f"from {row.sets:.0f} sets of {row.lifters:.0f} "
        f"{'lifter' if row.lifters == 1 else 'lifters'}."
        for row in fit.ratios.itertuples()
        if row.setup != fit.reference
    ]
    lines.append(f"Log against model: {test.verdict}.")
    return lines + [f"  {reason}" for reason in test.reasons]
