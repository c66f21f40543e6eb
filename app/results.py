"""What pages ask of the fit and the curve test, and of recorded repetitions."""

import hashlib
import tempfile
from collections.abc import Hashable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from functools import partial
from pathlib import Path

import numpy as np
import pandas as pd

from analytics import advice, evidence, mechanics, reports, traces
from analytics import store as stored
from analytics.catalogue import load_catalogue
from analytics.cli import rep_log
from analytics.evidence import (
    CurveTest,
    power_table,
    sets_for_power,
)
from analytics.strength import (
    StrengthFit,
    fit_strength,
    fitted,
    log_gain,
    over_time,
)
from app.figure import counted
from app.state import (
    Choice,
    cached,
    is_cached,
    label,
    lifters,
    progress,
    read,
    sets,
    soon,
    stamp,
    store,
    store_path,
    variant_titles,
)

DESIGNS = ("variants", "with holds")
MOST_OUTLIERS = 4


def fit(choice: Choice) -> StrengthFit | None:
    """Return the strength fit of the chosen movement and dates, None without sets."""
    if not set_count(choice):
        return None

    def make() -> StrengthFit:
        with progress("Estimating strength from the log") as on_progress:
            if choice.since is None:
                return fitted(store(), choice.movement, on_progress=on_progress)
            return fit_strength(
                sets(choice), reference=_reference(choice), on_progress=on_progress
            )

    return cached(*fit_key(choice), make)


def seen(choice: Choice) -> StrengthFit | None:
    """Return of the fit what the chosen lifter may see; all of it for everyone."""
    found = fit(choice)
    if found is None or choice.lifter is None:
        return found
    key = (*fit_key(choice), choice.lifter)
    return cached("seen", key, lambda: reports.seen_by(found, choice.lifter))


def withheld(choice: Choice) -> str:
    """Say what of the fit the chosen lifter does not see; nothing for everyone."""
    return reports.withheld_words(fit(choice), seen(choice))


def set_count(choice: Choice) -> int:
    """Return how many sets of the movement lie within the chosen dates."""
    if choice.since is not None:
        return len(sets(choice))
    rows = read(stored.movements)
    return int(rows.loc[rows["movement"] == choice.movement, "sets"].sum())


def fit_key(choice: Choice) -> tuple[str, Hashable]:
    """Return what makes a fit another fit: store, movement, sets and dates."""
    fingerprint = read(stored.sets_hash, movement=choice.movement)
    dates = (choice.since, choice.until)
    return "fit", (str(store_path()), choice.movement, fingerprint, *dates)


def _reference(choice: Choice) -> str | None:
    known = load_catalogue().movements.get(choice.movement)
    return known.reference if known else None


def of(frame: pd.DataFrame, lifter: str, setup: str | None = None) -> pd.DataFrame:
    """Return the rows of one lifter, and of one setup where one is given."""
    rows = frame[frame["lifter"] == lifter]
    return rows if setup is None else rows[rows["setup"] == setup]


def setups_of(found: StrengthFit, lifter: str | None) -> list[str]:
    """Return setups with strength over time, those with most sets first."""
    points = found.set_points if lifter is None else of(found.set_points, lifter)
    return list(points["setup"].value_counts().index)


def series(
    found: StrengthFit, lifter: str, setup: str, *, reps: int = 1
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Return strength over time and the sets behind it, oldest first."""
    trend, points = of(found.trend, lifter, setup), of(found.set_points, lifter, setup)
    known = of(found.relation, lifter, setup).iloc[0]
    share = np.exp(-log_gain(reps, known["ln_k"], known["shape"]))
    body_kg = points["date"].map(trend.set_index("date")["body_kg"])
    for name in ("implied_kg", "expected_kg"):
        points = points.assign(**{name: (points[name] + body_kg) * share - body_kg})
    return for_reps(found, trend, reps).sort_values("date"), points.sort_values("date")


def for_reps(found: StrengthFit, trend: pd.DataFrame, reps: int) -> pd.DataFrame:
    """Return rows of the trend as loads that can be lifted so many times."""
    kg = ["strength_kg", "low_kg", "high_kg"]
    if reps != 1:
        loads = found.loads.merge(trend[["lifter", "setup"]].drop_duplicates())
        table = over_time([replace(found, trend=trend, loads=loads)], reps=reps)
        trend = trend.assign(**{name: table[name].to_numpy() for name in kg})
    return trend.assign(reps=reps)


def by_repetitions(
    found: StrengthFit, lifter: str, setup: str
) -> tuple[pd.DataFrame, str]:
    """Return how surely each number of repetitions is known, and where best."""
    table = advice.by_repetitions(found, lifter, setup)
    return table, f"{label(setup)}, {advice.known_best(table)}"


def relation(found: StrengthFit, lifter: str, setup: str) -> tuple[pd.DataFrame, str]:
    """Return the repetition relation of one series, and in words."""
    table = advice.relation_curve(found, lifter, setup)
    return table, advice.relation_sentence(found, lifter, setup)


def sentences(found: StrengthFit, lifter: str, setup: str) -> list[str]:
    """Return what the fit says in words: the trend first, then what is weak."""
    slopes = of(found.slopes, lifter, setup)
    rows = advice.in_fractions(slopes).iterrows()
    changed = [advice.change_sentence(row) for _, row in rows]
    weak = of(found.reasons, lifter, setup)["sentence"]
    outliers = set(of(found.outliers, lifter, setup)["sentence"])
    told = [
        *slopes["sentence"],
        *changed,
        *(text for text in weak if text not in outliers),
    ]
    return [text for text in told if text]


def doubts(found: StrengthFit, lifter: str, setup: str) -> list[str]:
    """Return what must stand beside a strength: assumed reserve, outliers."""
    trend = of(found.trend, lifter, setup)
    assumed = (trend["basis"] == advice.ASSUMED).any()
    outliers = [
        f"Look at this again: {s}"
        for s in of(found.outliers, lifter, setup)["sentence"]
    ]
    more = len(outliers) - MOST_OUTLIERS
    said = [*outliers[:MOST_OUTLIERS], f"And {counted(more, 'more set')} like these."]
    prior_only = advice.PRIOR_ONLY[:1].upper() + advice.PRIOR_ONLY[1:] + "."
    return [prior_only] * bool(assumed) + (said if more > 0 else outliers)


def set_table(found: StrengthFit, lifter: str, setup: str) -> pd.DataFrame:
    """Return the sets of one series as logged, with what the fit made of each."""
    points = of(found.set_points, lifter, setup)
    logged = read(stored.sets, lifter=lifter)
    names = ["set_id", "load_kg", "reps", "rir", "failed", "flag", "note"]
    return points.merge(logged[names], on="set_id", how="left").drop(columns="set_id")


def curve_test(choice: Choice) -> CurveTest | None:
    """Return the curve test of the chosen lifter or of everyone, None without sets."""
    found = seen(choice)
    if found is None:
        return None

    def make() -> CurveTest:
        with progress("Testing the log against the curve"):
            return evidence.curve_test(found, lifter=choice.lifter)

    return cached("curve_test", (*fit_key(choice), choice.lifter), make)


def test_soon(choice: Choice) -> bool:
    """Test the log beside the pages, also for everyone, and tell if that is done."""
    if fit(choice) is None:
        return True
    works = [
        soon(
            "curve_test",
            (*fit_key(one), one.lifter),
            partial(evidence.curve_test, seen(one), lifter=one.lifter),
        )
        for one in dict.fromkeys((choice, replace(choice, lifter=None)))
    ]
    return works[0].done()


def ratio_table(choice: Choice) -> pd.DataFrame:
    """Return the ratios that may be seen beside what the model predicts for each."""
    ratios, test = seen(choice).ratios, curve_test(replace(choice, lifter=None))
    names = ["setup", "predicted", "predicted_low", "predicted_high"]
    if test.comparison is None:
        return ratios.assign(**dict.fromkeys(names[1:], float("nan")))
    return ratios.merge(test.residuals[names], on="setup", how="left")


def direct_points(test: CurveTest) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Return held loads by joint angle, and what the three shapes predict for them.

    Both are shares of the load held at the angle most holds are compared with, in the
    variant with most held angles; empty without holds.
    """
    if test.comparison is None:
        return test.direct.head(0), test.direct.head(0)
    base = [setup.hold[1] if setup.hold else np.nan for setup in test.setups]
    held = test.residuals.assign(base=base).dropna(subset=["base"])
    if held.empty:
        return held, held
    name = held["variant"].mode()[0]
    held = held[held["variant"] == name]
    base = held["base"].mode()[0]
    points = held[held["base"] == base].rename(columns={"range_from_deg": "angle_deg"})
    first, last = load_catalogue().variants[name].model.joint.curve_deg
    grid = np.arange(first, last + 1, 5).tolist()

    def make() -> pd.DataFrame:
        parts = []
        for shape in mechanics.SHAPES:
            draws = mechanics.log_ratio_draws(
                [(name, (angle, angle)) for angle in grid],
                reference=(name, (base, base)),
                shape=shape,
                n_draws=500,
            )
            middle = np.exp(np.median(draws, axis=0))
            parts.append({"shape": shape, "angle_deg": grid, "ratio": middle})
        return pd.concat(map(pd.DataFrame, parts), ignore_index=True)

    return points, cached("direct_points", (name, base), make)


def battery() -> tuple[pd.DataFrame, str]:
    """Return how estimates did on plans with a known truth, and in words."""
    rows = evidence.battery_table()
    return rows, evidence.battery_in_words(rows)


def power(design: str) -> tuple[pd.DataFrame, str]:
    """Return how often simulated logs of one design got each verdict, and in words."""
    rows = power_table(design=design)
    enough = sets_for_power(rows)
    found = rows.loc[rows["truth"] == "peaked", "agrees"]
    told = (
        f"is found in 9 of 10 logs from {enough:,} sets"
        if enough
        else f"is found in at most {found.max():.0%} of logs of any size tried"
    )
    wrong = rows.loc[rows["truth"].isin(["flat", "inverted"]), "agrees"].max()
    return rows, (
        f"{design.capitalize()}: a peaked truth {told}; a flat or inverted one "
        + (f"was said to agree in at most {wrong:.1%}" if wrong else "never agreed")
    )


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
    """Return the posterior weights of the three shapes as a table."""
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


def rep_sentence(reps: pd.DataFrame) -> str:
    """Say how many repetitions were found and where they stuck."""
    stuck = reps["sticking_deg"].dropna()
    found = counted(len(reps), "repetition")
    if stuck.empty:
        return f"{found}, no sticking region found"
    where = (
        f"{stuck.min():.0f}°" if len(stuck) == 1 else f"{stuck.mean():.0f}° on average"
    )
    return f"{found}, {len(stuck)} with a sticking region, at {where}"


def line_facts(choice: Choice) -> dict[str, str]:
    """Return what is known so far of each stage of the line from log to verdict."""
    rows = lifters()
    count = int(rows["sets"].sum())
    told = f"{counted(count, 'set')} of {counted(len(rows), 'lifter')}"
    facts = {"Log": told if count else "no sets yet"}
    if count and not set_count(choice):
        return facts | {"Strength": "no sets in this choice"}
    if not count or not is_cached(*fit_key(choice)):
        return facts
    found = fit(choice)
    facts["Strength"] = counted(len(found.setups), "setup")
    facts["Ratios"] = f"{len(found.ratios)}"
    if is_cached("curve_test", (*fit_key(choice), choice.lifter)):
        test = curve_test(choice)
        facts["Model"] = f"{len(test.residuals)} compared"
        facts["Verdict"] = test.verdict
    return facts
