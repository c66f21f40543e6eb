"""Two releases around one person, each attack with what comes of it."""

from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from research_club import KEY, LEGS, ROUNDED, build, cohort, fitted, legs, lines
from scipy.optimize import linprog

from analytics.errors import ReleaseRefusedError
from analytics.reports.held import held_sets
from analytics.reports.register import check_release, holdings, recorded


def club(*, lifters: int = 30, seed: int = 3) -> pd.DataFrame:
    """A club in which nobody lifts what another does."""
    sets = cohort(pad=lifters - 6, dumbbell=0, lifters=lifters)
    rng = np.random.default_rng(seed)
    return sets.assign(load_kg=sets["load_kg"] * rng.uniform(0.7, 1.4, len(sets)))


def held(sets: pd.DataFrame, k: int) -> pd.DataFrame:
    fits = fitted(sets)
    enough = {name: fit for name, fit in fits.items() if fit.n_lifters >= k}
    movements = sets.groupby("movement")
    return holdings({name: held_sets(enough.get(name), of) for name, of in movements})


def passes(folder: Path, *releases: pd.DataFrame, k: int = 10) -> bool:
    """Whether the last of several releases is let pass after the former ones."""
    *former, last = (held(sets, k) for sets in releases)
    for one in former:
        with recorded(folder, one, smallest_cell=k):
            pass
    try:
        check_release(folder, last, smallest_cell=k, again=False)
    except ReleaseRefusedError:
        return False
    return True


CLUB = club()
TWELVE = [f"Z{n:02d}" for n in range(12)]


def new_codes(sets: pd.DataFrame, of: list[str]) -> pd.DataFrame:
    return sets.assign(lifter=sets["lifter"].replace({c: f"New {c}" for c in of}))


def merged(sets: pd.DataFrame, pairs: int) -> pd.DataFrame:
    """Every second of the first lifters under the code of the one before."""
    same = {f"Z{2 * n + 1:02d}": f"Z{2 * n:02d}" for n in range(pairs)}
    return sets.assign(lifter=sets["lifter"].replace(same))


def without(sets: pd.DataFrame, code: str) -> pd.DataFrame:
    return sets[sets["lifter"] != code]


EVERYBODY = sorted(CLUB["lifter"].unique())
TWO_DAYS = sorted(CLUB["performed_on"].unique())[:2]


@pytest.mark.parametrize(
    ("attack", "second", "let_pass"),
    [
        ("one leaves or withholds", without(CLUB, "Z29"), False),
        ("one code is another", new_codes(CLUB, ["Z29"]), True),
        ("all codes are others", new_codes(CLUB, EVERYBODY), True),
        ("twelve new codes, one left", new_codes(without(CLUB, "Z29"), TWELVE), False),
        ("two codes are one", merged(CLUB, 1), False),
        ("ten pairs are one each, one left", merged(without(CLUB, "Z29"), 10), False),
        ("one changed the last set", CLUB.drop(CLUB.index[-1]), False),
        (
            "one day of one lifter is another",
            CLUB.assign(
                performed_on=CLUB["performed_on"].mask(
                    (CLUB["lifter"] == "Z29")
                    & (CLUB["performed_on"] == TWO_DAYS[0]),
                    TWO_DAYS[1],
                )
            ),
            False,
        ),
        (
            "one lifter's sets given to another",
            CLUB.assign(lifter=CLUB["lifter"].replace("Z29", "Z28")),
            False,
        ),
        (
            "five left and five others came",
            pd.concat(
                [
                    CLUB[CLUB["lifter"] < "Z25"],
                    club(seed=4)
                    .query("lifter >= 'Z25'")
                    .assign(lifter=lambda rows: "New " + rows["lifter"]),
                ],
                ignore_index=True,
            ),
            False,
        ),
    ],
)  # fmt: skip
def test_a_second_release_around_one_person(attack, second, let_pass, tmp_path):
    second = second.reset_index(drop=True)
    assert passes(tmp_path / "register", CLUB, second) == let_pass, attack


def test_another_key_does_not_unlink_two_packages():
    tables = [build(CLUB, key=key)[0] for key in (KEY, KEY[::-1])]
    for name in ("personal_ratios", "personal_strength"):
        one, two = (
            found[name].drop(columns="pseudonym").value_counts() for found in tables
        )
        assert one.equals(two)  # so equal rows tell who is who


def joined(before: pd.DataFrame, seed: int) -> tuple[pd.DataFrame, set[str]]:
    """Ten or more came to a club, into some of its setups; with their codes."""
    rng = np.random.default_rng(seed)
    number, pad = int(rng.integers(10, 15)), int(rng.integers(0, 15))
    more = cohort(pad=min(pad, number), dumbbell=0, lifters=number)
    more = more.assign(
        lifter="Y" + more["lifter"],
        set_id="Y" + more["set_id"],
        load_kg=more["load_kg"] * rng.uniform(0.7, 1.4, len(more)),
    )
    if seed % 2:
        more = pd.concat([more, legs(more)], ignore_index=True)
    every = pd.concat([before, more], ignore_index=True)
    return every, set(more["lifter"])


# The attacker is a linear programme (scipy's HiGHS) over both releases at once: the
# sets of every cell of the first, what came to each of them, and every published number
# as a pair of bounds. He is also told which cells nothing came to.
@pytest.mark.external
@pytest.mark.parametrize(
    ("seed", "k"), [(0, 5), (1, 5), (4, 5), (5, 5), (4, 10), (5, 10)]
)
def test_two_releases_together_bracket_no_withheld_count(seed, k, tmp_path):
    few = legs(cohort(pad=4 + seed, dumbbell=3, lifters=7 + 3 * seed))
    curls = cohort(pad=8 + seed, dumbbell=3 + seed, lifters=16)
    before = pd.concat([curls, few], ignore_index=True)
    after, new = joined(before, seed)
    assert passes(tmp_path / "register", before, after, k=k)
    told = [lines(build(sets, k)[0]) for sets in (before, after)]
    cells = {
        (*of.values(), by, cell)
        for lines_of in told
        for of, by, _, rows in lines_of
        for cell in rows[by]
    }
    at = {cell: n for n, cell in enumerate(sorted(cells, key=str))}
    came = after[after["lifter"].isin(new)]
    places = {LEGS, "elbow_flexion"} & set(came["movement"])
    bounds = [(0, None)] * len(at)
    bounds += [(0, None if places & {*map(str, cell)} else 0) for cell in at]
    rows, least, hidden = [], [], set()

    def bracket(cell: tuple, low: float, high: float, release: int) -> None:
        row = np.zeros(2 * len(at))
        for one in cell:
            row[at[one]] = 1
            row[len(at) + at[one]] = release  # what came counts in the second alone
        rows.extend([-row, row])
        least.extend([-low, high])

    for release, lines_of in enumerate(told):
        for of, by, total, table in lines_of:
            names = [(*of.values(), by, cell) for cell in table[by]]
            bracket(tuple(names), total, total + ROUNDED, release)
            for name, sets, status in zip(
                names, table["sets"], table["status"], strict=True
            ):
                if status == "suppressed":
                    hidden |= {name} if release == 0 else set()
                    bracket((name,), 1, 1e6, release)
                else:
                    bracket((name,), int(sets), int(sets) + ROUNDED, release)
    assert hidden
    for cell in hidden:
        low, high = (
            sign * linprog(sign * np.eye(2 * len(at))[at[cell]], rows, least,
                           bounds=bounds).fun
            for sign in (1, -1)
        )  # fmt: skip
        assert high - low >= k - 1e-9, cell
