"""What several pages ask of the fit and the curve test."""

from collections.abc import Callable, Hashable
from dataclasses import replace
from datetime import date
from functools import partial
from typing import Any

import pandas as pd
import streamlit as st

from analytics import advice, evidence, reports
from analytics import store as stored
from analytics.evidence import CurveTest
from analytics.store import HOLDER, Store
from analytics.strength import StrengthFit, fit_strength, fitted, saved_fit
from analytics.units import KG_PER_UNIT
from app.figure import counted
from app.state import (
    Choice,
    asking,
    cached,
    is_cached,
    lifters,
    made_beside,
    read,
    ready_key,
    renew,
    sets,
    stamp,
    store,
    store_path,
    unit,
)

MOST_OUTLIERS = 4


def fit(choice: Choice) -> StrengthFit | None:
    """Return the strength fit of the chosen movement and dates, None without sets."""
    if not set_count(choice):
        return None
    now = _now(choice)
    if _key(choice, None) != now:
        make, known = _how(choice)
        renew(*now, make, known=known, at_once=True)
    own = _cut_to(choice)
    if own is None:
        return _uncut(choice)
    whole = _uncut(choice)  # waited for here: nobody can leave a page that waits below
    return cached(*fit_key(choice), lambda: reports.seen_by(whole, own))


def _uncut(choice: Choice) -> StrengthFit:
    """Return the fit of all sets it is made from, more than a lifter may see."""
    make, known = _how(choice)
    doing = "Estimating strength from the log"
    return made_beside(*_key(choice, None), make, doing=doing, known=known)


def _how(choice: Choice) -> tuple[Callable[[], StrengthFit], Callable[[], Any]]:
    """Return how the fit of all sets is made, and how it is found where it is known."""
    if choice.since is not None:
        return partial(fit_strength, sets(choice)), lambda: None
    found = (
        partial(how, _source(choice), choice.movement) for how in (fitted, saved_fit)
    )
    return tuple(found)


def _cut_to(choice: Choice) -> str | None:
    """Return the lifter who asks, whose fit is everybody's, cut to what one may see."""
    return asking().own if choice.since is None else None


def _source(choice: Choice) -> Store:
    own = _cut_to(choice)
    if own is None:
        return store()
    key = (stamp(whose=HOLDER), asking())
    return cached("source", key, lambda: stored.for_reader(store(), own))


def seen(choice: Choice) -> StrengthFit | None:
    """Return of the fit what the chosen lifter may see; all of it for everyone."""
    found = fit(choice)
    if found is None or choice.lifter is None or _cut_to(choice):
        return found
    key = (*fit_key(choice), choice.lifter)
    return cached("seen", key, lambda: reports.seen_by(found, choice.lifter))


def every(choice: Choice) -> list[StrengthFit]:
    """Return what may be seen of all movements with sets, the chosen one first."""
    found = map(seen, _movements(choice))
    return [fit for fit in found if fit is not None]


def every_key(choice: Choice) -> tuple[Hashable, ...]:
    """Return what makes `every` give something else."""
    return (choice.lifter, *map(fit_key, _movements(choice)))


def _movements(choice: Choice) -> list[Choice]:
    rows = read(stored.sets_and_pains, lifter=choice.lifter)
    names = rows.loc[rows["movement"] != "", "movement"].value_counts().index
    first = sorted(names, key=lambda name: name != choice.movement)
    return [replace(choice, movement=name) for name in first]


def absent_until() -> date | None:
    """Return today where a lifter is alone: no other log tells that time went on."""
    return date.today() if len(lifters()) == 1 else None


def session_loads(
    choice: Choice,
    chosen: dict[str, StrengthFit],
    *,
    reps: int,
    rir: float,
    steps_kg: dict[str, float] | None = None,
) -> pd.DataFrame:
    """Return the load of each chosen exercise, with its basis and caution.

    Without steps, in those usual where people lift in the unit shown.
    """
    steps_kg = {
        name: advice.usual_step(fit, name, unit=unit()) * KG_PER_UNIT[unit()]
        for name, fit in chosen.items()
    } | (steps_kg or {})
    key = (stamp(), *every_key(choice), reps, rir, tuple(steps_kg.items()))

    def make() -> pd.DataFrame:
        return advice.session(
            [(fit, name) for name, fit in chosen.items()],
            choice.lifter,
            sets=read(stored.sets_and_pains, lifter=choice.lifter),
            reps=reps,
            rir=rir,
            steps_kg=steps_kg,
        )

    return cached("session", key, make)


def withheld(choice: Choice) -> str:
    """Say what of the fit the chosen lifter does not see; nothing for everyone."""
    return reports.withheld_words(_uncut(choice), seen(choice))


def set_count(choice: Choice) -> int:
    """Return how many sets of the movement lie within the chosen dates."""
    if choice.since is not None:
        return len(sets(choice))
    rows = read(stored.movements)
    return int(rows.loc[rows["movement"] == choice.movement, "sets"].sum())


def fit_key(choice: Choice) -> tuple[str, Hashable]:
    """Return what makes a fit another fit: who asks, store, movement, sets, dates."""
    return _key(choice, _cut_to(choice))


def _key(choice: Choice, cut_to: str | None) -> tuple[str, Hashable]:
    task, key = _now(choice)
    line, *_ = key
    line, now, _ = _once(("fit", line), lambda: ready_key(task, line, key))
    return task, (line, now, cut_to)


def _now(choice: Choice) -> tuple[str, Hashable]:
    """Return the key of the fit of all sets as they are now."""
    of, movement = _source(choice), choice.movement
    # Whose sets it is of: who sees the same lifters sees the same fit, and nobody who
    # is gone from the log is in what is shown until a new fit is made.
    codes = tuple(read(stored.lifters, of=of)["lifter"])
    line = (codes, str(store_path()), movement, choice.since, choice.until)
    return "fit", (line, read(stored.sets_hash, of=of, movement=movement), None)


def _once(name: Hashable, find: Callable[[], Any]) -> Any:
    """Return what is found, once for a run of a page: one state of the log on it."""
    keys = st.session_state.setdefault("keys", {})
    if name not in keys:
        keys[name] = find()
    return keys[name]


def of(frame: pd.DataFrame, lifter: str, setup: str | None = None) -> pd.DataFrame:
    """Return the rows of one lifter, and of one setup where one is given."""
    rows = frame[frame["lifter"] == lifter]
    return rows if setup is None else rows[rows["setup"] == setup]


def setups_of(found: StrengthFit, lifter: str | None) -> list[str]:
    """Return setups with strength over time, those with most sets first."""
    points = found.set_points if lifter is None else of(found.set_points, lifter)
    return list(points["setup"].value_counts().index)


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
    """Return what must stand beside a strength: no told effort, outliers."""
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


def curve_test(choice: Choice) -> CurveTest | None:
    """Return the curve test of the chosen lifter or of everyone, None without sets."""
    if seen(choice) is None:
        return None
    make = partial(evidence.curve_test, seen(choice), lifter=choice.lifter)
    key, now = test_key(choice), _test_now(choice)
    if key != now:
        renew("curve_test", now, make)
    doing = "Testing the log against the curve"
    return made_beside("curve_test", key, make, doing=doing)


def test_key(choice: Choice) -> Hashable:
    """Return what makes a curve test another: the fit, and whose it is."""
    line, now = _test_now(choice)
    return _once(("test", line), lambda: ready_key("curve_test", line, (line, now)))


def _test_now(choice: Choice) -> Hashable:
    line, now, cut_to = fit_key(choice)[1]
    return (line, cut_to, choice.lifter), now


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
    if is_cached("curve_test", _test_now(choice)):
        test = curve_test(choice)
        facts["Model"] = f"{len(test.residuals)} compared"
        facts["Verdict"] = test.verdict
    return facts
