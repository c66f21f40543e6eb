"""Reading rep traces: one table of samples, checked before anything is computed.

Files only; resampling and filtering are in `smoothing`.
"""

from itertools import islice
from pathlib import Path

import numpy as np
import pandas as pd

from analytics.errors import FileRefusedError
from analytics.tables import EMPTY, open_sheets, scan
from analytics.tables.bounds import MOST_TRACE_ROWS, too_much

JOINT = "elbow"  # whose angle a trace holds, or a height is read as
KEYS = ["lifter", "performed_on", "exercise", "set"]
SIGNALS = ["elbow_deg", "height_m", "trunk_deg"]
KINDS = (".csv", ".tsv", ".txt", ".xlsx", ".parquet")

# What a joint or a bar can do; wider than any lifter, narrower than a wrong unit.
LARGEST_ELBOW_DEG = 165.0  # Zwerus 2019: active flexion 146 deg in 352 adults
SMALLEST_ELBOW_DEG = -25.0  # the same study: extension to -2 deg
LARGEST_TRUNK_DEG = 120.0
LARGEST_RISE_M = 2.5  # above the arm span of anyone holding a bar
SMALLEST_MOVE = {"elbow_deg": 5.0, "height_m": 0.02}
SLOWEST_SAMPLING_HZ = 10.0  # a 2 s phase needs about 20 samples to show a minimum


def read_trace(
    path: str | Path, *, lifter: str | None = None, exercise: str | None = None
) -> pd.DataFrame:
    """Read samples of one or more sets from a CSV, TSV, XLSX or Parquet file.

    Parameters
    ----------
    path : str or Path
        File with the columns ``lifter, performed_on, exercise, set, time_s``, and
        ``elbow_deg`` or ``height_m`` or both; ``trunk_deg`` may be there too. Decimal
        commas are read as such. An empty cell of a signal is a drop-out. Without
        ``set`` the file is one set, without ``performed_on`` its day is unknown.
    lifter, exercise : str, optional
        For a file without such a column.

    Returns
    -------
    trace : DataFrame
        The named columns, one row per sample, in file order. Angles in degrees,
        0 = straight elbow; heights in metres, upward positive.

    Raises
    ------
    FileRefusedError
        If the file cannot be read, a column is missing, a cell is not a number or a
        date, time does not rise within a set, the unit is not the one the name says,
        or a signal hardly moves.
    """
    path = Path(path)
    frame = _table(path)
    frame.columns = [str(name).strip().lower() for name in frame.columns]
    seen = ", ".join(frame.columns) or "none"
    given = {"lifter": lifter, "exercise": exercise, "set": 1, "performed_on": ""}
    for name, value in given.items():
        if name not in frame and value is not None:
            frame[name] = value
    missing = [name for name in [*KEYS, "time_s"] if name not in frame]
    if not {"elbow_deg", "height_m"} & set(frame):
        missing.append("elbow_deg or height_m")
    if missing:
        raise FileRefusedError(
            f"{path.name}: column {', '.join(missing)} is missing; a trace has "
            f"{', '.join(KEYS)}, time_s and elbow_deg or height_m (trunk_deg may be "
            f"added); found {seen}"
        )
    if frame.empty:
        raise FileRefusedError(f"{path.name}: no samples; one row per sample is needed")
    signals = [name for name in SIGNALS if name in frame]
    frame = frame[[*KEYS, "time_s", *signals]].copy()
    _fill_keys(frame, path)
    for name in ["time_s", *signals]:
        frame[name] = _numbers(frame[name], path)
    if frame["time_s"].isna().any():
        row = int(np.flatnonzero(frame["time_s"].isna())[0])
        raise FileRefusedError(
            f"{path.name}: row {row + 2}, column time_s is empty; every sample needs "
            "its time in seconds"
        )
    for key, block in frame.groupby(KEYS, sort=False, dropna=False):
        _check_set(block, path, f"set {key[3]} of {key[0]} ({key[2]})")
    return frame


def _table(path: Path) -> pd.DataFrame:
    """Read the first table of the file as text; empty cells are missing."""
    suffix = path.suffix.lower()
    if suffix not in KINDS:
        raise FileRefusedError(
            f"{path.name}: cannot read '{suffix}' as a trace; "
            f"accepted are {', '.join(KINDS)}"
        )
    if not path.exists():
        raise FileRefusedError(f"{path}: no such file")
    rows = ((n, r) for n, r in open_sheets(path, scan(path), {})[0].rows() if any(r))
    _, header = next(rows)
    width = len(header)
    table = [
        [*cells, *[""] * (width - len(cells))][:width]
        for _, cells in islice(rows, MOST_TRACE_ROWS + 1)
    ]
    if len(table) > MOST_TRACE_ROWS:
        raise too_much(path.name, "more samples", MOST_TRACE_ROWS)
    frame = pd.DataFrame(table, columns=header, dtype="str")
    return frame.mask(frame.isin(EMPTY))


def _numbers(column: pd.Series, path: Path) -> pd.Series:
    text = column.str.strip().str.replace(",", ".", regex=False)
    numbers = pd.to_numeric(text, errors="coerce").astype(float)
    bad = np.flatnonzero(numbers.isna() & text.notna() & (text != ""))
    if bad.size:
        raise FileRefusedError(
            f"{path.name}: row {bad[0] + 2}, column {column.name}, value "
            f"'{column.iloc[bad[0]]}' is not a number; "
            + (
                "time is told in seconds, like 12.34"
                if column.name == "time_s"
                else "leave the cell empty where the sensor dropped out"
            )
        )
    return numbers.replace([np.inf, -np.inf], np.nan)


def _fill_keys(frame: pd.DataFrame, path: Path) -> None:
    for name in KEYS:
        empty = np.flatnonzero(frame[name].isna())
        if empty.size:
            raise FileRefusedError(
                f"{path.name}: row {empty[0] + 2}, column {name} is empty; every "
                f"sample says its {name}"
            )
    if frame["performed_on"].eq("").all():
        frame["performed_on"] = pd.NaT
    elif not pd.api.types.is_datetime64_any_dtype(frame["performed_on"]):
        text = frame["performed_on"].astype(str)
        days = pd.to_datetime(text, format="ISO8601", errors="coerce")
        bad = np.flatnonzero(days.isna() | ~text.str.match(r"\d{4}-\d\d-\d\d"))
        if bad.size:
            raise FileRefusedError(
                f"{path.name}: row {bad[0] + 2}, column performed_on, value "
                f"'{text.iloc[bad[0]]}' is not a date like 2026-01-31"
            )
        frame["performed_on"] = days
    frame["lifter"] = frame["lifter"].astype(str).str.strip()
    frame["exercise"] = frame["exercise"].astype(str).str.strip()
    number = pd.to_numeric(frame["set"], errors="coerce")
    if number.notna().all():  # 2 comes before 10
        frame["set"] = number.astype("int64" if (number % 1 == 0).all() else "float64")


def _check_set(block: pd.DataFrame, path: Path, label: str) -> None:
    time = block["time_s"].to_numpy()
    step = np.diff(time)
    if (step <= 0).any():
        at = int(np.flatnonzero(step <= 0)[0])
        raise FileRefusedError(
            f"{path.name}: row {block.index[at + 1] + 2}, column time_s, value "
            f"{time[at + 1]:g} comes after {time[at]:g} in {label}; "
            "time must rise from sample to sample within a set"
        )
    if len(time) < 10:
        raise FileRefusedError(
            f"{path.name}: {label} has {len(time)} samples; at least 10 are needed"
        )
    rate_hz = 1 / float(np.median(step))
    if rate_hz < SLOWEST_SAMPLING_HZ:
        hint = "; time_s in milliseconds?" if np.median(step) >= 1 else ""
        raise FileRefusedError(
            f"{path.name}: {label} is sampled at {rate_hz:.3g} Hz; at least "
            f"{SLOWEST_SAMPLING_HZ:g} Hz are needed to see a velocity minimum{hint}"
        )
    usable = [name for name in ("elbow_deg", "height_m") if name in block]
    if block[usable].notna().sum().max() < 10:
        raise FileRefusedError(
            f"{path.name}: {label} has fewer than 10 values in {' and '.join(usable)}"
        )
    for name in block.columns.intersection(SIGNALS):
        _check_signal(block[name].dropna().to_numpy(), name, path, label)


def _check_signal(value: np.ndarray, name: str, path: Path, label: str) -> None:
    if value.size == 0:
        return
    low, high = np.quantile(value, [0.02, 0.98])
    seen = f"{path.name}: column {name} of {label} runs from {low:.4g} to {high:.4g}"
    if name == "height_m":
        if high - low > LARGEST_RISE_M or abs(high) > 2 * LARGEST_RISE_M:
            unit = "millimetres" if high - low > 100 else "centimetres or inches"
            raise FileRefusedError(
                f"{seen}; heights are metres, and no lift moves a bar more than "
                f"{LARGEST_RISE_M:g} m: is this in {unit}?"
            )
    elif name == "elbow_deg":
        if high - low > 0.4 and max(abs(low), abs(high)) <= 1.15 * np.pi:
            raise FileRefusedError(
                f"{seen}; angles are degrees: is this in radians (1 rad = 57.3 deg)?"
            )
        if high > LARGEST_ELBOW_DEG or low < SMALLEST_ELBOW_DEG:
            raise FileRefusedError(
                f"{seen}; an elbow moves between about 0 (straight) and 150 degrees: "
                "an included angle is 180 minus the flexion angle"
            )
    elif max(abs(low), abs(high)) > LARGEST_TRUNK_DEG:
        raise FileRefusedError(
            f"{seen}; the trunk from vertical stays within "
            f"{LARGEST_TRUNK_DEG:g} degrees"
        )
    if name in SMALLEST_MOVE and high - low < SMALLEST_MOVE[name]:
        raise FileRefusedError(
            f"{seen}: a constant signal; a repetition moves at least "
            f"{SMALLEST_MOVE[name]:g} {name.rsplit('_', 1)[1]}"
        )
