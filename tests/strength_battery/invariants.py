"""Small logs of every kind, and what holds of an estimate whatever the log.

Every check takes ``estimate(sets, wanted)`` as described in ``judge`` and raises
AssertionError with the numbers that broke it. Checks of change look at the day of the
changed set: with a trend in the model an early set may well lower a later day.
"""

import datetime as dt
from collections.abc import Callable

import numpy as np
import pandas as pd
from hypothesis import strategies as st

from .plans import START, VARIANTS

Estimate = Callable[[pd.DataFrame, pd.DataFrame], pd.DataFrame]
CELL = ["lifter", "variant", "date", "reps"]
VARIANT = "standing_barbell_curl"
LB_KG = 0.45359237
SLACK = 1e-6  # of log strength: arithmetic, not statistics
# what may be changed in a set without making anybody weaker
CHANGES = ("extra repetition", "more load", "more reserve", "repetition from reserve")


@st.composite
def logs(draw: st.DrawFn, lifters: int = 3, variants: int = 3) -> pd.DataFrame:
    """A few weeks of one to three lifters; loads and repetitions may be odd."""
    movement = draw(st.sampled_from(sorted(VARIANTS)))
    names = list(VARIANTS[movement])[: draw(st.integers(1, variants))]
    rows = []
    for number in range(draw(st.integers(1, lifters))):
        usual_kg = draw(st.sampled_from([2.5, 12.0, 32.5, 60.0, 140.0]))
        days = draw(st.lists(st.integers(0, 42), min_size=1, max_size=5, unique=True))
        for day in sorted(days):
            variant = draw(st.sampled_from(names))
            for load, reps, rir, failed in draw(
                st.lists(_one_set(usual_kg), min_size=1, max_size=4)
            ):
                date = START + dt.timedelta(days=day)
                rows.append((f"L{number}", date, variant, load, reps, rir, failed))
    return _as_sets(rows, movement)


def _one_set(usual_kg: float) -> st.SearchStrategy:
    load = st.one_of(
        st.sampled_from([0.8, 0.9, 1.0, 1.05, 1.2]).map(
            lambda f: round(usual_kg * f, 2)
        ),
        st.sampled_from([0.5, 1.0, 22.68, 97.52, 400.0]),
    )
    reps = st.one_of(st.integers(5, 12), st.sampled_from([1, 2, 3, 20, 35, 60]))
    left = st.one_of(
        st.tuples(st.just(np.nan), st.booleans()),
        st.tuples(st.sampled_from([0.0, 0.5, 1.0, 2.0, 3.0, 5.0, 9.0]), st.just(False)),
        st.just((0.0, True)),
    )
    return st.tuples(load, reps, left).map(lambda s: (s[0], s[1], *s[2]))


@st.composite
def flat_logs(draw: st.DrawFn) -> pd.DataFrame:
    """One lifter, load and number of repetitions to failure: nothing to learn."""
    load = draw(st.floats(5, 200).map(lambda kg: round(kg, 1)))
    reps = draw(st.integers(4, 12))
    days = draw(st.integers(1, 12))
    rows = [
        ("L0", START + dt.timedelta(days=3 * day), VARIANT, load, reps, 0.0, True)
        for day in range(days)
    ]
    return _as_sets(rows, "elbow_flexion")


def _as_sets(rows: list[tuple], movement: str) -> pd.DataFrame:
    columns = ["lifter", "performed_on", "variant", "load_kg", "reps", "rir", "failed"]
    sets = pd.DataFrame(rows, columns=columns)
    sets.insert(2, "movement", movement)
    sets.insert(4, "equipment", sets["variant"].map(VARIANTS[movement]))
    sets.insert(0, "set_id", np.arange(1, len(sets) + 1))
    return sets


def every_day(sets: pd.DataFrame, reps: tuple[int, ...] = (1,)) -> pd.DataFrame:
    """Each lifter, variant and day of a log, for each of ``reps``."""
    days = sets[["lifter", "variant", "performed_on"]].drop_duplicates()
    days = days.rename(columns={"performed_on": "date"})
    return days.merge(pd.DataFrame({"reps": reps}), how="cross")


def check_answers(estimate: Estimate, sets: pd.DataFrame) -> None:
    """An estimate always comes, finite and inside its interval, falling with reps."""
    wanted = every_day(sets, (1, 5, 10))
    got = wanted.merge(estimate(sets, wanted), on=CELL)
    numbers = got[["low_kg", "strength_kg", "high_kg"]].to_numpy(float)
    assert len(got) == len(wanted), f"{len(wanted)} asked, {len(got)} answered"
    assert np.isfinite(numbers).all(), got.to_string()
    assert (numbers > 0).all(), got.to_string()
    assert (np.diff(numbers, axis=1) >= 0).all(), got.to_string()
    by_reps = got.pivot_table("strength_kg", CELL[:3], "reps").to_numpy()
    assert (np.diff(by_reps, axis=1) < 0).all(), got.to_string()


def check_holds_what_was_lifted(estimate: Estimate, sets: pd.DataFrame) -> None:
    """No upper end lies under a load lifted in the four weeks up to that day."""
    got = estimate(sets, every_day(sets, (1, 5, 8)))
    for row in got.itertuples():
        lifted = sets[
            (sets["lifter"] == row.lifter)
            & (sets["variant"] == row.variant)
            & (sets["reps"] >= row.reps)
            & (sets["performed_on"] <= row.date)
            & (sets["performed_on"] > row.date - dt.timedelta(weeks=4))
        ]["load_kg"].max()
        assert not row.high_kg < lifted * (1 - SLACK), f"{lifted} kg lifted, {row}"


def change_set(sets: pd.DataFrame, row: int, change: str) -> pd.DataFrame | None:
    """The log with one set changed, or None where the set has no reserve to change."""
    changed = sets.copy()
    if change == "extra repetition":
        changed.loc[row, "reps"] += 1
    elif change == "more load":
        changed.loc[row, "load_kg"] *= 1.05
    else:
        left = sets.loc[row, "rir"]
        out_of_it = change == "repetition from reserve"
        if sets.loc[row, "failed"] or np.isnan(left) or left < out_of_it:
            return None
        changed.loc[row, "rir"] += -1 if out_of_it else 1
        changed.loc[row, "reps"] += out_of_it
    return changed


def check_better_is_never_weaker(
    estimate: Estimate, sets: pd.DataFrame, row: int, change: str
) -> None:
    changed = change_set(sets, row, change)
    if changed is None:
        return
    wanted = every_day(sets.loc[[row]], (1, 5, 10))
    before, after = _log_kg(estimate, sets, wanted), _log_kg(estimate, changed, wanted)
    assert (after >= before - SLACK).all(), (
        f"{change} in set {row} took {np.exp(before)} to {np.exp(after)} kg"
    )


def check_scale(estimate: Estimate, sets: pd.DataFrame, factor: float) -> None:
    """All loads times a factor give strength times that factor."""
    wanted = every_day(sets)
    heavier = sets.assign(load_kg=sets["load_kg"] * factor)
    got = _log_kg(estimate, heavier, wanted) - np.log(factor)
    np.testing.assert_allclose(got, _log_kg(estimate, sets, wanted), atol=SLACK)


def check_units(estimate: Estimate, sets: pd.DataFrame) -> None:
    """Loads written in pounds to two decimals give the same strength."""
    pounds = (sets["load_kg"] / LB_KG).round(2)
    wanted = every_day(sets)
    got = _log_kg(estimate, sets.assign(load_kg=pounds * LB_KG), wanted)
    lost = float(np.abs(np.log(pounds * LB_KG / sets["load_kg"])).max())
    np.testing.assert_allclose(
        got, _log_kg(estimate, sets, wanted), atol=3 * lost + SLACK
    )


def check_order(estimate: Estimate, sets: pd.DataFrame, seed: int) -> None:
    """Rows in another order are the same log; ``set_id`` goes with its row."""
    shuffled = sets.sample(frac=1, random_state=seed).reset_index(drop=True)
    wanted = every_day(sets)
    np.testing.assert_allclose(
        _log_kg(estimate, shuffled, wanted),
        _log_kg(estimate, sets, wanted),
        atol=SLACK,
    )


def check_alone(estimate: Estimate, sets: pd.DataFrame) -> None:
    """A lifter alone and in company: each estimate lies in the other's interval."""
    together = estimate(sets, every_day(sets))
    for _, own in sets.groupby("lifter"):
        alone = estimate(own.reset_index(drop=True), every_day(own))
        both = alone.merge(together, on=CELL, suffixes=("_alone", "_together"))
        for here, there in (("_alone", "_together"), ("_together", "_alone")):
            kg = both["strength_kg" + here]
            inside = kg.between(both["low_kg" + there], both["high_kg" + there])
            assert inside.all(), both[~inside].T.to_string()


def check_stays_published(
    estimate: Estimate,
    flat_sets: pd.DataFrame,
    published_kg: Callable[[float, float], float],
) -> None:
    """From a log of ``flat_logs``: within 3 % of ``published_kg(load_kg, reps)``."""
    got = estimate(flat_sets, every_day(flat_sets))["strength_kg"]
    first = flat_sets.iloc[0]
    published = published_kg(first["load_kg"], first["reps"])
    assert (np.abs(np.log(got / published)) <= np.log(1.03)).all(), (
        f"published {published} kg, estimated {got.tolist()}"
    )


def _log_kg(estimate: Estimate, sets: pd.DataFrame, wanted: pd.DataFrame) -> np.ndarray:
    got = wanted.merge(estimate(sets, wanted), on=CELL)
    return np.log(got["strength_kg"].to_numpy())
