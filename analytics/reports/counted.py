"""What tables of a movement are made of, of some lifters or, added up, of a cohort.

Of a whole cohort there are tallies of cells, and who did the sets only of those cells
that disclosure control may have to put together.
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import pandas as pd

from analytics.intervals import week_of
from analytics.reports.disclosure import Codes, Tally, may_show
from analytics.reports.held import ANGLE_KIND, LINES, Held, counted_sets, held_sets
from analytics.strength import StrengthFit

KNOWN_BELOW = 100  # lifters of a cell who are known one by one in a whole cohort
KNOWN_SMALLEST = 3  # and of as many more of each line, that may have to join them
TALLY = ["lifters", "sets", "most", "second"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Counted:
    """What tables of one movement are made of; that of several lifters adds up.

    Attributes
    ----------
    everyone, fitted : DataFrame
        ``lifter, sets``: all stored sets, and those of the fit.
    lines : dict of str to DataFrame
        Cells of each of ``LINES`` by ``lifter``, with their ``sets``.
    tallies : dict of str to DataFrame
        All cells of each line: ``lifters, sets, most, second``. Empty where ``lines``
        has all.
    changes : DataFrame
        ``setup, week, lifters, change``: sum over lifters of their mean log strength
        of the week less that of their whole log.
    levels : DataFrame
        ``setup, lifters, level``: sum of the means of their whole logs.
    angles : DataFrame
        ``setup, lifters, angle, square``: sums of each lifter's mean failure angle and
        of its square.
    """

    everyone: pd.DataFrame
    fitted: pd.DataFrame
    lines: dict[str, pd.DataFrame]
    tallies: dict[str, pd.DataFrame]
    changes: pd.DataFrame
    levels: pd.DataFrame
    angles: pd.DataFrame

    @property
    def lifters(self) -> Counter[str]:
        """How many sets of the fit each lifter did."""
        return by_lifter(self.fitted)

    def brief(self) -> "Counted":
        """Leave out who did the sets of a cell."""
        tallies = {line: _tallied(self.lines[line], LINES[line]) for line in LINES}
        return replace(self, lines={}, tallies=tallies)

    def line(self, line: str, *, setup: str | None = None) -> dict[Any, Codes]:
        """Return a line of cells: who did how many sets of each, or their tally."""
        column = LINES[line][-1]
        out: dict[Any, Codes] = {}
        for rows, known in ((self.tallies, False), (self.lines, True)):
            if line not in rows:
                continue
            mine = rows[line]
            mine = mine if setup is None else mine[mine["setup"] == setup]
            for cell, own in mine.groupby(column):
                numbers = own.iloc[0]
                out[cell] = (
                    by_lifter(own)
                    if known
                    else Tally(*(int(numbers[name]) for name in TALLY))
                )
        return out


def _tallied(rows: pd.DataFrame, keys: list[str]) -> pd.DataFrame:
    """Tally the cells of a line."""
    rows = rows.sort_values([*keys, "sets"], ascending=False)
    at = rows.groupby(keys).cumcount()
    second = rows[at == 1].set_index(keys)["sets"].rename("second")
    cells = rows.groupby(keys).agg(
        lifters=("sets", "size"), sets=("sets", "sum"), most=("sets", "max")
    )
    cells = cells.join(second).fillna({"second": 0}).astype("int64")
    return cells.reset_index()


def _added(tallies: Sequence[pd.DataFrame], keys: list[str]) -> pd.DataFrame:
    """Add tallies of groups of lifters that have none in common."""
    rows = pd.concat(filled(tallies))
    sums = rows.groupby(keys)[["lifters", "sets"]].sum()
    columns = [
        rows[[*keys, name]].set_axis([*keys, "sets"], axis=1) for name in TALLY[2:]
    ]
    first = _tallied(pd.concat(columns), keys).set_index(keys)[["most", "second"]]
    return sums.join(first).reset_index()


def filled(tables: Sequence[pd.DataFrame]) -> Sequence[pd.DataFrame]:
    """Leave tables without rows out, whose columns may have no type; one at least."""
    return [table for table in tables if len(table)] or tables[:1]


def few(counted: Counted) -> dict[str, pd.DataFrame]:
    """Choose the cells whose lifters disclosure control may have to know one by one.

    Parameters
    ----------
    counted : Counted
        Of a whole cohort, in tallies.

    Returns
    -------
    cells : dict of str to DataFrame
        The keys of those with few lifters or dominated by one or two, and of some of
        the smallest others, by line.
    """
    chosen = {}
    for line, keys in LINES.items():
        cells = counted.tallies[line].sort_values("lifters", kind="stable")
        open_to = np.array(
            [
                may_show(Tally(*row), smallest_cell=KNOWN_BELOW)
                for row in cells[TALLY].itertuples(index=False)
            ],
            dtype=bool,
        )
        within = [cells[key] for key in keys[:-1]] or [np.zeros(len(cells))]
        nth = cells[open_to].groupby([of[open_to] for of in within]).cumcount()
        kept = ~open_to
        kept[np.flatnonzero(open_to)[nth < KNOWN_SMALLEST]] = True
        chosen[line] = cells.loc[kept, keys]
    return chosen


def count_sets(
    fit: StrengthFit | None, sets: pd.DataFrame, held: Held | None = None
) -> Counted:
    """Count what some lifters add to the tables of one movement.

    Parameters
    ----------
    fit : StrengthFit or None
        Of these lifters; None where nothing but their sets is to be counted.
    sets : DataFrame
        Their stored sets of the movement.
    held : Held, optional
        Of the same, where it is known.

    Returns
    -------
    counted : Counted
    """
    held = held or held_sets(fit, sets)
    trend = pd.DataFrame(columns=["lifter", "setup", "date", "strength_kg"])
    changes, levels = _changes(trend if fit is None else fit.trend)
    return Counted(
        everyone=held.everyone[["lifter", "sets"]],
        fitted=held.cells.groupby("lifter", as_index=False)["sets"].sum(),
        lines=held.lines(),
        tallies={},
        changes=changes,
        levels=levels,
        angles=_angles(fit, sets),
    )


def _angles(fit: StrengthFit | None, sets: pd.DataFrame) -> pd.DataFrame:
    failed = pd.DataFrame(columns=["setup", "lifter", "failed_at_deg"])
    if fit is not None:
        known = sets[sets["failed_at_deg"].notna()]
        failed = counted_sets(fit, known)
        failed = failed[failed["kind"] == ANGLE_KIND]
    angle = failed.groupby(["setup", "lifter"])["failed_at_deg"].mean()
    angle = angle.astype(float).reset_index(name="angle")
    return (
        angle.assign(lifters=1, square=angle["angle"] ** 2)
        .groupby("setup", as_index=False)[["lifters", "angle", "square"]]
        .sum()
    )


def _changes(trend: pd.DataFrame) -> tuple[pd.DataFrame, pd.DataFrame]:
    level = np.log(trend["strength_kg"].astype(float))
    own = level.groupby([trend["lifter"], trend["setup"]]).transform("mean")
    trend = trend.assign(
        week=week_of(pd.to_datetime(trend["date"])), change=level - own, level=own
    )
    weekly = trend.groupby(["setup", "week", "lifter"])["change"].mean()
    whole = trend.groupby(["setup", "lifter"])["level"].first()
    return (
        weekly.groupby(["setup", "week"]).agg(["size", "sum"]).reset_index()
        .set_axis(["setup", "week", "lifters", "change"], axis=1),
        whole.groupby("setup").agg(["size", "sum"]).reset_index()
        .set_axis(["setup", "lifters", "level"], axis=1),
    )  # fmt: skip


def together(parts: Sequence[Counted]) -> Counted:
    """Add up what was counted of groups of lifters that have none in common.

    Parameters
    ----------
    parts : sequence of Counted
        In :meth:`Counted.brief`; one or more, always in the same order for the same
        sums to the last digit.

    Returns
    -------
    counted : Counted
    """

    def added(name: str, keys: list[str]) -> pd.DataFrame:
        tables = filled([getattr(part, name) for part in parts])
        return pd.concat(tables).groupby(keys, as_index=False).sum()

    return Counted(
        everyone=added("everyone", ["lifter"]),
        fitted=added("fitted", ["lifter"]),
        lines={},
        tallies={
            line: _added([part.tallies[line] for part in parts], keys)
            for line, keys in LINES.items()
        },
        changes=added("changes", ["setup", "week"]),
        levels=added("levels", ["setup"]),
        angles=added("angles", ["setup"]),
    )


def by_lifter(rows: pd.DataFrame) -> Counter[str]:
    """Count sets by lifter.

    Parameters
    ----------
    rows : DataFrame
        ``lifter, sets``.

    Returns
    -------
    sets : Counter
    """
    return Counter(rows.groupby("lifter")["sets"].sum().to_dict())
