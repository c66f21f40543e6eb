"""Rep tables of a trace: what `analyse`, the rep explorer and the set drift show."""

from collections.abc import Iterator, Mapping

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.stats import linregress, t

from analytics.catalogue import STATURE_M, make_body
from analytics.errors import InputError
from analytics.traces.height import HeightPath, elbow_from_height, height_path
from analytics.traces.reading import KEYS, SIGNALS
from analytics.traces.reps import Rep, find_reps
from analytics.traces.smoothing import LARGEST_SPEED, Smoothed, smooth

COLUMNS = [
    "lifter", "exercise", "set", "rep", "start_s", "end_s", "peak1_s", "low_s",
    "peak2_s", "sticking_deg", "sticking_from_deg", "sticking_to_deg",
]  # fmt: skip
SMALLEST_RISE = {"elbow_deg": 8.0, "height_m": 0.03}  # assumed
CHEAT_TRUNK_DEG = 10.0  # assumed: a backward swing beyond this is a cheat
CHEAT_SPEED_M_PER_S = 0.1  # assumed: bar speed reached before the elbow moves
ELBOW_MOVES_DEG_PER_S = 10.0  # assumed
EVENTS = ("start", "peak1", "low", "peak2", "end")


def analyse(
    trace: pd.DataFrame,
    *,
    stature_m: float | Mapping[str, float] = STATURE_M,
    elbow_to_grip_m: float | Mapping[str, float] | None = None,
) -> pd.DataFrame:
    """Reps and sticking regions of every set in a trace.

    Parameters
    ----------
    trace : DataFrame
        As `read_trace` gives it.
    stature_m : float or mapping of lifter to float
        Used for heights only, where the segment length is not measured. [m]
    elbow_to_grip_m : float or mapping of lifter to float, optional
        Elbow axis to the middle of the hand; from stature and the segment
        tables if not given. [m]

    Returns
    -------
    reps : DataFrame
        One row per rep: ``lifter, exercise, set, rep, start_s, end_s, peak1_s, low_s,
        peak2_s, sticking_deg, sticking_from_deg, sticking_to_deg``. NaN from
        ``peak1_s`` on where a rep has no sticking region.

    Raises
    ------
    InputError
        If a height rises more than the exercise's path lifts the bar.

    Notes
    -----
    The sticking region begins at the first velocity maximum and ends at the minimum
    that follows; ``sticking_deg`` is the elbow angle at that minimum, so it equals
    ``sticking_to_deg``. A rep without a minimum between two maxima has none. With
    several minima the deepest is taken. Velocity is that of the measured signal:
    angular for an elbow angle, of the bar for a height.

    References
    ----------
    van_den_tillaar_2014; martinez_cava_2019
    """
    return rep_details(trace, stature_m=stature_m, elbow_to_grip_m=elbow_to_grip_m)[
        COLUMNS
    ]


def rep_details(
    trace: pd.DataFrame,
    *,
    stature_m: float | Mapping[str, float] = STATURE_M,
    elbow_to_grip_m: float | Mapping[str, float] | None = None,
) -> pd.DataFrame:
    """Give the table of `analyse` with what else each rep shows.

    Parameters
    ----------
    trace : DataFrame
        As `read_trace` gives it.
    stature_m : float or mapping of lifter to float
        Used for heights only, where the segment length is not measured. [m]
    elbow_to_grip_m : float or mapping of lifter to float, optional
        Elbow axis to the middle of the hand. [m]

    Returns
    -------
    reps : DataFrame
        Columns of `analyse`, and ``performed_on, from_deg, to_deg, duration_s,
        mean_velocity_deg_per_s, dip_frac`` (fall from the first maximum to the minimum
        as a part of that maximum), ``trunk_swing_deg`` (largest backward swing of the
        trunk), ``early_bar_speed_m_per_s`` (bar speed when the elbow begins to move),
        ``cheat`` (missing where neither was measured), ``gap_frac``, ``reason`` (why
        there is no sticking region).

    Raises
    ------
    InputError
        If a height rises more than the exercise's path lifts the bar.
    """
    rows: list[dict[str, object]] = []
    for key, one in _sets(trace, stature_m, elbow_to_grip_m):
        for number, rep in enumerate(one.reps, 1):
            rows.append(dict(zip(KEYS, key, strict=True)) | one.row(number, rep))
    extra = ["performed_on", "from_deg", "to_deg", "duration_s",
             "mean_velocity_deg_per_s", "dip_frac", "trunk_swing_deg",
             "early_bar_speed_m_per_s", "cheat", "gap_frac", "reason"]  # fmt: skip
    frame = pd.DataFrame(rows, columns=[*COLUMNS, *extra])
    return frame.astype({"cheat": "boolean"})


def kinematics(
    trace: pd.DataFrame,
    *,
    stature_m: float | Mapping[str, float] = STATURE_M,
    elbow_to_grip_m: float | Mapping[str, float] | None = None,
) -> pd.DataFrame:
    """Give the filtered movement with its events, to look at reps one by one.

    Parameters
    ----------
    trace : DataFrame
        As `read_trace` gives it.
    stature_m : float or mapping of lifter to float
        Used for heights only, where the segment length is not measured. [m]
    elbow_to_grip_m : float or mapping of lifter to float, optional
        Elbow axis to the middle of the hand. [m]

    Returns
    -------
    samples : DataFrame
        On an even grid per set: ``lifter, performed_on, exercise, set, time_s,
        elbow_deg, elbow_deg_per_s, elbow_deg_per_s2, height_m, height_m_per_s,
        height_m_per_s2, gap, rep, event, cutoff_hz``. ``rep`` is 0 between reps,
        ``event`` one of start, peak1, low, peak2, end or empty. Height columns are NaN
        for an angle trace; ``gap`` marks drop-outs too long to bridge.

    Raises
    ------
    InputError
        If a height rises more than the exercise's path lifts the bar.
    """
    parts = []
    for key, one in _sets(trace, stature_m, elbow_to_grip_m):
        part = one.samples()
        for at, (name, value) in enumerate(zip(KEYS, key, strict=True)):
            part.insert(at, name, value)
        parts.append(part)
    return pd.concat(parts, ignore_index=True)


def set_drift(details: pd.DataFrame) -> pd.DataFrame:
    """How reps change from the first to the last of each set.

    Parameters
    ----------
    details : DataFrame
        As `rep_details` gives it.

    Returns
    -------
    drift : DataFrame
        One row per set and measure: ``lifter, performed_on, exercise, set, measure,
        reps, per_rep, low, high``: slope of a straight line over the rep number with
        its 90 % interval, for ``duration_s``, ``mean_velocity_deg_per_s``,
        ``to_deg`` and ``sticking_deg``. NaN with fewer than three such reps.
    """
    rows = []
    for key, block in details.groupby(KEYS, sort=False, dropna=False):
        for measure in (
            "duration_s", "mean_velocity_deg_per_s", "to_deg", "sticking_deg",
        ):  # fmt: skip
            known = block[block[measure].notna()]
            slope = half = np.nan
            if len(known) >= 3:
                line = linregress(known["rep"], known[measure])
                slope = float(line.slope)
                half = float(line.stderr * t.ppf(0.95, len(known) - 2))
            rows.append([*key, measure, len(known), slope, slope - half, slope + half])
    columns = [*KEYS, "measure", "reps", "per_rep", "low", "high"]
    return pd.DataFrame(rows, columns=columns)


class _Set:
    """One smoothed set with its reps; `elbow_deg` is known whatever was measured."""

    def __init__(
        self,
        block: dict[str, NDArray[np.float64]],
        exercise: str,
        path: HeightPath,
    ) -> None:
        elbow, height, self.trunk = (self._smooth(block, name) for name in SIGNALS)
        measured = elbow or height
        if measured is None:
            raise InputError("a set needs 10 values of elbow_deg or height_m")
        self.signal = measured
        self.height = height
        name = "elbow_deg" if elbow else "height_m"
        self.reps = find_reps(measured, smallest_rise=SMALLEST_RISE[name])
        self.elbow_deg = (
            measured.position
            if elbow
            else elbow_from_height(measured.position, path, exercise=exercise)
        )
        self.untold = "" if elbow else path.untold()
        self.both = elbow is not None and height is not None

    @staticmethod
    def _smooth(block: dict[str, NDArray[np.float64]], name: str) -> Smoothed | None:
        values = block.get(name)
        if values is None or np.isfinite(values).sum() < 10:
            return None
        return smooth(block["time_s"], values, largest_speed=LARGEST_SPEED[name])

    def row(self, number: int, rep: Rep) -> dict[str, object]:
        time, elbow = self.signal.time_s, self.elbow_deg
        stuck = rep.low is not None

        def at(values: NDArray[np.float64], i: int | None) -> float:
            return float(values[i]) if i is not None else np.nan

        duration = time[rep.end] - time[rep.start]
        speed = self.signal.velocity
        swing, early = self._cheat(rep)
        known = not (np.isnan(swing) and np.isnan(early))
        return {
            "rep": number,
            "start_s": np.nan if self.signal.gap[rep.start] else time[rep.start],
            "end_s": np.nan if self.signal.gap[rep.end] else time[rep.end],
            "peak1_s": at(time, rep.peak1),
            "low_s": at(time, rep.low),
            "peak2_s": at(time, rep.peak2),
            "sticking_deg": at(elbow, rep.low),
            "sticking_from_deg": at(elbow, rep.peak1),
            "sticking_to_deg": at(elbow, rep.low),
            "from_deg": elbow[rep.start],
            "to_deg": elbow[rep.end],
            "duration_s": duration,
            "mean_velocity_deg_per_s": (elbow[rep.end] - elbow[rep.start]) / duration,
            "dip_frac": 1 - at(speed, rep.low) / at(speed, rep.peak1)
            if stuck
            else np.nan,
            "trunk_swing_deg": swing,
            "early_bar_speed_m_per_s": early,
            "cheat": (swing > CHEAT_TRUNK_DEG or early > CHEAT_SPEED_M_PER_S)
            if known
            else pd.NA,
            "gap_frac": float(self.signal.gap[rep.start : rep.end + 1].mean()),
            "reason": self._reason(rep),
        }

    def _reason(self, rep: Rep) -> str | None:
        """Say why a rep has no sticking angle."""
        if rep.low is None or np.isfinite(self.elbow_deg[rep.low]):
            return rep.reason
        return (
            f"the bar passes the height of {self.untold} of the elbow more than once "
            "on this exercise's path, so that height does not tell the angle"
        )

    def _cheat(self, rep: Rep) -> tuple[float, float]:
        """Backward trunk swing, and bar speed when the elbow begins to move."""
        time = self.signal.time_s
        swing = early = np.nan
        before = max(0, rep.start - round(0.5 * self.signal.rate_hz))
        if self.trunk is not None:
            trunk = np.interp(
                time[before : rep.end + 1], self.trunk.time_s, self.trunk.position
            )
            swing = float(np.max(np.maximum.accumulate(trunk) - trunk))
        if self.both and self.height is not None:
            speed = np.interp(time, self.height.time_s, self.height.velocity)
            moving = self.signal.velocity[before : rep.end] > ELBOW_MOVES_DEG_PER_S
            first = before + int(np.argmax(moving)) if moving.any() else rep.start
            early = float(speed[before : first + 1].max())
        return swing, early

    def samples(self) -> pd.DataFrame:
        of = self.signal
        rate = np.gradient(self.elbow_deg, of.time_s)
        frame = pd.DataFrame(
            {
                "time_s": of.time_s,
                "elbow_deg": self.elbow_deg,
                "elbow_deg_per_s": rate,
                "elbow_deg_per_s2": np.gradient(rate, of.time_s),
            }
        )
        for name, values in (
            ("height_m", "position"),
            ("height_m_per_s", "velocity"),
            ("height_m_per_s2", "acceleration"),
        ):
            frame[name] = (
                np.interp(of.time_s, self.height.time_s, getattr(self.height, values))
                if self.height is not None
                else np.nan
            )
        number = np.zeros(len(of.time_s), dtype=int)
        event = np.full(len(of.time_s), "", dtype=object)
        for i, rep in enumerate(self.reps, 1):
            number[rep.start : rep.end + 1] = i
            for name in EVENTS:
                if (where := getattr(rep, name)) is not None:
                    event[where] = name
        return frame.assign(gap=of.gap, rep=number, event=event, cutoff_hz=of.cutoff_hz)


def _sets(
    trace: pd.DataFrame,
    stature_m: float | Mapping[str, float],
    elbow_to_grip_m: float | Mapping[str, float] | None,
) -> Iterator[tuple[tuple[object, ...], _Set]]:
    """Each set of a trace with its key, smoothed and cut into reps."""
    names = trace.columns.intersection(["time_s", *SIGNALS])
    columns = {name: trace[name].to_numpy(dtype=float) for name in names}
    groups = trace.groupby(KEYS, sort=False, dropna=False).indices
    for key, rows in groups.items():
        lifter = str(key[0])
        grip = elbow_to_grip_m
        if isinstance(grip, Mapping):
            grip = grip.get(lifter)
        stature = stature_m
        if isinstance(stature, Mapping):
            stature = stature.get(lifter, STATURE_M)
        block = {name: values[rows] for name, values in columns.items()}
        body, exercise = make_body(stature_m=stature), str(key[2])
        grip = grip or body.grip_m
        path = height_path(exercise, body=body, elbow_to_grip_m=grip)
        yield key, _Set(block, exercise, path)
