"""What the page of the curve test shows: test, direct points, sticking, traces."""

import hashlib
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pandas as pd

from analytics import evidence, traces
from analytics import store as stored
from analytics.catalogue import load_catalogue
from analytics.cli import rep_log
from analytics.evidence import CurveTest
from app.fits import fit_key, test_key
from app.state import Choice, cached, chosen, read, sets, stamp, store, variant_titles


def held_loads(test: CurveTest) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Return held loads by joint angle, and what the three shapes predict for them."""
    key = test_key(chosen())
    return cached("held_loads", key, lambda: evidence.held_loads(test))


def chance(test: CurveTest) -> str:
    """Say how well the log fits the curve, as a p value."""
    return evidence.p_in_words(test.p_value)


_QUANTITIES = {
    "peak_deg": "angle of greatest strength",
    "plateau_deg": "width within 5 % of the peak",
    "fall_per_10_deg": "steepest loss per 10° beyond the peak",
    "extremes_over_middle": "mean of both ends ÷ middle",
    "low_end_over_middle": "straight end ÷ middle",
    "high_end_over_middle": "bent end ÷ middle",
    "dip_frac": "largest dip",
}


def quantities(rows: pd.DataFrame) -> pd.DataFrame:
    """Return a table of quantities with their names and units for people."""
    said = rows["quantity"].map(lambda name: _QUANTITIES.get(name, name))
    units = rows["unit"].replace({"deg": "°"})
    return rows.assign(quantity=said, unit=units).drop(columns="sentence")


def weights(test: CurveTest) -> pd.DataFrame:
    """Return the posterior weights of the rival shapes as a table."""
    return pd.DataFrame(
        {"shape": list(test.weights), "weight": list(test.weights.values())}
    )


def winner(test: CurveTest) -> str:
    """Say which way of predicting a left-out variant wins, without the errors."""
    return evidence.left_out_sentence(test.left_out).partition(" (")[0]


def sticking(choice: Choice) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Return the sticking angle three ways and whether the ways agree."""

    def make() -> tuple[pd.DataFrame, pd.DataFrame]:
        rows = sets(choice, lifter=choice.lifter)
        reps = read(stored.reps, lifter=choice.lifter)
        modelled = load_catalogue().modelled
        names = [name for name in rows["variant"].unique() if name in modelled]
        if not names:
            return rows.head(0), rows.head(0)
        table = evidence.sticking(names, sets=rows, reps=reps)
        return table, evidence.sticking_agreement(table)

    return cached("sticking", (*fit_key(choice), choice.lifter, stamp()), make)


def trace(name: str, content: bytes) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Read a trace file: its filtered samples and the repetitions found."""

    def make() -> tuple[pd.DataFrame, pd.DataFrame]:
        stature_m = rep_log.statures(store())
        with _as_file(name, content) as path:
            rows = traces.read_trace(path)
        looked = (
            look(rows, stature_m=stature_m)
            for look in (traces.kinematics, traces.rep_details)
        )
        return tuple(map(_labelled, looked))

    return cached("trace", (hashlib.sha256(content).hexdigest(), stamp()), make)


def store_trace(name: str, content: bytes) -> int:
    """Keep the repetitions of a trace file in the store and count them."""
    with _as_file(name, content) as path:
        return len(rep_log.store_trace(store(), path)[0])


@contextmanager
def _as_file(name: str, content: bytes) -> Iterator[Path]:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / Path(name).name
        path.write_bytes(content)
        yield path


def _labelled(rows: pd.DataFrame) -> pd.DataFrame:
    keys = ("lifter", "performed_on", "exercise", "set")
    named = rows.replace({"exercise": variant_titles()})
    words = [named[key].astype("string").fillna("") for key in keys]
    label = words[0].str.cat(words[1:], sep=" · ").str.strip(" ·")
    return rows.drop(columns=list(keys)).assign(recorded=label)
